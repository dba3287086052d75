"""Pairs measured step by step are those measured at once, however many solids have moved."""

from __future__ import annotations

import random

import pytest
from large_rooms import hall

from geometry import pairs
from geometry.edits import move_free
from geometry.pairs import Pairs, measure_pairs
from geometry.scene import build_scene


def _told(found: Pairs) -> list[tuple[str, str, float, object, tuple[float, ...]]]:
    return [(gap.a.id, gap.b.id, gap.gap_mm, gap.shift, gap.place) for gap in found.short]


@pytest.mark.parametrize("strangers", [0, 3, 24])
def test_step_by_step_and_at_once(strangers: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pairs, "STRANGERS", strangers)
    rng = random.Random(11)
    layout = hall(40)
    home = {block.id: block.at_mm for block in layout.free}
    scene = build_scene(layout)
    found = measure_pairs(scene)
    measured, told = 0, set()
    for step in range(40):
        block = rng.choice(layout.free)
        x, y, z = home[block.id]
        # Some run into their neighbours or through the walls, some go back to where they were.
        by = rng.choice(
            [(35.0, 0.0, 0.0), (0.0, -40.0, 0.0), (-90.0, 0.0, -160.0), (0.0, 0.0, 0.0)]
        )
        layout = move_free(layout, block.id, (x + by[0], y + by[1], z + by[2]))
        scene = build_scene(layout, scene)
        found = measure_pairs(scene, found)
        measured += found.measured_now
        if step % 4 == 3:
            at_once = measure_pairs(build_scene(layout))
            assert _told(found) == _told(at_once)
            told |= {gap[:2] for gap in _told(found)}
    # Moves meet something, and each measures a few pairs of the 45 or so that there are.
    assert len(told) > 8
    assert measured < 40 * 8
