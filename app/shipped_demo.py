"""The demo layout as it is shipped: written by `python -m app.demo`, read in one go."""

from __future__ import annotations

from pathlib import Path

from pydantic_core import from_json

from catalog.unchecked import unchecked
from geometry.layout import Layout

FILE = Path(__file__).parents[1] / "assets" / "demo.json"


def shipped_demo() -> Layout:
    """Return the demo layout; the same as `app.demo.demo_layout`, without building it by edits."""
    return unchecked(Layout, from_json(FILE.read_bytes()))
