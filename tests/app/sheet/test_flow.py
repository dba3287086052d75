"""Text that keeps to its room, tables, and blocks that flow from column to column."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from app.drawing.fontmetrics import text_width_mm
from app.drawing.primitives import Text
from app.sheet.flow import BLOCK_GAP_MM, Block, Column, Piece, flow
from app.sheet.lettering import stepped, wrapped
from app.sheet.scaled import extent, text_box
from app.sheet.table import Cell, ColumnSpec, table_block

WORDS = st.lists(st.text("abcdefghijklmnopqrstuvwxyzäöü,.-0123456789", min_size=1, max_size=30))


@given(words=WORDS, room=st.floats(8.0, 80.0))
def test_wrapped_lines_fit_and_lose_no_letter(words: list[str], room: float) -> None:
    text = " ".join(words)
    lines = wrapped(text, room, 2.5)
    assert all(text_width_mm(line, 2.5) <= room for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_word_wider_than_its_room_is_broken() -> None:
    lines = wrapped("to Donaudampfschiff", 12.0, 2.5)
    assert lines[0] == "to"
    assert "".join(lines[1:]) == "Donaudampfschiff"


def test_lines_of_a_text_stay_lines() -> None:
    assert wrapped("one\ntwo three", 100.0, 2.5) == ("one", "two three")


def test_lettering_steps_down_before_it_is_cut() -> None:
    # Heights of ISO 3098: 3.5, then 2.5, then 1.8.
    wide = text_width_mm("Analysis machine", 3.5)
    assert stepped("Analysis machine", wide, 3.5) == ("Analysis machine", 3.5)
    assert stepped("Analysis machine", wide * 0.75, 3.5) == ("Analysis machine", 2.5)
    assert stepped("Analysis machine", wide * 0.55, 3.5) == ("Analysis machine", 1.8)
    text, height = stepped("Analysis machine", wide * 0.3, 3.5)
    assert height == 1.8
    assert text.endswith("\N{HORIZONTAL ELLIPSIS}")
    assert text_width_mm(text, 1.8) <= wide * 0.3


def _block(key: str, *heights: float, least: int = 1) -> Block:
    def piece(text: str, height: float) -> Piece:
        return Piece(height, (Text((0.0, 1.0), text, 1.0),))

    return Block(
        key,
        piece(f"{key} head", 5.0),
        piece(f"{key} on", 5.0),
        tuple(piece(f"{key}{k}", height) for k, height in enumerate(heights)),
        least,
    )


def _columns(*boxes: tuple[int, float]) -> list[Column]:
    """Columns on sheets, 100 mm apart, from y = 0 to a foot."""
    return [Column(sheet, (100.0 * k, 0.0, 100.0 * k + 90.0, foot)) for k, (sheet, foot) in
            enumerate(boxes)]  # fmt: skip


def test_blocks_follow_each_other_with_a_gap() -> None:
    laid = flow([_block("a", 10.0), _block("b", 10.0)], _columns((0, 100.0)))
    at = [(one.key, [t.at for t in one.primitives]) for one in laid]
    # Heading 5, row 10, then the gap.
    assert at == [
        ("a", [(0.0, 1.0), (0.0, 6.0)]),
        ("b", [(0.0, 16.0 + BLOCK_GAP_MM), (0.0, 21.0 + BLOCK_GAP_MM)]),
    ]


def test_rows_go_on_in_the_next_column_under_a_repeated_heading() -> None:
    laid = flow([_block("a", 20.0, 20.0, 20.0)], _columns((0, 50.0), (1, 50.0)))
    assert [(one.sheet, [t.text for t in one.primitives]) for one in laid] == [
        (0, ["a head", "a0", "a1"]),
        (1, ["a on", "a2"]),
    ]


def test_a_heading_is_not_left_alone_at_the_foot() -> None:
    # 5 + 20 are used; the gap, a heading of 5 and two rows of 8 do not fit into the other 25.
    blocks = [_block("a", 20.0), _block("b", 8.0, 8.0, least=2)]
    laid = flow(blocks, _columns((0, 50.0), (1, 50.0)))
    assert [(one.key, one.sheet) for one in laid] == [("a", 0), ("b", 1)]


SPECS = (ColumnSpec("No.", 10, "middle", fixed=True), ColumnSpec("What", 1), ColumnSpec("Why", 2))


def test_fixed_columns_keep_their_width_and_the_rest_share() -> None:
    block = table_block("t", "Table", SPECS, [("1", "left", "right")], 100.0)
    texts = {one.text: one.at[0] for one in block.rows[0].primitives if isinstance(one, Text)}
    # 10 fixed; 90 shared as 30 and 60; a pad of 1 before left-aligned text.
    assert texts == {"1": 5.0, "left": 11.0, "right": 41.0}


def test_cells_stay_in_their_columns_and_rows() -> None:
    cells = ("7", Cell("word " * 30, bold=True), Cell("more " * 50, height_mm=1.8))
    block = table_block("t", "Table", SPECS, [cells], 100.0)
    heads = {one.text: one.at[0] for one in block.heading.primitives if isinstance(one, Text)}
    edges = (0.0, 10.0, heads["Why"] - 1.0, 100.0)
    assert heads["What"] == 11.0
    for row in block.rows:
        for one in (one for one in row.primitives if isinstance(one, Text)):
            x0, y0, x1, y1 = text_box(one)
            assert any(a <= x0 and x1 <= b for a, b in pairwise(edges))
            assert y0 >= 0.0
            assert y1 <= row.height_mm


def test_a_row_longer_than_a_sheet_becomes_several() -> None:
    block = table_block("t", "Table", SPECS, [("1", "word " * 400, "x")], 100.0)
    assert len(block.rows) > 1
    assert all(row.height_mm < 150.0 for row in block.rows)
    shown = [one.text for row in block.rows for one in row.primitives if isinstance(one, Text)]
    assert shown.count("1") == 1
    assert " ".join(shown).count("word") == 400


def test_an_empty_table_says_so_without_column_headings() -> None:
    block = table_block("t", "Table", SPECS, [], 100.0, empty="Nothing to tell.")
    texts = [one.text for piece in (block.heading, *block.rows) for one in piece.primitives
             if isinstance(one, Text)]  # fmt: skip
    assert texts == ["Table", "Nothing to tell."]
    assert extent(block.rows[0].primitives[-1])[2] == 100.0
