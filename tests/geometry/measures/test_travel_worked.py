"""Travel worked by hand: how far until it touches, what limits it, and where."""

from __future__ import annotations

from math import inf, sqrt

import pytest

from geometry.measures.pose import Way
from geometry.measures.prism import Poly, Prism, Round, box
from geometry.measures.travel import Travel, travel

PLUS_X, MINUS_X, PLUS_Y, PLUS_Z = Way(0, 1), Way(0, -1), Way(1, 1), Way(2, 1)
CUBE = box((0, 0, 0), (10, 10, 10))


def test_until_the_nearest_of_several() -> None:
    others = [
        ("far", [box((40, 0, 0), (50, 10, 10))]),
        ("near", [box((60, 0, 0), (70, 10, 10)), box((25, 4, 6), (26, 8, 20))]),
        ("beside", [box((12, 10, 0), (20, 20, 10))]),
    ]
    # The middle of what faces each other: y 4..8, z 6..10, at x = 25.
    assert travel([CUBE], PLUS_X, others) == Travel(15.0, "near", (25.0, 6.0, 8.0))
    assert travel([CUBE], MINUS_X, others) == Travel(inf)


def test_sliding_contact_does_not_stop_it() -> None:
    rails = ("rails", [box((-50, -5, 0), (50, 0, 10)), box((-50, 10, 0), (50, 15, 10))])
    stop = ("stop", [box((30, 0, 0), (31, 10, 10))])
    assert travel([CUBE], PLUS_X, [rails]) == Travel(inf)
    assert travel([CUBE], PLUS_X, [rails, stop]).mm == 20.0
    # Across the rails it cannot move at all.
    assert travel([CUBE], PLUS_Y, [rails]) == Travel(0.0, "rails", (5.0, 10.0, 5.0))


def test_leaving_what_it_touches() -> None:
    wall = ("wall", [box((-5, 0, 0), (0, 10, 10))])
    assert travel([CUBE], PLUS_X, [wall]) == Travel(inf)
    assert travel([CUBE], MINUS_X, [wall]).mm == 0.0


def test_from_a_start_that_shares_room_it_is_the_way_back() -> None:
    ahead = ("ahead", [box((7, 0, 0), (20, 10, 10))])
    assert travel([CUBE], PLUS_X, [ahead]) == Travel(-3.0, "ahead", (7.0, 5.0, 5.0))
    # The other way it backs out through all of it, forwards in x: 20 mm.
    assert travel([CUBE], MINUS_X, [ahead]).mm == -20.0


def test_backing_out_may_enter_what_lies_behind() -> None:
    ahead = ("ahead", [box((7, 0, 0), (20, 10, 10))])
    behind = ("behind", [box((-9, 0, 0), (-2, 10, 10))])
    # -3 would stand in `behind`; its far face is at -9, so the cube must end there: -19.
    assert travel([CUBE], PLUS_X, [ahead, behind]) == Travel(-19.0, "behind", (-9.0, 5.0, 5.0))


def test_a_peg_goes_through_the_hole_that_fits_it() -> None:
    ring = Poly(((0, 0), (20, 0), (20, 20), (0, 20)), (((5, 5), (5, 15), (15, 15), (15, 5)),))
    plate = ("plate", [Prism(2, ring, 30, 35)])
    assert travel([box((5, 5, 0), (15, 15, 10))], PLUS_Z, [plate]) == Travel(inf)
    assert travel([box((5, 5, 0), (15.1, 15, 10))], PLUS_Z, [plate]).mm == 20.0


def test_into_a_notch() -> None:
    notched = Poly(((0, 0), (20, 0), (20, 4), (6, 4), (6, 8), (20, 8), (20, 12), (0, 12)))
    post = ("post", [Prism(2, notched, 0, 10)])
    # A tongue 4 high slides into the notch to x = 6, one 5 high stops at the mouth, x = 20.
    assert travel([box((40, 4, 0), (50, 8, 10))], MINUS_X, [post]).mm == 34.0
    assert travel([box((40, 4, 0), (50, 9, 10))], MINUS_X, [post]).mm == 20.0


