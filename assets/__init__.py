"""Fonts, icons and pictures, read with importlib.resources."""
