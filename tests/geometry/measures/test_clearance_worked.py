"""Clearance worked by hand: same axis, boxes, and prisms of different axes."""

from __future__ import annotations

from math import hypot, inf, sqrt

import pytest

from geometry.measures.clearance import Clearance, clearance, signed_gap_mm
from geometry.measures.prism import Poly, Prism, Round, box, shifted

CUBE = box((0, 0, 0), (10, 10, 10))


def test_two_blocks_corner_to_corner() -> None:
    # 2, 3 and 6 apart along x, y and z: 7 across, from corner to corner.
    other = box((12, 13, 16), (20, 20, 20))
    assert clearance([CUBE], [other]) == Clearance(7.0, (10, 10, 10), (12, 13, 16))
    assert clearance([other], [CUBE]) == Clearance(7.0, (12, 13, 16), (10, 10, 10))


def test_faces_that_touch_or_share_room_have_none() -> None:
    touching = clearance([CUBE], [box((10, 2, 2), (20, 4, 4))])
    assert touching == Clearance(0.0, (10, 3, 3), (10, 3, 3))
    inside = clearance([CUBE], [box((2, 2, 2), (4, 4, 4))])
    assert inside == Clearance(0.0, (3, 3, 3), (3, 3, 3))


def test_beyond_the_limit_it_is_not_looked_at() -> None:
    other = box((12, 0, 0), (20, 10, 10))
    assert clearance([CUBE], [other], 2.0).mm == 2.0
    assert clearance([CUBE], [other], 1.999) == Clearance(inf)


def test_the_nearest_of_all_pairs_counts() -> None:
    a = [CUBE, box((0, 0, 10), (3, 3, 30))]
    b = [box((20, 0, 0), (30, 10, 10)), box((7, 0, 20), (9, 3, 25))]
    assert clearance(a, b).mm == 4.0


def test_circles_beside_each_other_at_different_heights() -> None:
    low = Prism(2, Round(0, 0, 0, 0, 5), 0, 10)
    high = Prism(2, Round(12, 9, 12, 9, 7), 12, 20)
    # 15 between centres less both radii is 3; 2 in height.
    found = clearance([low], [high])
    assert found.mm == pytest.approx(sqrt(13))
    assert found.point_a == pytest.approx((4, 3, 10))
    assert found.point_b == pytest.approx((6.4, 4.8, 12))


def test_a_stadium_beside_a_block_and_at_its_corner() -> None:
    bar = Prism(1, Round(0, 0, 30, 0, 4), 0, 5)
    assert clearance([bar], [box((10, 0, 6), (20, 5, 9))]).mm == 2.0
    # The corner stands 3 right of and 4 above the end's centre... less the radius of 4.
    assert clearance([bar], [box((33, 0, 4), (40, 5, 9))]).mm == pytest.approx(1.0)


def test_in_a_hole_the_rim_is_nearest() -> None:
    ring = Poly(((0, 0), (20, 0), (20, 20), (0, 20)), (((5, 5), (5, 15), (15, 15), (15, 5)),))
    plate = Prism(2, ring, 0, 5)
    assert clearance([box((7, 8, -5), (12, 12, 10))], [plate]).mm == 2.0
    assert clearance([Prism(2, Round(10, 10, 10, 10, 4), 0, 9)], [plate]).mm == pytest.approx(1.0)
    # Above the plate, over the hole: 3 up and 2 sideways.
    assert clearance([box((7, 8, 8), (12, 12, 10))], [plate]).mm == pytest.approx(hypot(3, 2))


def test_a_slanted_edge_beside_a_corner() -> None:
    # The line from (0, 10) to (10, 0) passes the corner (9, 9) at 8 / sqrt 2.
    wedge = Prism(2, Poly(((0, 0), (10, 0), (0, 10))), 0, 1)
    assert clearance([wedge], [box((9, 9, 0), (20, 20, 1))]).mm == pytest.approx(8 / sqrt(2))


def test_bars_across_each_other() -> None:
    upright = Prism(2, Round(0, 0, 0, 0, 5), -50, 50)
    lying = Prism(0, Round(20, 0, 20, 0, 7), -50, 50)
    # Their axes pass at 20 mm.
    found = clearance([upright], [lying])
    assert found.mm == pytest.approx(8.0, abs=1e-6)
    assert found.point_a == pytest.approx((0, 5, 0), abs=1e-3)
    assert found.point_b == pytest.approx((0, 13, 0), abs=1e-3)


