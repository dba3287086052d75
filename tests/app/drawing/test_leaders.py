"""What stands in line beside a view keeps apart, near what it means, its leaders uncrossed."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString

from app.drawing.leaders import Leader, leader_primitives, spread_out, uncrossed
from app.drawing.primitives import Circle, Ink, Path, Stroke

line_ups = st.lists(st.tuples(st.floats(-20.0, 120.0), st.floats(1.0, 9.0)), max_size=20)


@given(line_ups.map(sorted))
def test_spreading_keeps_the_order_and_the_distance(pairs: list[tuple[float, float]]) -> None:
    wanted, halves = [p[0] for p in pairs], [p[1] for p in pairs]
    spots = spread_out(wanted, halves, 0.0, 100.0, 1.2)
    for k in range(1, len(spots)):
        assert spots[k] - spots[k - 1] >= halves[k] + halves[k - 1] + 1.2 - 1e-9
    if spots:
        assert spots[0] - halves[0] >= -1e-9
    if spots and 2 * sum(halves) + 1.2 * (len(halves) - 1) <= 100.0:
        assert spots[-1] + halves[-1] <= 100.0 + 1e-9


@given(line_ups.map(sorted), st.lists(st.floats(-1.0, 1.0), min_size=20, max_size=20))
def test_none_that_keep_apart_are_nearer_to_what_is_wanted(
    pairs: list[tuple[float, float]], moves: list[float]
) -> None:
    """Least squares are convex: who cannot be bettered by a small step cannot be bettered."""
    wanted, halves = np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])
    if not pairs:
        return
    spots = np.array(spread_out(list(wanted), list(halves), -500.0, 500.0, 1.2))
    other = spots + 1e-3 * np.array(moves[: len(pairs)])
    apart = np.diff(other) - halves[1:] - halves[:-1] - 1.2
    if np.all(apart >= 0.0):
        assert np.sum((other - wanted) ** 2) >= np.sum((spots - wanted) ** 2) - 1e-9


def test_a_lone_balloon_stands_level_with_its_target() -> None:
    assert spread_out([42.0], [3.0], 0.0, 100.0, 1.2) == [42.0]


def test_what_wants_one_place_stands_about_it() -> None:
    assert spread_out([50.0] * 3, [3.0] * 3, 0.0, 100.0, 1.0) == pytest.approx([43.0, 50.0, 57.0])


def test_more_than_the_length_takes_run_over_its_end() -> None:
    assert spread_out([0.0] * 3, [3.0] * 3, 0.0, 10.0, 1.0) == pytest.approx([3.0, 10.0, 17.0])


places = st.tuples(st.integers(0, 60), st.integers(0, 60))


@given(st.lists(places, max_size=12, unique=True))
def test_leaders_to_one_column_never_cross(targets: list[tuple[int, int]]) -> None:
    stand = [Leader((float(x), float(y)), (80.0, 5.0 * k)) for k, (x, y) in enumerate(targets)]
    found = uncrossed(stand)
    assert [one.target for one in found] == [one.target for one in stand]
    assert sorted(one.place for one in found) == sorted(one.place for one in stand)
    lines = [LineString(one) for one in found]
    assert [(a, b) for a, b in combinations(lines, 2) if a.crosses(b)] == []


def test_only_those_change_places_that_are_alike() -> None:
    crossed = (Leader((0.0, 0.0), (10.0, 10.0)), Leader((0.0, 10.0), (10.0, 0.0)))
    assert uncrossed(crossed, lambda _i, _j: False) == crossed
    assert [one.place for one in uncrossed(crossed)] == [(10.0, 0.0), (10.0, 10.0)]


LINE = Stroke(Ink.TIGHT)


def test_a_leader_begins_at_the_ring_and_ends_in_a_dot() -> None:
    line, dot = leader_primitives(Leader((10.0, 0.0), (0.0, 0.0)), (3.0, 3.0), LINE, 0.5)
    assert isinstance(line, Path)
    assert line.points == ((3.0, 0.0), (10.0, 0.0))
    assert isinstance(dot, Circle)
    assert (dot.centre, dot.radius_mm) == ((10.0, 0.0), 0.5)


def test_a_leader_of_a_text_begins_at_the_box_round_it() -> None:
    # The way (10, 5) leaves a box of 8 x 3 mm through its longer side: at (3, 1.5).
    one = Leader((10.0, 5.0), (0.0, 0.0))
    line, _ = leader_primitives(one, (4.0, 1.5), LINE, 0.5, round_end=False)
    assert isinstance(line, Path)
    assert line.points[0] == (3.0, 1.5)


@pytest.mark.parametrize("round_end", [True, False])
def test_what_is_meant_under_the_balloon_itself_has_a_dot_alone(round_end: bool) -> None:
    for target in ((0.0, 0.0), (1.0, 0.0)):
        leader = Leader(target, (0.0, 0.0))
        (only,) = leader_primitives(leader, (3.0, 3.0), LINE, 0.5, round_end=round_end)
        assert isinstance(only, Circle)
