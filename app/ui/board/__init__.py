"""The drawing board: views, hits, drags, and what follows the pointer."""
