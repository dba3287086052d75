"""Columns of a table share its width so that its rows are low and no word is broken."""

from __future__ import annotations

import datetime
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.drawing.primitives import Text
from app.sheet.column_widths import LEAST_MM, CellText, balanced
from app.sheet.compose import compose_sheets
from app.sheet.lettering import wrapped
from app.sheet.table import BODY_MM, LEADING, Cell, ColumnSpec, Row, table_block
from app.shipped_demo import shipped_demo
from geometry.checks.runner import check_layout

PAD_MM = 1.0
WORDS = ("fan", "a", "120", "x", "tube", "of", "port", "\n", "on a side")
LONG = "Compression fitting for tube 10/13 on port in of Pump, compact body 60 x 60 x 40"


def cell(text: str) -> CellText:
    return CellText(text, BODY_MM, BODY_MM * LEADING)


def test_a_column_that_says_little_gives_its_room_to_one_that_says_much() -> None:
    short, long = [cell("cable peg")] * 4, [cell(LONG)] * 4
    first, second = balanced([short, long], [60.0, 60.0], [False, False], PAD_MM)
    assert first + second == pytest.approx(120.0)
    assert first == pytest.approx(20.0, abs=4.0)
    # What stays fixed stays.
    assert balanced([short, long], [60.0, 60.0], [True, False], PAD_MM) == [60.0, 60.0]


def test_a_word_is_not_broken_to_make_a_row_lower() -> None:
    word = "bracket"
    first, _ = balanced([[cell(word)], [cell(LONG * 3)]], [60.0, 60.0], [False, False], PAD_MM)
    assert first >= cell(word).word_mm + 2 * PAD_MM


def height_mm(rows: list[list[str]], widths: list[float]) -> float:
    """The lines of all rows, set in full, each as high as its highest cell."""
    lines = [
        max(
            len(wrapped(text, width - 2 * PAD_MM, BODY_MM))
            for text, width in zip(row, widths, strict=True)
        )
        for row in rows
    ]
    return sum(lines) * BODY_MM * LEADING


CELLS = st.lists(st.sampled_from(WORDS), max_size=14).map(" ".join)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=6),
    st.lists(st.floats(LEAST_MM, 90.0), min_size=3, max_size=3),
)
def test_widths_add_up_and_the_table_does_not_become_higher(
    rows: list[list[str]], widths: list[float]
) -> None:
    columns = [[cell(row[k]) for row in rows] for k in range(3)]
    found = balanced(columns, widths, [False] * 3, PAD_MM)
    assert sum(found) == pytest.approx(sum(widths))
    assert min(found) >= LEAST_MM
    # Beside the rows, a hundredth of what all cells take counts.
    cells = sum(
        height_mm([[text]], [width])
        for row in rows
        for text, width in zip(row, widths, strict=True)
    )
    assert height_mm(rows, found) <= height_mm(rows, widths) + 0.02 * cells


def test_a_fixed_column_is_as_wide_as_its_longest_word() -> None:
    columns = (ColumnSpec("Gap", 8.0, "right", fixed=True), ColumnSpec("What", 40.0))
    rows: list[Row] = [("−115.0", "too deep"), (Cell("2.0"), "fits")]
    block = table_block("t", "T", columns, rows, 80.0)
    shown = [one.text for row in block.rows for one in row.primitives if isinstance(one, Text)]
    assert shown == ["−115.0", "too deep", "2.0", "fits"]


def test_a_fixed_column_leaves_each_free_one_its_least() -> None:
    columns = (
        ColumnSpec("Gap", 8.0, fixed=True), ColumnSpec("What", 40.0), ColumnSpec("Where", 20.0)
    )  # fmt: skip
    block = table_block("t", "T", columns, [("W" * 80, "too deep", "rear")], 80.0)
    starts = {one.text: one.at[0] for one in block.rows[0].primitives if isinstance(one, Text)}
    deep_mm, rear_mm = starts["too"] if "too" in starts else starts["too deep"], starts["rear"]
    assert deep_mm > 8.0
    assert rear_mm - deep_mm >= LEAST_MM
    assert 80.0 - rear_mm + PAD_MM >= LEAST_MM


def test_a_high_first_row_may_stand_alone_and_a_low_one_has_another_with_it() -> None:
    columns = (ColumnSpec("", 40.0),)
    low = table_block("t", "T", columns, [("one line",)] * 3, 40.0)
    high = table_block("t", "T", columns, [(LONG,)] * 3, 40.0)
    assert (low.least_rows, high.least_rows) == (2, 1)


def test_the_demo_takes_five_sheets_of_a4_and_two_of_a3(date: datetime.date) -> None:
    checked = check_layout(shipped_demo())
    assert [len(compose_sheets(checked, paper=one, date=date)) for one in ("A4", "A3")] == [5, 2]


def test_lines_are_far_enough_apart() -> None:
    # ISO 3098-1: base lines of lettering B at least 1.4 times its height apart.
    block = table_block("t", "T", (ColumnSpec("", 40.0),), [(LONG,)], 40.0)
    lines = [one.at[1] for one in block.rows[0].primitives if isinstance(one, Text)]
    assert len(lines) > 2
    assert all(b - a >= 1.4 * BODY_MM for a, b in pairwise(lines))
