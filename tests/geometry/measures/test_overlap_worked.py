"""Overlap worked by hand: shared volumes, parting shifts, what is seen of them."""

from __future__ import annotations

from math import acos, pi, sqrt

import pytest

from geometry.measures.overlap import (
    Shift,
    overlap_regions,
    overlap_volume_mm3,
    parting_shift,
    shares_room,
    ways_out_mm,
)
from geometry.measures.pose import Way
from geometry.measures.prism import Poly, Prism, Rect, Round, box, shifted
from geometry.measures.regions import overlap_rects
from geometry.measures.tolerance import LENGTH_EPS_MM

MINUS_X, PLUS_X = Way(0, -1), Way(0, 1)
MINUS_Y, PLUS_Y = Way(1, -1), Way(1, 1)
PLUS_Z = Way(2, 1)
CUBE = box((0, 0, 0), (10, 10, 10))
RING = Poly(((0, 0), (10, 0), (10, 10), (0, 10)), (((3, 3), (3, 7), (7, 7), (7, 3)),))
L_SHAPE = Poly(((0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10)))


def test_two_blocks_that_share_a_corner() -> None:
    other = box((9, 6, 7), (20, 20, 20))
    # Shared room 1 x 4 x 3; least way out 1 mm along -x.
    assert overlap_volume_mm3([CUBE], [other]) == 12.0
    assert parting_shift([CUBE], [other]) == Shift(MINUS_X, 1.0)
    assert parting_shift([CUBE], [other]).vector == (-1.0, 0.0, 0.0)  # type: ignore[union-attr]
    assert parting_shift([other], [CUBE]) == Shift(PLUS_X, 1.0)


def test_all_six_ways_out() -> None:
    inner = box((2, 3, 4), (6, 7, 8))
    # To -x its right face goes from 6 to 0, to +x its left one from 2 to 10, and so on.
    assert ways_out_mm([inner], [CUBE]) == (6.0, 8.0, 7.0, 7.0, 8.0, 6.0)
    # Another block behind, entered on the way to +x, has to be left too.
    behind = box((9, 0, 0), (15, 10, 10))
    assert ways_out_mm([inner], [CUBE, behind]) == (6.0, 13.0, 7.0, 7.0, 8.0, 6.0)
    assert ways_out_mm([inner], [box((6, 0, 0), (9, 9, 9))]) is None


def test_a_solid_inside_another_is_parted_by_the_way_out_not_by_the_faces_in_between() -> None:
    inner = box((2, 3, 4), (6, 7, 8))
    # Out by -x: its right face from 6 to 0; by +z: its floor from 4 to 10; by +x 8, +y 7.
    assert overlap_volume_mm3([inner], [CUBE]) == 64.0
    assert parting_shift([inner], [CUBE]) == Shift(MINUS_X, 6.0)


def test_ties_go_to_x_then_to_minus() -> None:
    inner = box((3, 3, 3), (7, 7, 7))
    assert parting_shift([inner], [CUBE]) == Shift(MINUS_X, 7.0)
    assert parting_shift([CUBE], [inner]) == Shift(MINUS_X, 7.0)
    # 2 mm out along +y and along -z: y comes first, although z's minus comes before y's plus.
    other = box((0, 8, -8), (10, 18, 2))
    assert parting_shift([other], [CUBE]) == Shift(PLUS_Y, 2.0)


def test_a_tie_is_found_behind_a_prism_that_only_seems_to_be_in_the_way() -> None:
    # Out along -x are 5 mm, along -y half the tolerance less: a tie, so x. On the way along -x the
    # bounds of the wedge are met, but not the wedge: at y = 10 it is only 0.38 mm wide.
    corner = box((5, 5 + 5e-7, -50), (60, 60, 50))
    wedge = Prism(2, Poly(((-9, 30), (-1, 30), (-9, 9))), -50, 50)
    assert parting_shift([CUBE], [corner, wedge]) == Shift(Way(0, -1), 5.0)


def test_faces_that_touch_share_no_room() -> None:
    other = box((10, 0, 0), (20, 10, 10))
    assert overlap_volume_mm3([CUBE], [other]) == 0.0
    assert parting_shift([CUBE], [other]) is None
    assert not shares_room([CUBE], [other])


def test_room_is_shared_only_beyond_the_length_tolerance() -> None:
    within = shifted(CUBE, (10 - LENGTH_EPS_MM / 2, 0, 0))
    beyond = shifted(CUBE, (10 - LENGTH_EPS_MM * 2, 0, 0))
    assert parting_shift([CUBE], [within]) is None
    assert parting_shift([CUBE], [beyond]) == Shift(MINUS_X, pytest.approx(LENGTH_EPS_MM * 2))


