"""The workbench: a local server that shows the boat in the browser. It asks the studies; it works nothing out itself."""
