"""Fonts, pictures and the demo layout."""
