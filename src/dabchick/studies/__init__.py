"""One file per builder's question."""
