"""The table by which free parts are marked out: where they are from the datum."""

from __future__ import annotations

from app.demo import demo_layout
from app.sheet.content import free_rows
from app.sheet.table import Cell, Row
from catalog.store import load_library
from geometry.checks.runner import Checked, check_layout


def _texts(row: Row) -> list[str]:
    return [cell.text if isinstance(cell, Cell) else cell for cell in row]


def test_the_demos_reservoir_hangs_from_the_roof_where_the_table_says() -> None:
    # The tube of 60 across and 150 long lies along x, 36 off its feet, its X to the front, its Z
    # down from the roof at z = 400: x 150 -+ 75, y 60 -+ 30, z 400 - 36 - 30 = 334 to 400.
    (row,) = free_rows(check_layout(demo_layout(load_library()), remedies=False))
    assert _texts(row) == [
        "R1",
        "Reservoir, tube 60 across x 150",
        "by holes on roof",
        "x 150.0\ny 60.0\nz 400.0",
        "x 75.0 to 225.0\ny 30.0 to 90.0\nz 334.0 to 400.0",
        "X to the front (+x)\nZ down (-z)",
    ]


def test_a_part_held_by_nothing_says_so(small_checked: Checked, large_checked: Checked) -> None:
    assert free_rows(small_checked) == []
    (row,) = free_rows(large_checked)
    assert _texts(row)[2] == "by nothing yet"