def test_the_rim_of_a_bar_above_another() -> None:
    upright = Prism(2, Round(0, 0, 0, 0, 5), -50, 0)
    lying = Prism(0, Round(3, 11, 3, 11, 7), 2, 50)
    # The disc's top at z = 0 runs under the bar's y-range: 2 mm from its end along x from where
    # the disc reaches x = 0 <= 2, i.e. at y = 3 the disc is at x = 4 > 2: only 4 mm in z count.
    assert clearance([upright], [lying]).mm == pytest.approx(4.0, abs=1e-6)
    away = shifted(lying, (5, 0, 0))
    # Now its end stands at x = 7. Seen along y the two are 7 - x(y) and 4 + (7 - sqrt(49 -
    # (y - 3)^2)) apart; at y = 0 that is 2 and 11 - sqrt 40, but y may differ on both.
    found = clearance([upright], [away]).mm
    steps = [k / 4000 for k in range(-12000, 12001)]
    disc = [(y, max(0.0, 7 - sqrt(max(0.0, 25 - y * y)))) for y in steps if abs(y) <= 5]
    brute = min(hypot(u, max(0.0, hypot(y - 3, 11) - 7)) for y, u in disc)
    assert found == pytest.approx(brute, abs=1e-6)


def test_what_lies_inside_the_others_interval_is_filled() -> None:
    # A plate that is wider than the bar across it: its edges are 13 mm and more away along x,
    # its face 2 mm along z. Without the filled strip between, 13 would be found.
    plate = Prism(2, Poly(((-20, 0), (20, 0), (18, 10), (-18, 10))), 0, 5)
    bar = Prism(0, Poly(((2, 7), (8, 7), (5, 12))), -3, 3)
    found = clearance([plate], [bar])
    assert found.mm == pytest.approx(2.0)
    assert found.point_a is not None
    assert found.point_a[2] == 5
    assert -3 <= found.point_a[0] <= 3


def test_wedges_across_each_other() -> None:
    # A's slanted edge in x-y: x + y = 10; the bar begins at x = 12, spans y 0..4 at z = 0..1.
    wedge = Prism(2, Poly(((0, 0), (10, 0), (0, 10))), 0, 1)
    bar = Prism(0, Poly(((0, 0), (4, 0), (0, 1))), 12, 20)
    assert clearance([wedge], [bar]).mm == pytest.approx(2.0)
    # Raised by 3 and moved in y by 5: from (x, y) on the edge to (12, 5, 3) or beyond. On the
    # edge u = 2 + y, so d^2 = (2 + y)^2 + (5 - y)^2 + (3 - 1)^2, least at y = 1.5: 24.5 + 4.
    far = shifted(bar, (0, 5, 3))
    assert clearance([wedge], [far]).mm == pytest.approx(sqrt(28.5))


def test_signed_gap_is_minus_the_parting_shift_when_room_is_shared() -> None:
    assert signed_gap_mm([CUBE], [box((12, 0, 0), (20, 10, 10))]) == 2.0
    assert signed_gap_mm([CUBE], [box((10, 0, 0), (20, 10, 10))]) == 0.0
    assert signed_gap_mm([CUBE], [box((9, 0, 0), (20, 10, 10))]) == -1.0


@pytest.mark.parametrize("scale", [0.001, 1.0, 1000.0])
def test_round_bars_of_different_axes_stay_within_the_stated_bound(scale: float) -> None:
    upright = Prism(2, Round(0, 0, 4 * scale, 0, 5 * scale), 0, 7 * scale)
    for step in range(9):
        y, z = (9 + 1.7 * step) * scale, (13 - 0.9 * step) * scale
        lying = Prism(0, Round(y, z, y, z + 3 * scale, 2 * scale), (7 + step) * scale, 30 * scale)
        # Minimise along the disc's rim, where the far bar's distance has a closed form.
        found = clearance([upright], [lying]).mm
        best = inf
        lo, hi = -5.0, 5.0
        for _ in range(12):
            ys = [lo + (hi - lo) * k / 400 for k in range(401)]
            gaps = [
                hypot(
                    max(0.0, 7 + step - 4 - sqrt(max(0.0, 25 - v * v))),
                    max(0.0, hypot(y / scale - v, max(0.0, z / scale - 7)) - 2),
                )
                for v in ys
            ]
            k = gaps.index(min(gaps))
            best = min(best, gaps[k])
            lo, hi = ys[max(k - 2, 0)], ys[min(k + 2, 400)]
        assert found == pytest.approx(best * scale, abs=1e-6)
