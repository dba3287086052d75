"""Near the room kept for a supply's cables, findings name these and not the supply 50 mm away."""

from __future__ import annotations

import pytest

from app.demo import demo_layout
from catalog.store import Library
from geometry.checks.runner import check_layout
from geometry.edits import set_slide


@pytest.mark.parametrize("slide_mm", [0.0, -2.0])
def test_a_port_end_beside_the_supplys_cables_names_them(shipped: Library, slide_mm: float) -> None:
    # With no slide it stands 0.0 mm off them as drawn; 2 mm further they are in its way.
    layout = set_slide(demo_layout(shipped), "S2", slide_mm, 0.0)
    titles = [f.title for f in check_layout(layout).report.findings if "power supply" in f.title]
    assert titles
    assert all("supply cables of power supply" in title for title in titles)
