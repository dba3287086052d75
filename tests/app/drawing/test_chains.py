"""Chains of dimensions: a figure for each layer, also of thin ones, and one line for each level."""

from __future__ import annotations

from collections import Counter

import pytest
from filled_rooms import filled

from app.drawing.board import BoardFrame, BoardSettings, board_drawing
from app.drawing.board_making import Shows
from app.drawing.primitives import Group, Path, Text
from catalog.store import Library
from geometry.checks.runner import Checked, check_layout


@pytest.fixture(scope="module")
def box() -> Checked:
    """The shipped bench box: stacks of a fan, an exchanger and a fan; 15, 20 and 15 mm."""
    return check_layout(filled(Library(), "bench-box").layout, remedies=False)


def chains(checked: Checked, mm_per_px: float) -> list[Group]:
    frame = BoardFrame.of(checked.scene.layout, BoardSettings())
    stacks = frozenset(["S1"])
    drawn = board_drawing(checked, frame, mm_per_px, Shows(stacks))
    return [group for group in drawn.groups if group.key.startswith("stack:")]


@pytest.mark.parametrize("mm_per_px", [0.8, 1.0, 1.2])
def test_every_thin_layer_has_its_figure(box: Checked, mm_per_px: float) -> None:
    found = chains(box, mm_per_px)
    assert [group.key for group in found] == ["stack:side:S1:inner", "stack:bottom:S1:inner"]
    for group in found:
        texts = [one.text for one in group.primitives if isinstance(one, Text)]
        assert Counter(texts) == Counter(["15", "20", "15", "50"])


def test_no_level_is_extended_twice(box: Checked) -> None:
    for group in chains(box, 1.0):
        ends = Counter(
            round(one.points[0][0], 6)
            for one in group.primitives
            if isinstance(one, Path)
            and not one.closed
            and abs(one.points[0][0] - one.points[1][0]) < 1e-9
        )
        # The levels at 0, 15, 35 and 50 mm of a stack that is seen from its side.
        assert len(ends) == 4
        assert set(ends.values()) == {1}


def test_no_line_is_drawn_over_a_figure(box: Checked) -> None:
    """A figure is wider than a thin layer, so that lines of its neighbours run under its halo."""
    for group in chains(box, 1.2):
        kinds = [isinstance(one, Text) for one in group.primitives]
        assert kinds == sorted(kinds)
        assert kinds.count(True) == 4
