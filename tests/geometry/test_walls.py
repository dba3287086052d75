"""Walls as solids: what they fill, what they are called, what is cut out of them.

Volumes and shared room are compared with manifold3d, a general solid-modelling library.
"""

from __future__ import annotations

from itertools import combinations
from math import pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from prism_oracles import shared, solid
from small_rooms import room, row, zone

from catalog.enclosure import Enclosure, Opening, Panel
from catalog.shapes import Box, Cylinder, Extrusion, Shape, Stadium
from geometry.measures.prism import Prism, box
from geometry.measures.rings import SIDES_OF_A_CIRCLE
from geometry.part_solids import shape_prism
from geometry.walls import BEYOND_MM, Walls, enclosure_walls

SIZE = (300.0, 200.0, 100.0)


def filled(prisms: tuple[Prism, ...]) -> float:
    """The volume of a union of prisms, by manifold3d (mm3)."""
    return float(solid(prisms).volume())


def by_owner(walls: Walls) -> dict[str, tuple[Prism, ...]]:
    return {s.owner: s.prisms for s in walls.solids}


def test_a_plain_box_has_six_walls_that_meet_at_its_edges() -> None:
    walls = enclosure_walls(room(SIZE))
    # Floor and roof take the corners, then rear and front, then the sides.
    assert {s.owner: (s.name, s.bounds) for s in walls.solids} == {
        "floor": ("floor", (-2, -2, -2, 302, 202, 0)),
        "roof": ("roof", (-2, -2, 100, 302, 202, 102)),
        "rear": ("rear wall", (-2, -2, 0, 0, 202, 100)),
        "front": ("front wall", (300, -2, 0, 302, 202, 100)),
        "access": ("access-side wall", (0, -2, 0, 300, 0, 100)),
        "far": ("far-side wall", (0, 200, 0, 300, 202, 100)),
    }
    assert all(len(s.prisms) == 1 and s.prisms[0].is_box and s.fixed for s in walls.solids)
    assert walls.cavity == (0, 0, 0, 300, 200, 100)
    # 304 x 204 x 104 outside, 300 x 200 x 100 inside.
    total = sum(filled(s.prisms) for s in walls.solids)
    assert total == pytest.approx(304 * 204 * 104 - 300 * 200 * 100)


def test_the_same_enclosure_gives_the_same_walls() -> None:
    one, other = room(SIZE), room(SIZE)
    assert enclosure_walls(one) is enclosure_walls(one)
    assert enclosure_walls(one) is not enclosure_walls(other)


def test_a_stepped_cavity_has_a_step() -> None:
    # A second block on top of the first, only half as long: the step is 150 x 200 x 40.
    stepped = room(
        SIZE,
        cavity=(
            Box(at_mm=(0, 0, 0), size_mm=(300, 200, 60)),
            Box(at_mm=(0, 0, 60), size_mm=(150, 200, 40)),
        ),
    )
    step = by_owner(enclosure_walls(stepped))["step"]
    assert [p.bounds for p in step] == [(150, 0, 60, 300, 200, 100)]


def test_a_box_opening_is_cut_out_exactly() -> None:
    grille = Opening(
        id="g", name="g", wall="roof", shape=Box(at_mm=(50, 50, 99), size_mm=(60, 40, 5))
    )
    walls = enclosure_walls(room(SIZE, openings=(grille,)))
    roof = by_owner(walls)["roof"]
    assert all(p.is_box for p in roof)
    assert filled(roof) == pytest.approx(304 * 204 * 2 - 60 * 40 * 2)
    assert sum(filled((p,)) for p in roof) == pytest.approx(304 * 204 * 2 - 60 * 40 * 2)


@pytest.mark.parametrize(
    ("wall", "axis", "at_mm"),
    [("roof", "z", (100.0, 100.0, 99.0)), ("front", "x", (299.0, 100.0, 50.0)),
     ("far", "y", (100.0, 199.0, 50.0))],
)  # fmt: skip
def test_a_round_opening_is_cut_through_any_wall(
    wall: str, axis: str, at_mm: tuple[float, float, float]
) -> None:
    hole = Cylinder(axis=axis, at_mm=at_mm, diameter_mm=60.0, length_mm=5.0)  # type: ignore[arg-type]
    grille = Opening(id="g", name="g", wall=wall, shape=hole)  # type: ignore[arg-type]
    whole = by_owner(enclosure_walls(room(SIZE)))[wall]
    cut = by_owner(enclosure_walls(room(SIZE, openings=(grille,))))[wall]
    taken = filled(whole) - filled(cut)
    # The polygon lies inside the circle: never more than the hole, and 0.1 % less at most.
    assert 0.999 * pi * 30**2 * 2 <= taken <= pi * 30**2 * 2


