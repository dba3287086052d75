"""Depth over a footprint: worked by hand, and against the travel of a thin line."""

from __future__ import annotations

from itertools import pairwise
from math import inf, sqrt

import pytest
from depth_profiles import breakpoints_mm, depth_at
from hypothesis import given, settings
from hypothesis import strategies as st
from prism_laws import WAYS
from prism_worlds import coordinates, prisms

from geometry.measures.pose import Way
from geometry.measures.prism import PLANE, Poly, Prism, Rect, Round, box
from geometry.measures.profile import DepthProfile, depth_profile
from geometry.measures.travel import travel

UP, DOWN = Way(2, 1), Way(2, -1)
FOOTPRINT = Rect(0, 0, 100, 40)
X, Y = 0, 1


def _steps(profile: DepthProfile) -> list[tuple[float, float, float, object]]:
    return [(p.t0, p.t1, p.depth(p.t0), p.key) for p in profile.pieces]


def test_steps_under_boxes() -> None:
    others = [
        ("duct", [box((-10, -5, 50), (30, 10, 60))]),
        ("peg", [box((20, 35, 20), (25, 60, 90))]),
        ("beside", [box((50, 40, 5), (90, 60, 9))]),
        ("behind", [box((50, 0, -30), (60, 40, 0))]),
        ("lid", [box((-9, -9, 80), (70, 99, 85))]),
    ]
    profile = depth_profile(FOOTPRINT, 0.0, UP, X, others)
    assert _steps(profile) == [
        (0, 20, 50, "duct"),
        (20, 25, 20, "peg"),
        (25, 30, 50, "duct"),
        (30, 70, 80, "lid"),
        (70, 100, inf, None),
    ]
    assert profile.least_mm == 20
    assert breakpoints_mm(profile) == (20, 25, 30, 70)
    assert [depth_at(profile, t) for t in (0, 20, 22, 30, 99)] == [50, 20, 20, 50, inf]


def test_along_the_other_side_and_the_other_way() -> None:
    others = [("shelf", [box((0, 5, -60), (10, 15, -45))])]
    profile = depth_profile(FOOTPRINT, -5.0, DOWN, Y, others)
    assert _steps(profile) == [(0, 5, inf, None), (5, 15, 40, "shelf"), (15, 40, inf, None)]


def test_a_round_bar_across_the_side_shows_an_arc() -> None:
    bar = Prism(1, Round(50, 60, 50, 60, 25), 10, 20)
    profile = depth_profile(FOOTPRINT, 0.0, UP, X, [("bar", [bar])])
    assert breakpoints_mm(profile) == (25, 75)
    assert profile.least_mm == 35
    # 15 beside the middle the underside is at 60 - sqrt(25^2 - 15^2) = 40.
    assert [depth_at(profile, t) for t in (35, 50, 65)] == pytest.approx([40, 35, 40])


def test_a_round_bar_along_the_side_is_level_and_a_standing_one_cut_to_the_footprint() -> None:
    lying = Prism(0, Round(50, 60, 50, 60, 26), 10, 20)
    standing = Prism(2, Round(70, 45, 70, 45, 13), 30, 90)
    profile = depth_profile(FOOTPRINT, 0.0, UP, X, [("lying", [lying]), ("standing", [standing])])
    # The lying bar reaches the footprint's edge y = 40, 10 beside its middle: 60 - 24. The
    # standing one reaches over that edge within sqrt(13^2 - 5^2) = 12 of its middle.
    assert _steps(profile) == [
        (0, 10, inf, None),
        (10, 20, pytest.approx(36), "lying"),
        (20, 58, inf, None),
        (58, 82, 30, "standing"),
        (82, 100, inf, None),
    ]


def test_a_slanted_duct_crosses_a_step() -> None:
    duct = Prism(1, Poly(((0, 60), (100, 10), (100, 60))), 0, 40)
    profile = depth_profile(
        FOOTPRINT, 0.0, UP, X, [("duct", [duct]), ("lid", [box((0, 0, 30), (100, 40, 35))])]
    )
    # 60 - t / 2 falls below 30 at t = 60.
    assert _steps(profile) == [(0, 60, 30, "lid"), (60, 100, 30, "duct")]
    assert profile.least_mm == 10
    assert depth_at(profile, 80) == pytest.approx(20)


def test_an_arc_under_a_level() -> None:
    bar = Prism(1, Round(50, 60, 50, 60, 25), 10, 20)
    lid = box((0, 0, 40), (100, 40, 45))
    profile = depth_profile(FOOTPRINT, 0.0, UP, X, [("bar", [bar]), ("lid", [lid])])
    assert breakpoints_mm(profile) == pytest.approx((35, 65))
    assert [p.key for p in profile.pieces] == ["lid", "bar", "lid"]


