"""What one may do to a prism and get a prism: place, look at, push, grow."""

from __future__ import annotations

from math import pi

import manifold3d
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from prism_laws import WAYS, looking_along
from prism_oracles import shared, solid
from prism_worlds import polygons, poses, prisms

from geometry.measures.clearance import clearance
from geometry.measures.growth import grown
from geometry.measures.pose import IDENTITY, Pose, Way
from geometry.measures.prism import (
    PlaneMap,
    Poly,
    Prism,
    Rect,
    Round,
    box,
    place,
    shifted,
    turned,
    view,
)
from geometry.measures.strips import poly_strips

some = settings(max_examples=25)
TRIANGLE = Poly(((0, 0), (6, 0), (2, 5)))


def test_a_box_is_the_same_room_along_any_axis() -> None:
    block = box((1, 2, 3), (4, 6, 8))
    assert [turned(block, axis) for axis in range(3)] == [
        Prism(0, Rect(2, 3, 6, 8), 1, 4),
        Prism(1, Rect(1, 3, 4, 8), 2, 6),
        Prism(2, Rect(1, 2, 4, 6), 3, 8),
    ]
    with pytest.raises(ValueError, match="only a box"):
        turned(Prism(2, TRIANGLE, 0, 1), 0)


def test_placing_turns_outline_and_axis() -> None:
    # Part X along +y, part Z along +x; then part Y = Z x X lies along +z.
    pose = Pose.from_axes(Way(1, 1), Way(0, 1), (100, 200, 300))
    placed = place(Prism(2, TRIANGLE, 0, 10), pose)
    assert placed == Prism(0, Poly(((200, 300), (206, 300), (202, 305))), 100, 110)
    half_turn = Pose.from_axes(Way(0, -1), Way(2, 1))
    assert place(Prism(2, Round(1, 2, 5, 2, 1), 0, 1), half_turn) == Prism(
        2, Round(-5, -2, -1, -2, 1), 0, 1
    )


def test_identity_and_a_shift_back_change_nothing() -> None:
    prism = Prism(1, TRIANGLE, 2, 3)
    assert place(prism, IDENTITY) == prism
    assert shifted(shifted(prism, (1, 2, 4)), (-1, -2, -4)) == prism


@some
@given(polygons(1.0), st.lists(poses(), min_size=1, max_size=3))
def test_strips_of_a_moved_polygon_are_those_it_would_be_cut_into(
    outline: Poly, moves: list[Pose]
) -> None:
    moved = Prism(2, outline, 0, 1)
    for pose in moves:
        moved = place(moved, pose)
    assert isinstance(moved.outline, Poly)
    for along in (0, 1):
        fresh = poly_strips(Poly(moved.outline.shell, moved.outline.holes), along)
        got = moved.outline.strips(along)
        assert len(got) == len(fresh)
        for one, other in zip(sorted(got), sorted(fresh), strict=True):
            assert one == pytest.approx(other, abs=1e-9)


def test_moves_of_the_plane_follow_each_other() -> None:
    first = PlaneMap(-1, 3.0, 1, 5.0, swap=True)
    second = PlaneMap(1, 10.0, -1, 20.0, swap=True)
    assert second.after(first).at(2.0, 7.0) == second.at(*first.at(2.0, 7.0))


@some
@given(prisms())
def test_views_are_the_solid_projected(prism: Prism) -> None:
    for axis in range(3):
        turned_prism = place(prism, looking_along(axis))
        low, high = (solid([turned_prism], r).project().area() for r in ("inside", "outside"))
        seen = solid([Prism(axis, view(prism, axis), 0, 1)]).volume()
        assert low - 1e-5 * (1 + low) <= seen <= high + 1e-5 * (1 + high)


def test_growing_puts_the_margin_all_round() -> None:
    assert grown(box((0, 0, 0), (1, 2, 3)), 2) == Prism(2, Rect(-2, -2, 3, 4), -2, 5)
    assert grown(Prism(0, Round(0, 0, 4, 0, 1), 0, 9), 2) == Prism(0, Round(0, 0, 4, 0, 3), -2, 11)
    angle = Prism(2, TRIANGLE, 0, 1)
    assert grown(angle, 0) == angle
    with pytest.raises(ValueError, match="margin"):
        grown(angle, -1)


def test_a_hole_narrower_than_the_margin_is_grown_shut() -> None:
    rim = Poly(((0, 0), (9, 0), (9, 9), (0, 9)), (((4, 4), (4, 5), (5, 5), (5, 4)),))
    assert grown(Prism(2, rim, 0, 1), 1).outline == Poly(((-1, -1), (-1, 10), (10, 10), (10, -1)))


@some
@given(prisms(), st.sampled_from((0.001, 0.5, 3.0)), st.integers(0, 5), st.integers(0, 5))
def test_what_lies_within_the_margin_lies_in_the_grown_prism(
    prism: Prism, margin: float, i: int, j: int
) -> None:
    # The room within the margin of a corner, an edge's middle, and so on, along every axis.
    least, most = prism.bounds[:3], prism.bounds[3:]
    spot = [lo + (hi - lo) * k / 5 for lo, hi, k in zip(least, most, (i, j, i), strict=True)]
    near = clearance([box(spot, spot)], [prism])
    assert near.point_b is not None
    bigger = [grown(prism, margin)]
    for way in WAYS:
        probe = [v + d * margin * 0.999 for v, d in zip(near.point_b, way.vector, strict=True)]
        assert clearance([box(probe, probe)], bigger).mm <= 1e-9


def test_the_oracle_counts_as_we_do() -> None:
    # 6 x 5 / 2 over 4 mm, and a circle's polygon from inside and from outside.
    assert solid([Prism(1, TRIANGLE, 0, 4)]).volume() == pytest.approx(60.0)
    bar = [Prism(0, Round(0, 0, 0, 0, 5), 0, 1)]
    assert solid(bar).volume() < 25 * pi < solid(bar, "outside").volume()
    cube = [box((0, 0, 0), (2, 2, 2))]
    assert shared(solid(cube), solid([box((1, 1, 1), (5, 5, 5))])) == pytest.approx(1.0)
    assert isinstance(solid(cube), manifold3d.Manifold)
