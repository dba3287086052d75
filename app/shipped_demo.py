"""The demo layout as it is shipped: written by `python -m app.demo`, read in one go."""

from __future__ import annotations

import json
from pathlib import Path

from catalog.unchecked import unchecked
from geometry.layout import Layout

FILE = Path(__file__).parents[1] / "assets" / "demo.json"


def shipped_demo() -> Layout:
    """Return the demo layout; the same as `app.demo.demo_layout`, without building it by edits."""
    return unchecked(Layout, json.loads(FILE.read_bytes()))
