"""A last column that may stand below the others of its row does so where the table is lower."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.drawing.fontmetrics import text_width_mm
from app.drawing.primitives import Text
from app.sheet.flow import Piece
from app.sheet.table import LABEL_MM, TITLE_MM, Cell, ColumnSpec, Row, table_block, title_piece

COLUMNS = (
    ColumnSpec("Row", 8.0, "middle", fixed=True),
    *(ColumnSpec(name, 20.0, "right", fixed=True) for name in ("Area", "Depth", "Room")),
    ColumnSpec("What it holds", 1.0, below=True),
)
TOLD = "front wall: exchanger with a fan on either face; slide in the middle of its slot. " * 3
ROWS: list[Row] = [("7", "509", "29.0", "19.0", Cell(TOLD, height_mm=LABEL_MM))] * 2
PAD_MM = 1.0
NARROW_MM, WIDE_MM = 110.0, 400.0


def texts(piece: Piece) -> list[Text]:
    return [one for one in piece.primitives if isinstance(one, Text)]


def test_on_narrow_paper_it_stands_below_from_the_second_column_on() -> None:
    block = table_block("t", "Rows", COLUMNS, ROWS, NARROW_MM)
    for piece in block.rows:
        figures = [one for one in texts(piece) if one.text in ROWS[0]]
        told = [one for one in texts(piece) if one not in figures]
        (line_mm,) = {one.at[1] for one in figures}
        assert " ".join(one.text for one in told) == TOLD.strip()
        # The columns of 68 mm are widened to 110 mm, the first of 8 to 12.9.
        for one in told:
            assert one.at[0] == pytest.approx(8.0 * 110 / 68 + PAD_MM)
        assert min(one.at[1] - one.height_mm for one in told) > line_mm
        assert max(one.at[1] for one in told) < piece.height_mm
        assert figures[-1].at[0] == pytest.approx(NARROW_MM - PAD_MM)
    heads = {one.text: one.at for one in texts(block.heading)}
    assert heads["What it holds"][1] > heads["Depth"][1]
    assert heads["What it holds"][1] < block.heading.height_mm


def test_on_wide_paper_it_stands_beside_them() -> None:
    block = table_block("t", "Rows", COLUMNS, ROWS, WIDE_MM)
    for piece in block.rows:
        told = [one for one in texts(piece) if one.text not in ROWS[0]]
        assert [one.at[0] for one in told] == pytest.approx([68.0 + PAD_MM] * len(told))
    heads = {one.text: one.at for one in texts(block.heading)}
    assert heads["What it holds"][1] == heads["Depth"][1]


@pytest.mark.parametrize("width_mm", [90.0, 110.0, 150.0, 200.0, 300.0, 400.0])
def test_the_lower_of_both_is_taken(width_mm: float) -> None:
    beside = (*COLUMNS[:-1], replace(COLUMNS[-1], below=False))
    free = table_block("t", "Rows", COLUMNS, ROWS, width_mm)
    kept = table_block("t", "Rows", beside, ROWS, width_mm)
    assert free.height_mm <= kept.height_mm
    assert (free.height_mm < kept.height_mm) == (width_mm < 150.0)


def test_a_cell_of_very_many_lines_goes_on_in_a_further_row() -> None:
    rows: list[Row] = [("7", "509", "29.0", "19.0", Cell("\n".join(["a line"] * 70)))]
    block = table_block("t", "Rows", COLUMNS, rows, NARROW_MM)
    assert [len(texts(piece)) for piece in block.rows] == [4 + 30, 30, 10]


def test_a_title_too_long_for_one_line_goes_on_below() -> None:
    long = "Near misses, of which those were looked at that meet least of what stands beside them"
    piece = title_piece(long, NARROW_MM)
    lines = texts(piece)
    assert len(lines) > 1
    assert " ".join(one.text for one in lines) == long
    assert all(text_width_mm(one.text, TITLE_MM, bold=True) <= NARROW_MM for one in lines)
    assert lines[-1].at[1] < piece.height_mm