def test_a_shift_that_clears_one_pair_and_enters_another_does_not_part() -> None:
    right, left = box((8, 0, 0), (12, 10, 10)), box((-3, 0, 0), (-1, 10, 10))
    # Against `right` alone -2 along x would do; there the cube stands in `left`, from which only
    # -13 frees it. +12 along x clears `right`; along y and z it takes 10.
    assert parting_shift([CUBE], [right]) == Shift(MINUS_X, 2.0)
    assert parting_shift([CUBE], [right, left]) == Shift(MINUS_Y, 10.0)
    tall = [box((x0, -50, -50), (x1, 60, 60)) for x0, x1 in ((8, 12), (-3, -1))]
    assert parting_shift([CUBE], tall) == Shift(PLUS_X, 12.0)


def test_a_pocket_counts_as_parted() -> None:
    right, left = box((8, 0, 0), (12, 10, 10)), box((-6, 0, 0), (-4, 10, 10))
    # -2 clears `right`, and `left` begins 4 mm further: a pocket 2 mm longer than the cube.
    assert parting_shift([CUBE], [right, left]) == Shift(MINUS_X, 2.0)


def test_a_pocket_of_exactly_the_size_counts_too() -> None:
    right, left = box((8, 0, 0), (12, 10, 10)), box((-6, 0, 0), (-2, 10, 10))
    assert parting_shift([CUBE], [right, left]) == Shift(MINUS_X, 2.0)
    closer = box((-6, 0, 0), (-1.99, 10, 10))
    assert parting_shift([CUBE], [right, closer]) == Shift(MINUS_Y, 10.0)


def test_a_pocket_in_one_polygon() -> None:
    # A channel 4 wide between two cheeks; a 3 mm bar stands 1 mm in the left cheek, and the
    # cheeks reach far beyond it along y and z.
    channel = Prism(
        2, Poly(((0, 0), (12, 0), (12, 90), (8, 90), (8, 2), (4, 2), (4, 90), (0, 90))), -50, 50
    )
    bar = box((3, 40, -10), (6, 50, 10))
    assert parting_shift([bar], [channel]) == Shift(PLUS_X, 1.0)


def test_in_a_cavity_made_of_several_prisms() -> None:
    # A shelf of walls that share an axis, all round a 20 x 20 room; the cube stands 3 mm in the
    # right wall and moves back into the room, not out through the wall.
    walls = [
        Prism(2, Rect(-5, -5, 0, 25), 0, 10),
        Prism(2, Rect(20, -5, 25, 25), 0, 10),
        Prism(2, Rect(0, -5, 20, 0), 0, 10),
        Prism(2, Rect(0, 20, 20, 25), 0, 10),
    ]
    assert parting_shift([shifted(CUBE, (13, 5, 0))], walls) == Shift(MINUS_X, 3.0)
    assert parting_shift([shifted(CUBE, (10, 10, 0))], walls) is None
    assert parting_shift([shifted(CUBE, (10, 10, 0))], [Prism(2, RING, 0, 10)]) is None


def test_volumes_of_unions_are_not_summed_twice() -> None:
    twice = [CUBE, box((5, 0, 0), (15, 10, 10))]
    other = box((0, 0, 0), (15, 10, 4))
    assert overlap_volume_mm3(twice, [other]) == 600.0
    assert overlap_volume_mm3(twice, [other, CUBE]) == pytest.approx(1000.0 + 5 * 10 * 4)
    assert overlap_volume_mm3([CUBE, CUBE], [CUBE, CUBE]) == 1000.0


def test_a_peg_in_a_hole_and_a_peg_in_the_rim() -> None:
    plate = Prism(2, RING, 0, 5)
    assert overlap_volume_mm3([box((3, 3, -10), (7, 7, 10))], [plate]) == 0.0
    assert parting_shift([box((3, 3, -10), (7, 7, 10))], [plate]) is None
    # 1 mm too far right: 1 x 4 x 5 in the rim, and back by 1 mm.
    late = [box((4, 3, -10), (8, 7, 10))]
    assert overlap_volume_mm3(late, [plate]) == pytest.approx(20.0)
    assert parting_shift(late, [plate]) == Shift(MINUS_X, 1.0)


