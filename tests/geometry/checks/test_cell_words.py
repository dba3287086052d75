"""Which cell of a zone is which, in words that the drawing shows."""

from __future__ import annotations

import pytest
from small_rooms import layout, room, row, zone

from geometry.checks.words import cells_text
from geometry.scene import build_scene

ROWS = {
    ("roof", (40, 160, 200), "+x", "-y"): "from the rear",
    ("floor", (260, 40, 0), "-x", "-y"): "from the front",
    ("rear", (0, 40, 40), "+y", "+z"): "from the access side",
    ("rear", (0, 280, 160), "-y", "-z"): "from the far side",
    ("front", (300, 40, 40), "+z", "+y"): "from below",
    ("front", (300, 40, 280), "-z", "-y"): "from above",
}


def told(owner: str, origin, u: str, v: str, cells) -> str:
    box = room((300, 300, 300), [zone("z", owner, origin, u, v, cells)])
    return cells_text(build_scene(layout(box, [])).frames["z"])


@pytest.mark.parametrize(("at", "words"), ROWS.items())
def test_a_row_is_told_from_its_first_cell_on(at, words: str) -> None:
    assert told(*at, row(2)) == f"cells {words}: c1, c2"


def test_a_row_across_is_told_too() -> None:
    # Two rows of one cell, 120 apart along v = -y: the first is farther from the access side.
    cells = (*row(1, letter="a", v_mm=60.0), *row(1, letter="b", v_mm=180.0))
    assert told("roof", (40, 280, 300), "+x", "-y", cells) == "cells from the far side: a1, b1"


def test_one_cell_needs_no_words() -> None:
    assert told("roof", (40, 160, 200), "+x", "-y", row(1)) == ""


def test_cells_in_rows_and_columns_are_told_by_their_places() -> None:
    # From the corner (40, 280) along +x and -y: 60 and 180 along, 60 and 180 across.
    cells = (*row(2, letter="a", v_mm=60.0), *row(2, letter="b", v_mm=180.0))
    assert told("roof", (40, 280, 300), "+x", "-y", cells) == (
        "middles of cells: a1 at x 100, y 220; a2 at x 220, y 220; "
        "b1 at x 100, y 100; b2 at x 220, y 100"
    )