def test_a_stadium_opening_keeps_its_straight_sides() -> None:
    slot = Stadium(
        axis="z", along="x", at_mm=(100.0, 100.0, 99.0), overall_mm=80.0, diameter_mm=20.0,
        length_mm=5.0,
    )  # fmt: skip
    cut = by_owner(
        enclosure_walls(room(SIZE, openings=(Opening(id="g", name="g", wall="roof", shape=slot),)))
    )["roof"]
    taken = 304 * 204 * 2 - filled(cut)
    area = 60 * 20 + pi * 10**2
    assert 0.999 * area * 2 <= taken <= area * 2


PROFILE = Extrusion(
    axis="x",
    outline_mm=((0, 0), (200, 0), (200, 60), (160, 100), (0, 100)),
    from_mm=0,
    to_mm=300,
)
"""A cavity with one slanted corner along x."""


def test_a_slanted_cavity_makes_a_slanted_step_and_plain_walls() -> None:
    walls = by_owner(enclosure_walls(room(SIZE, cavity=(PROFILE,))))
    # The corner is a triangle of 40 x 40.
    assert filled(walls["step"]) == pytest.approx(40 * 40 / 2 * 300)
    assert all(p.is_box for name, prisms in walls.items() if name != "step" for p in prisms)


def test_a_round_opening_through_a_slanted_wall_is_never_overstated() -> None:
    # A hole of 20 mm along y meets the slanted corner where it is 40 mm high: at y + z = 260 it
    # runs through material from there to y = 200. The exact volume is by manifold3d.
    hole = Cylinder(axis="y", at_mm=(100.0, 150.0, 80.0), diameter_mm=20.0, length_mm=60.0)
    grille = Opening(id="g", name="g", wall="far", shape=hole)
    whole = by_owner(enclosure_walls(room(SIZE, cavity=(PROFILE,))))["step"]
    cut = by_owner(enclosure_walls(room(SIZE, cavity=(PROFILE,), openings=(grille,))))["step"]
    exact = shared(solid(whole), solid((shape_prism(hole),), "outside"))
    taken = filled(whole) - filled(cut)
    # Slices of 20/64 mm at the ends of a chord leave out up to 3 % of this hole.
    assert 0.97 * exact <= taken <= exact


def test_a_round_cavity_is_drawn_inside_its_circle() -> None:
    tube = room(
        (200.0, 200.0, 100.0),
        cavity=(Cylinder(axis="z", at_mm=(100, 100, 0), diameter_mm=200, length_mm=100),),
    )
    walls = enclosure_walls(tube)
    step = filled(by_owner(walls)["step"])
    exact = (200 * 200 - pi * 100**2) * 100
    n = SIDES_OF_A_CIRCLE
    polygon = n / 2 * 100**2 * sin(2 * pi / n)
    assert step == pytest.approx((200 * 200 - polygon) * 100)
    assert step > exact


def test_what_lies_beyond_goes_round_the_outer_shape_and_into_its_recesses() -> None:
    # An outer shape of two blocks leaves a corner of its bounds free: that is outside too.
    stepped = room(
        SIZE,
        outer=(
            Box(at_mm=(-2, -2, -2), size_mm=(304, 204, 64)),
            Box(at_mm=(-2, -2, 62), size_mm=(154, 204, 40)),
        ),
        cavity=(
            Box(at_mm=(0, 0, 0), size_mm=(300, 200, 60)),
            Box(at_mm=(0, 0, 60), size_mm=(150, 200, 40)),
        ),
    )
    beyond = enclosure_walls(stepped).beyond
    corner = box((200, 50, 70), (250, 100, 90))
    assert shared(solid(beyond.prisms), solid((corner,))) == pytest.approx(50 * 50 * 20)
    assert beyond.bounds == (-BEYOND_MM,) * 3 + (BEYOND_MM,) * 3


