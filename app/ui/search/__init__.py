"""What fits: the panel, its process and its rows."""