def test_what_stands_through_the_datum_gives_a_negative_depth() -> None:
    profile = depth_profile(FOOTPRINT, 0.0, UP, X, [("post", [box((10, 0, -7), (20, 40, 9))])])
    assert profile.least_mm == -7


@pytest.mark.parametrize(
    "room",
    [
        [box((10, 0, -7), (20, 40, -1)), box((10, 0, -2), (20, 40, 9))],
        [box((10, 0, -7), (20, 40, -1)), box((10, 0, -1), (20, 40, 9))],
        # An L whose foot, all under the datum, is wider than its leg: as one outline and as two.
        [Prism(0, Poly(((0, -7), (40, -7), (40, -1), (9, -1), (9, 9), (0, 9))), 10, 20)],
        [Prism(0, Rect(0, -7, 40, -1), 10, 20), Prism(0, Rect(0, -1, 9, 9), 10, 20)],
    ],
    ids=["overlapping", "touching", "whole", "in two"],
)
def test_how_a_solid_is_cut_into_prisms_is_no_matter_behind_the_datum(room: list[Prism]) -> None:
    profile = depth_profile(FOOTPRINT, 0.0, UP, X, [("post", room)])
    assert profile.least_mm == depth_at(profile, 15) == -7
    assert breakpoints_mm(profile) == (10, 20)


def test_the_way_back_ends_at_the_first_gap_of_the_solid() -> None:
    wedge = Prism(1, Poly(((40, -20), (60, -20), (60, -4), (40, -12))), 0, 40)
    post = [
        box((0, 0, -3), (60, 40, 9)),
        box((20, 0, -8), (60, 40, -3)),
        box((0, 0, -30), (40, 40, -9)),
        wedge,
    ]
    floor = ("floor", [box((0, 0, -40), (100, 40, -3))])
    profile = depth_profile(FOOTPRINT, 0.0, UP, X, [("post", post), floor])
    # The wedge's upper side rises from -12 to -4 and meets the foot's underside at t = 50. The
    # floor, another solid, is behind the datum and does not count.
    assert _steps(profile) == [
        (0, 20, -3, "post"),
        (20, 50, -8, "post"),
        (50, 60, -20, "post"),
        (60, 100, inf, None),
    ]


def test_a_profile_along_its_own_way_is_refused() -> None:
    with pytest.raises(ValueError, match="across"):
        depth_profile(FOOTPRINT, 0.0, UP, 2, [])


@settings(max_examples=50)
@given(
    st.lists(prisms(), min_size=1, max_size=6),
    st.sampled_from(WAYS),
    st.integers(0, 1),
    coordinates(1.0),
    st.floats(0.01, 0.99),
)
def test_every_depth_is_the_travel_of_a_line(
    solids: list[Prism], way: Way, side: int, datum: float, share: float
) -> None:
    along = PLANE[way.axis][side]
    footprint = Rect(-10.3, -6.2, 11.1, 7.7)
    others = [("all of them", solids)]
    profile = depth_profile(footprint, datum, way, along, others)
    ends = ((-10.3, 11.1), (-6.2, 7.7))
    lo, hi = ends[side]
    assert (profile.pieces[0].t0, profile.pieces[-1].t1) == (lo, hi)
    assert all(one.t1 == other.t0 for one, other in pairwise(profile.pieces))
    t = lo + (hi - lo) * share
    least, most = [0.0] * 3, [0.0] * 3
    least[along], most[along] = t - 2e-6, t + 2e-6
    third = 3 - along - way.axis
    least[third], most[third] = ends[1 - side]
    least[way.axis], most[way.axis] = sorted((datum, datum - way.sign * 1e-5))
    met, depth = travel([box(least, most)], way, others).mm, depth_at(profile, t)
    # The line is 1e-5 thick behind the datum, so it stands in what only touches that from behind.
    if min(depth, met) > 1e-5 or max(depth, met) < -1e-5:
        # Beside a rim a line 4e-6 wide meets an arc sqrt(2 r 4e-6) earlier at most.
        assert depth == met or abs(depth - met) <= sqrt(2 * 10 * 4e-6) or _at_break(profile, t)
    assert profile.least_mm <= depth


def _at_break(profile: DepthProfile, t: float) -> bool:
    return any(abs(t - cut) <= 4e-6 for cut in breakpoints_mm(profile))
