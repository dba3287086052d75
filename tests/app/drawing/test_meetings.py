"""Rectangles and lines that meet, whole lists at a time, against one pair at a time."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from app.drawing.dimensions import Room
from app.drawing.labels import crosses
from app.drawing.rectangle_meetings import crossed, meeting
from app.drawing.silhouettes import overlaps

# Whole numbers, so that borders often touch and lines are often level, upright or a point.
PLACE = st.integers(0, 12).map(float)
POINT = st.tuples(PLACE, PLACE)
LINES = st.lists(st.tuples(POINT, POINT), max_size=8)


@st.composite
def boxes(draw: st.DrawFn) -> list[tuple[float, float, float, float]]:
    pairs = draw(st.lists(st.tuples(POINT, POINT), max_size=8))
    return [(min(a, c), min(b, d), max(a, c), max(b, d)) for (a, b), (c, d) in pairs]


@given(boxes(), boxes())
def test_boxes_meet_as_one_by_one(some: list, others: list) -> None:
    one_by_one = [[k for k, b in enumerate(others) if overlaps(a, b)] for a in some]
    assert list(meeting(some, others)) == one_by_one


@given(boxes(), LINES)
def test_lines_cross_as_one_by_one(some: list, lines: list) -> None:
    one_by_one = [[k for k, line in enumerate(lines) if crosses(line, box)] for box in some]
    assert crossed(some, lines) == {k: row for k, row in enumerate(one_by_one) if row}


@given(boxes(), POINT, PLACE, st.booleans())
def test_level_and_upright_lines_cross_a_room_as_any_line_does(
    taken: list, start: tuple[float, float], end: float, upright: bool
) -> None:
    line = (start, (start[0], end) if upright else (end, start[1]))
    assert Room(tuple(taken)).crossed(line) == any(crosses(line, box) for box in taken)
