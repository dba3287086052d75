"""The window: everything here may import Qt widgets."""