def test_the_notch_of_a_concave_outline_is_free() -> None:
    angle = Prism(2, L_SHAPE, 0, 10)
    assert parting_shift([box((4, 4, 0), (9, 9, 10))], [angle]) is None
    # The block reaches 1 mm into the upright leg and 2 mm into the lying one.
    deep = [box((3, 2, 0), (9, 9, 10))]
    # 1 x 7 of the upright leg beside 5 x 2 of the lying one (the corner counted with the leg):
    # x 3..4, y 2..9 is 7; x 4..9, y 2..4 is 10.
    assert overlap_volume_mm3(deep, [angle]) == pytest.approx(170.0)
    # Along +x the lying leg is left only at x = 10, 7 mm on; along +y the upright one at y = 10,
    # 8 mm on; along -x the whole angle, 9; along z 10.
    assert parting_shift(deep, [angle]) == Shift(PLUS_X, 7.0)


def test_two_circles_share_a_lens() -> None:
    one, other = Prism(2, Round(0, 0, 0, 0, 5), 0, 10), Prism(2, Round(6, 0, 6, 0, 5), 4, 20)
    # Circle-circle intersection: 2 r^2 acos(d / 2r) - d/2 sqrt(4 r^2 - d^2).
    lens = 2 * 25 * acos(0.6) - 3 * sqrt(100 - 36)
    assert overlap_volume_mm3([one], [other]) == pytest.approx(lens * 6, rel=1e-12)
    assert parting_shift([one], [other]) == Shift(MINUS_X, pytest.approx(4.0))


def test_a_stadium_across_a_circle() -> None:
    stadium = Prism(2, Round(-20, 0, 20, 0, 3), 0, 1)
    circle = Prism(2, Round(0, 0, 0, 0, 5), 0, 1)
    # The band |y| < 3 of a circle of 5: 2 (3 sqrt(25 - 9) + 25 asin(3/5)).
    band = 2 * (3 * 4 + 25 * (pi / 2 - acos(0.6)))
    assert overlap_volume_mm3([stadium], [circle]) == pytest.approx(band, rel=1e-12)
    # 3 + 5 along y; along z only 1.
    assert parting_shift([stadium], [circle]) == Shift(Way(2, -1), 1.0)


def test_a_circle_beside_a_corner_is_parted_along_an_axis() -> None:
    # Centre 3 left of and 4 below the corner, radius 5.5: leftwards the corner lies on the half
    # chord sqrt(5.5^2 - 4^2), 0.77 out; downwards on sqrt(5.5^2 - 3^2), 0.61 out.
    circle, corner = Prism(2, Round(-3, -4, -3, -4, 5.5), -50, 50), box((0, 0, -50), (90, 90, 50))
    assert parting_shift([circle], [corner]) == Shift(MINUS_Y, pytest.approx(sqrt(5.5**2 - 9) - 4))


def test_two_bars_across_each_other_share_the_bicylinder_of_archimedes() -> None:
    r = 5.0
    upright = Prism(2, Round(0, 0, 0, 0, r), -10, 10)
    across = Prism(0, Round(0, 0, 0, 0, r), -10, 10)
    # 16/3 r^3, after Archimedes, The Method.
    assert overlap_volume_mm3([upright], [across]) == pytest.approx(16 / 3 * r**3, rel=1e-9)
    # Out along y they clear each other at once; along their own axes only at their ends.
    assert parting_shift([upright], [across]) == Shift(MINUS_Y, pytest.approx(10.0))


def test_bars_along_all_three_axes() -> None:
    r = 5.0
    x, y, z = (Prism(k, Round(0, 0, 0, 0, r), -10, 10) for k in range(3))
    # (z or x) and y: twice the bicylinder less the tricylinder 8 (2 - sqrt 2) r^3.
    both = 2 * 16 / 3 * r**3 - 8 * (2 - sqrt(2)) * r**3
    assert overlap_volume_mm3([z, x], [y]) == pytest.approx(both, rel=1e-8)


def test_a_wedge_across_a_wedge() -> None:
    # Upright: y < x <= 6 (triangle in x-y); lying along x: z < y (triangle in y-z), y <= 6.
    upright = Prism(2, Poly(((0, 0), (6, 0), (6, 6))), 0, 6)
    lying = Prism(0, Poly(((0, 0), (6, 0), (6, 6))), 0, 6)
    # 0 < z < y < x < 6: one sixth of the cube.
    assert overlap_volume_mm3([upright], [lying]) == pytest.approx(36.0, rel=1e-12)