def test_round_against_round() -> None:
    one, other = Prism(2, Round(0, 0, 0, 0, 5), 0, 10), Prism(2, Round(30, 6, 30, 6, 5), 5, 20)
    # Centres 10 apart with 6 across: 8 along, so 22 to go; contact midway, (26, 3).
    found = travel([one], PLUS_X, [("other", [other])])
    assert found.mm == pytest.approx(22.0)
    assert found.place == pytest.approx((26.0, 3.0, 7.5))


def test_round_against_a_slanted_edge() -> None:
    # The edge x + y = 40 is met when the centre is 5 sqrt 2 before it along x.
    wedge = Prism(2, Poly(((40, 0), (60, 0), (60, 20), (20, 20))), 0, 10)
    bar = Prism(2, Round(0, 10, 0, 10, 5), 0, 10)
    found = travel([bar], PLUS_X, [("wedge", [wedge])])
    assert found.mm == pytest.approx(30 - 5 * sqrt(2))
    assert found.place == pytest.approx((30 - 5 * sqrt(2) / 2, 10 + 5 * sqrt(2) / 2, 5.0))


def test_bars_across_each_other() -> None:
    upright = Prism(2, Round(0, 0, 0, 0, 5), -50, 50)
    lying = Prism(0, Round(20, 0, 20, 0, 7), -50, 50)
    found = travel([upright], PLUS_Y, [("lying", [lying])])
    assert found.mm == pytest.approx(8.0)
    assert found.place == pytest.approx((0.0, 13.0, 0.0))
    # Lifted, a short upright meets the lying one where, under it, that is lowest: its disc spans
    # y 13..19, and 1 mm beside its middle the bar's underside is at 12 - sqrt(25 - 1).
    post = Prism(2, Round(0, 16, 0, 16, 3), -50, 0)
    up = travel([post], PLUS_Z, [("lying", [Prism(0, Round(20, 12, 20, 12, 5), -1, 50)])])
    assert up.mm == pytest.approx(12 - sqrt(24))
    assert up.place == pytest.approx((0.0, 19.0, 12 - sqrt(24)), abs=1e-6)


def test_a_bar_lifted_against_a_lying_one() -> None:
    post = Prism(2, Poly(((-2, 13), (2, 13), (2, 19), (-2, 19))), -50, 0)
    lying = Prism(0, Round(20, 12, 20, 12, 5), -1, 50)
    found = travel([post], PLUS_Z, [("lying", [lying])])
    # Under the bar at y = 19, 1 from its middle: 12 - sqrt(25 - 1).
    assert found.mm == pytest.approx(12 - sqrt(24))
    assert found.place == pytest.approx((0.5, 19.0, 12 - sqrt(24)))
    # Seen from the lying bar the travel down is the same.
    assert travel([lying], Way(2, -1), [("post", [post])]).mm == pytest.approx(12 - sqrt(24))


def test_a_lying_bar_pushed_endwise_into_a_post() -> None:
    post = Prism(2, Round(30, 0, 30, 0, 10), 0, 10)
    lying = Prism(0, Round(8, 5, 8, 5, 2), 0, 5)
    # At y = 6 the post begins at 30 - sqrt(100 - 36) = 22.
    found = travel([lying], PLUS_X, [("post", [post])])
    assert found.mm == pytest.approx(17.0)
    assert found.place == pytest.approx((22.0, 6.0, 5.0))


def test_nothing_in_the_way() -> None:
    assert travel([CUBE], PLUS_X, []) == Travel(inf)


@pytest.mark.parametrize("scale", [0.001, 1.0, 1000.0])
def test_from_hundredths_of_a_millimetre_to_ten_metres(scale: float) -> None:
    moving = [Prism(0, Round(0, 0, 0, 0, 2 * scale), 0, 3 * scale)]
    other = [Prism(1, Poly(((9 * scale, 0), (12 * scale, 0), (12 * scale, scale))), 0, scale)]
    # The wedge lies on z = 0 with its tip at x = 9: the bar's end reaches it after 6.
    assert travel(moving, PLUS_X, [("w", other)]).mm == pytest.approx(6 * scale)
