"""The legend: every sign that the views use is there, with its words beside it."""

from __future__ import annotations

import datetime

import pytest
from sheet_looks import words_of

from app.demo import demo_layout
from app.drawing.primitives import Fill, Ink, LineType, Path, Primitive, Text
from app.sheet.compose import compose_sheets
from app.sheet.legend import ENTRIES, SAMPLE_MM, legend_block
from app.sheet.paper import PAPERS
from app.sheet.scaled import extent
from app.sheet.sheet_areas import Areas
from catalog.store import Library
from geometry.checks.runner import Checked, check_layout


@pytest.fixture(scope="module")
def demo() -> Checked:
    """The demo has hidden edges, plugs with room for cables, and mount zones."""
    return check_layout(demo_layout(Library()), remedies=False)


def rows(paper: str = "A3") -> list[tuple[Primitive, ...]]:
    width_mm = Areas(PAPERS[paper]).column_mm
    return [piece.primitives for piece in legend_block(width_mm).rows]


@pytest.mark.parametrize(("paper", "columns"), [("A3", 3), ("A4", 2)])
def test_words_stay_in_their_column_and_beside_their_samples(paper: str, columns: int) -> None:
    step = Areas(PAPERS[paper]).column_mm / columns
    shown = [one for row in rows(paper) for one in row]
    for one in shown:
        box = extent(one)
        left = int(box[0] / step + 1e-9) * step
        if isinstance(one, Text):
            assert left + SAMPLE_MM < box[0]
            assert box[2] <= left + step - 1.0
        else:
            assert box[2] <= left + SAMPLE_MM + 0.1
    told = [one.text for one in shown if isinstance(one, Text)]
    assert told == [words for _, words in ENTRIES]


def test_samples_look_like_what_they_stand_for(demo: Checked, date: datetime.date) -> None:
    first = compose_sheets(demo, paper="A3", date=date)[0]
    drawn = {
        (one.stroke.ink, one.stroke.line_type)
        for group in first.groups
        if group.key.split(":")[0] in ("hidden", "keep-out", "zone")
        for one in group.primitives
        if isinstance(one, Path) and one.stroke is not None
    }
    shown = {
        (one.stroke.ink, one.stroke.line_type)
        for row in rows()
        for one in row
        if isinstance(one, Path) and one.stroke is not None
    }
    for kind in (
        (Ink.HIDDEN, LineType.DASHED),
        (Ink.KEEP_OUT, LineType.DOUBLE_CHAIN),
        (Ink.ZONE, LineType.CONTINUOUS),
    ):
        assert kind in drawn
        assert kind in shown
    hatches = {
        (one.fill.ink, one.fill.hatch)
        for row in rows()
        for one in row
        if isinstance(one, Path) and isinstance(one.fill, Fill)
    }
    assert hatches == {(Ink.BLOCKED, "cross"), (Ink.TIGHT, "diagonal")}


@pytest.mark.parametrize("paper", ["A3", "A4"])
def test_the_legend_stands_once_on_the_sheets(
    any_checked: Checked, date: datetime.date, paper: str
) -> None:
    words = words_of(compose_sheets(any_checked, paper=paper, date=date))
    assert words.count("hidden edge") == 1