def test_panels_and_ledges_hold_what_is_bolted_to_them() -> None:
    lid = Panel(id="lid", name="lid", wall="roof")
    ledge = zone("ledge", "floor", (160, 40, 60), "+x", "+y", row(1))
    stepped = room(
        SIZE,
        [ledge],
        cavity=(
            Box(at_mm=(0, 0, 60), size_mm=(300, 200, 40)),
            Box(at_mm=(0, 0, 0), size_mm=(150, 200, 60)),
        ),
        panels=(lid,),
    )
    holds = {s.owner: set(s.holds) for s in enclosure_walls(stepped).solids}
    assert holds["roof"] == {"lid"}
    assert holds["step"] == {"floor"}
    assert holds["floor"] == set()


COORDINATES = st.integers(0, 10).map(lambda k: 10.0 * k)


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    low = [draw(COORDINATES) for _ in range(3)]
    size = [draw(st.integers(1, 6)) * 10.0 for _ in range(3)]
    return Box(at_mm=tuple(low), size_mm=tuple(size))  # type: ignore[arg-type]


@st.composite
def extrusions(draw: st.DrawFn) -> Extrusion:
    """A triangle or a slanted quadrangle along z."""
    a, b = draw(COORDINATES), draw(COORDINATES)
    w, h, s = (draw(st.integers(1, 5)) * 10.0 for _ in range(3))
    outline = draw(
        st.sampled_from(
            [
                ((a, b), (a + w, b), (a, b + h)),
                ((a, b), (a + w, b), (a + w + s, b + h), (a + s, b + h)),
            ]
        )
    )
    low = draw(COORDINATES)
    return Extrusion(
        axis="z", outline_mm=outline, from_mm=low, to_mm=low + draw(st.integers(1, 5)) * 10.0
    )


def any_room(cavity: list[Shape], openings: list[Box]) -> Enclosure:
    return Enclosure(
        id="any",
        name="Any",
        cavity=tuple(cavity),
        outer=(Box(at_mm=(-5, -5, -5), size_mm=(230, 230, 230)),),
        openings=tuple(
            Opening(id=f"o{k}", name="o", wall="roof", shape=shape)
            for k, shape in enumerate(openings)
        ),
    )


@settings(max_examples=40)
@given(
    st.lists(st.one_of(boxes(), extrusions()), min_size=1, max_size=3),
    st.lists(boxes(), max_size=2),
)
def test_walls_fill_exactly_what_is_neither_cavity_nor_opening(
    cavity: list[Shape], openings: list[Box]
) -> None:
    walls = enclosure_walls(any_room(cavity, openings))
    hollow = solid(tuple(shape_prism(s) for s in (*cavity, *openings)))
    block = solid((box((-5, -5, -5), (225, 225, 225)),))
    expected = float((block - hollow).volume())
    prisms = [p for s in walls.solids for p in s.prisms]
    assert sum(filled((p,)) for p in prisms) == pytest.approx(expected, abs=1e-3)
    assert filled(tuple(prisms)) == pytest.approx(expected, abs=1e-3)
    assert shared(solid(tuple(prisms)), hollow) == pytest.approx(0.0, abs=1e-3)


@settings(max_examples=40)
@given(st.lists(st.one_of(boxes(), extrusions()), min_size=1, max_size=3))
def test_named_walls_do_not_overlap_and_lie_on_their_sides(cavity: list[Shape]) -> None:
    walls = enclosure_walls(any_room(cavity, []))
    c = walls.cavity
    for s in walls.solids:
        b = s.bounds
        assert {
            "floor": b[5] <= c[2],
            "roof": b[2] >= c[5],
            "rear": b[3] <= c[0],
            "front": b[0] >= c[3],
            "access": b[4] <= c[1],
            "far": b[1] >= c[4],
            "step": all(b[k] >= c[k] and b[k + 3] <= c[k + 3] for k in range(3)),
        }[s.owner]
    for one, other in combinations(walls.solids, 2):
        assert shared(solid(one.prisms), solid(other.prisms)) == pytest.approx(0.0, abs=1e-6)
