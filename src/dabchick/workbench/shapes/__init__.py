"""The shapes of the API: what pages and server say to each other."""
