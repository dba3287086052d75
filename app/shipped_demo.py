"""The demo layout as it is shipped: written by `python -m app.demo`, read in one go."""

from __future__ import annotations

from importlib.resources import files

from geometry.layout import Layout
from geometry.layout_file import parse_layout

NAME = "demo.json"


def shipped_demo() -> Layout:
    """Return the demo layout; the same as `app.demo.demo_layout`, without building it by edits."""
    return parse_layout(files("assets").joinpath(NAME).read_bytes(), NAME)
