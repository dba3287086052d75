"""The document: the current layout, its history, its file."""
