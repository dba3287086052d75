"""A sheet of an enclosure that has been cut: drawn, dimensioned, marked, and warned of."""

from __future__ import annotations

import datetime

import pytest
from sheet_looks import outside_frame, overlapping_texts, texts_of, words_of

from app.drawing.primitives import Drawing, LineType, Path
from app.sheet.compose import compose_sheets
from app.sheet.title_block import TitleBlock
from app.shipped_demo import shipped_demo
from geometry.checks.runner import check_layout
from geometry.edits import cut_out_obstacle, trim_obstacle
from geometry.layout import Layout


def trimmed() -> Layout:
    shorter = trim_obstacle(shipped_demo(), "bracket-duct", "-z", 38.0)
    return trim_obstacle(shorter, "bracket-peg", "-x", 12.0)


def sheets(layout: Layout, paper: str, date: datetime.date) -> tuple[Drawing, ...]:
    return compose_sheets(check_layout(layout), paper=paper, scale="1:5", date=date)


def paths(drawing: Drawing, key: str) -> list[Path]:
    return [
        one
        for group in drawing.groups
        if group.key.startswith(key)
        for one in group.primitives
        if isinstance(one, Path)
    ]


@pytest.mark.parametrize("paper", ["A3", "A4"])
def test_what_was_trimmed_is_drawn_and_dimensioned_beside_the_views(
    date: datetime.date, paper: str
) -> None:
    drawn = sheets(trimmed(), paper, date)
    (outline,) = paths(drawn[0], "cut:side:bracket-duct")
    assert outline.stroke is not None
    assert outline.stroke.line_type is LineType.DOUBLE_CHAIN
    ys = [y for _, y in outline.points]
    # 38 mm at 1 : 5.
    assert max(ys) - min(ys) == pytest.approx(7.6)
    levels = {
        round(y, 6)
        for one in paths(drawn[0], "dimensions:side:left")
        if len(one.points) == 2 and one.points[0][1] == one.points[1][1]
        for _, y in one.points
    }
    assert {round(min(ys), 6), round(max(ys), 6)} <= levels
    words = [one.text for one in texts_of(drawn[0])]
    assert words.count("38 cut off") == 1
    assert words.count("12 cut off") == 1
    assert not overlapping_texts(drawn[0])
    assert not outside_frame(drawn[0], paper)


def test_what_was_cut_out_is_marked_and_cutting_is_warned_of(date: datetime.date) -> None:
    drawn = sheets(cut_out_obstacle(shipped_demo(), "bracket-duct"), "A3", date)
    assert paths(drawn[0], "cut:side:bracket-duct:all")
    shown = words_of(drawn)
    assert "cut out" in shown.split("\n")
    assert "Cutting is irreversible and leaves sharp edges" in " ".join(shown.split())


def test_the_title_block_says_cut_however_long_the_name_is() -> None:
    # ISO 7200 gives a supplementary title 25 characters.
    block = TitleBlock(
        "T", "1", "2026-01-01", "1", "1", supplement="Bench box, front bracket (cut)"
    )
    assert block.shown("supplement") == "Bench box, front b… (cut)"
    assert len(block.shown("supplement")) == 25
