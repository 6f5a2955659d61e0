"""The workbench: a local server that shows the boat in the browser; it asks the studies, works nothing out itself."""
