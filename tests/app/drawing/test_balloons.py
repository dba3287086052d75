"""Balloons stand in line beside a view, apart from each other, their leaders not crossing."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString

from app.drawing.balloons import (
    Call,
    Columns,
    Placed,
    balloon_box,
    circle_box,
    note_box,
    noted_balloon,
    place_balloons,
)
from app.drawing.drafting import Drafting
from app.drawing.primitives import Circle, Path, Text
from app.drawing.silhouettes import overlaps
from geometry.finding import Verdict

PAPER = Drafting.on_paper(1.0)
COLUMNS = Columns(left=-15.0, right=215.0, top=0.0, bottom=150.0, middle=100.0)


def call(number: int, x: float, y: float, verdict: Verdict = Verdict.TIGHT) -> Call:
    return Call(number, (x, y), f"{number}.0 overlap", verdict)


def test_a_balloon_stands_on_the_nearer_side_at_the_height_of_its_place() -> None:
    placed = place_balloons((call(1, 20.0, 50.0), call(2, 180.0, 70.0)), COLUMNS, PAPER)
    assert [(one.centre, one.side) for one in placed] == [((-15.0, 50.0), -1), ((215.0, 70.0), 1)]


def test_balloons_at_one_height_are_set_apart_about_it() -> None:
    calls = tuple(call(n, 150.0, 75.0) for n in (1, 2, 3))
    heights = sorted(one.centre[1] for one in place_balloons(calls, COLUMNS, PAPER))
    step = 2.5 * PAPER.balloon_mm
    assert heights == pytest.approx([75.0 - step, 75.0, 75.0 + step])


def test_a_place_above_the_view_has_its_balloon_at_the_top() -> None:
    (one,) = place_balloons((call(1, 150.0, -400.0),), COLUMNS, PAPER)
    assert one.centre == (215.0, 0.0)


def test_a_note_that_would_run_into_the_next_view_is_left_out() -> None:
    narrow = Columns(-15.0, 215.0, 0.0, 150.0, 100.0, right_room=10.0)
    kept, dropped = place_balloons((call(1, 20.0, 50.0), call(2, 180.0, 70.0)), narrow, PAPER)
    assert (kept.call.note, dropped.call.note) == ("1.0 overlap", "")


@given(
    st.floats(0.05, 20.0),
    st.floats(-500.0, 500.0),
    st.floats(-500.0, 500.0),
    st.sampled_from((-1, 1)),
)
def test_a_note_stands_clear_of_its_own_balloon_at_every_scale(scale, x, y, side) -> None:
    drafting = Drafting.on_paper(scale)
    one = Placed(call(1, 20.0, 50.0), (x, y), side)
    note = note_box(one, drafting)
    assert note is not None
    assert note[2] - note[0] > drafting.balloon_mm
    assert not overlaps(note, circle_box(one, drafting))


places = st.tuples(st.integers(0, 200), st.integers(0, 150))


@given(st.lists(places, max_size=40, unique=True))
def test_forty_balloons_keep_apart_and_uncrossed(anchors: list[tuple[int, int]]) -> None:
    """Two sides of 150 mm hold 19 balloons each at 8.1 mm; the rest go into outer columns."""
    calls = tuple(call(n, float(x), float(y)) for n, (x, y) in enumerate(anchors, start=1))
    placed = place_balloons(calls, COLUMNS, PAPER)
    assert [one.call.number for one in placed] == list(range(1, len(anchors) + 1))
    for one, other in combinations(placed, 2):
        assert not overlaps(balloon_box(one, PAPER), balloon_box(other, PAPER))
        if one.side == other.side and one.centre[0] == other.centre[0]:
            leaders = [LineString([two.centre, two.call.anchor]) for two in (one, other)]
            assert not leaders[0].crosses(leaders[1])


def shapes(verdict: Verdict) -> tuple[Circle, list[str]]:
    one = Placed(call(7, 180.0, 70.0, verdict), (215.0, 70.0), 1)
    found = noted_balloon(one, PAPER)
    (ring,) = [c for c in found if isinstance(c, Circle) and c.stroke is not None]
    (leader,) = [line for line in found if isinstance(line, Path)]
    assert leader.points[1] == (180.0, 70.0)
    assert leader.points[0][0] == pytest.approx(215.0 - PAPER.balloon_mm)
    return ring, [text.text for text in found if isinstance(text, Text)]


def test_blocked_and_tight_differ_by_line_and_word_too() -> None:
    blocked, words = shapes(Verdict.BLOCKED)
    tight, _ = shapes(Verdict.TIGHT)
    assert words == ["7", "7.0 overlap"]
    assert blocked.stroke is not None
    assert tight.stroke is not None
    assert blocked.stroke.width_mm == 2 * tight.stroke.width_mm
    assert blocked.radius_mm == tight.radius_mm