@pytest.mark.parametrize("scale", [0.001, 1.0, 1000.0])
def test_figures_scale_with_the_scene(scale: float) -> None:
    angle = Prism(1, Poly(tuple((a * scale, b * scale) for a, b in L_SHAPE.shell)), 0, 10 * scale)
    peg = Prism(1, Round(4 * scale, 5 * scale, 4 * scale, 5 * scale, 2 * scale), 0, 20 * scale)
    # Half of the circle lies left of x = 4, where the upright leg is; below y = 4 a further bit.
    segment = 4 * acos(0.5) - 1 * sqrt(3)
    area = 2 * pi + segment / 2
    assert overlap_volume_mm3([peg], [angle]) == pytest.approx(area * 10 * scale**3, rel=1e-9)


def test_what_two_views_seem_to_share_need_not_be_shared() -> None:
    lower, upper = box((0, 0, 0), (10, 10, 10)), box((0, 20, 20), (10, 30, 30))
    other = box((0, 20, 0), (10, 30, 10))
    # From the side `other` covers `lower`, from below it covers `upper`; in space it meets none.
    assert overlap_regions([lower], [other], 1) == []
    side = [p.bounds[0] < other.bounds[3] and p.bounds[2] < other.bounds[5] for p in (lower, upper)]
    assert side == [True, False]
    assert overlap_volume_mm3([lower, upper], [other]) == 0.0
    assert parting_shift([lower, upper], [other]) is None


def test_regions_to_hatch_are_the_shared_room_as_seen() -> None:
    other = box((9, 6, 7), (20, 20, 20))
    seen = [overlap_regions([CUBE], [other], axis) for axis in range(3)]
    assert [[r.bounds for r in regions] for regions in seen] == [
        [(6, 7, 10, 10)],
        [(9, 7, 10, 10)],
        [(9, 6, 10, 10)],
    ]


def test_regions_of_bars_across_each_other() -> None:
    upright = Prism(2, Round(0, 0, 0, 0, 5), -10, 10)
    across = Prism(0, Poly(((-3, -2), (3, -2), (0, 6))), -20, 20)
    seen = [overlap_regions([upright], [across], axis) for axis in range(3)]
    # Along x the triangle is seen whole (24 mm^2), along z the circle between y = -3 and 3,
    # along y the height of the triangle times the circle's width at the apex's level y = 0.
    band = 2 * (3 * 4 + 25 * (pi / 2 - acos(0.6)))
    assert [sum(r.area for r in regions) for regions in seen] == [
        pytest.approx(24.0),
        pytest.approx(80.0, rel=2e-3),
        pytest.approx(band, rel=2e-3),
    ]


@pytest.mark.parametrize(
    ("block", "wide"),
    [
        # A circle of radius 5 round (y, z) = (0, 0), 20 long. Over y = 3 and 4 half its chords are
        # 4 and 3; over a block that holds its middle the chord is its diameter.
        (box((5, 3, -10), (12, 20, 10)), (5, -4, 12, 4)),
        (box((5, -20, -10), (12, -4, 10)), (5, -3, 12, 3)),
        (box((5, -2, -10), (30, 20, 10)), (5, -5, 20, 5)),
        (box((5, 3, 1), (12, 20, 2)), (5, 1, 12, 2)),
    ],
)
def test_what_a_block_shares_with_a_bar_is_a_rectangle_from_the_side(
    block: Prism, wide: tuple[float, ...]
) -> None:
    bar = Prism(0, Round(0, 0, 0, 0, 5), 0, 20)
    found = overlap_rects([bar], [block], 1)
    assert found is not None
    assert [rect.bounds() for rect in found] == [wide]
    (region,) = overlap_regions([bar], [block], 1)
    assert region.bounds == pytest.approx(wide, abs=0.02)
    assert region.area == pytest.approx((wide[2] - wide[0]) * (wide[3] - wide[1]), rel=5e-3)
    assert overlap_rects([bar], [block], 0) is None


def test_a_block_in_the_corner_of_a_bars_bounds_shares_nothing_with_it() -> None:
    bar = Prism(0, Round(0, 0, 0, 0, 5), 0, 20)
    corner = box((5, 3.9, 3.9), (12, 20, 10))
    assert overlap_rects([bar], [corner], 1) == []
    assert overlap_regions([bar], [corner], 1) == []


def test_blocks_share_rectangles_in_every_view() -> None:
    other = box((9, 6, 7), (20, 20, 20))
    seen = [overlap_rects([CUBE], [other], axis) for axis in range(3)]
    assert seen == [[Rect(6, 7, 10, 10)], [Rect(9, 7, 10, 10)], [Rect(9, 6, 10, 10)]]
