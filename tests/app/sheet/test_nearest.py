"""The table of port ends on the sheet."""

from __future__ import annotations

from app.demo import demo_layout
from app.sheet.nearest_content import nearest_rows
from app.sheet.table import Cell, Row
from catalog.store import load_library
from geometry.checks.runner import check_layout


def _texts(row: Row) -> list[str]:
    return [cell.text if isinstance(cell, Cell) else cell for cell in row]


def test_each_port_end_of_the_demo_has_a_row() -> None:
    # The floor exchanger's port end stands 3 mm before the bend of the supply's cables, which may
    # be touched; 2.75 mm of tolerances lie between them.
    rows = [_texts(r) for r in nearest_rows(check_layout(demo_layout(load_library())))]
    assert [row[0].partition("\n")[0] for row in rows] == ["E1", "P1", "E2", "R1"]
    told = rows[2]
    assert told[:5] == [
        "E2\nport end",
        "supply cables of power supply",
        "3.0",
        "0.0",
        "0.2",
    ]
    assert told[5].splitlines()[:2] == [
        "statistical 1.8 to 4.2 (3 sigma)",
        "18% E2, play of its screws along x 0 ± 0.5",
    ]
