"""Gaps to the outer faces of walls: these are off with the outer shape, the inner ones are not.

By ISO 2768-1 class m: 0.1 up to 3 (6) mm, 0.3 over 30 up to 120, 0.5 over 120 up to 400.
"""

from __future__ import annotations

import random

import pytest
from off_layouts import Maker
from small_rooms import brick, free, layout, room

from catalog.shapes import Box, Extrusion
from geometry.layout import Held, Layout
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.solid import Solid
from geometry.scene import Scene, build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.stackup.figures import Tolerances
from geometry.stackup.stack_ups import Figure

CUBE = brick("cube", (40, 40, 40))

CAVITY = (
    Box(at_mm=(0, 0, 0), size_mm=(200, 200, 100)),
    Box(at_mm=(0, 0, 90), size_mm=(260, 200, 110)),
)
OUTER = (
    Box(at_mm=(-2, -2, -2), size_mm=(204, 204, 104)),
    Box(at_mm=(-2, -2, 88), size_mm=(264, 204, 114)),
)
RING = ((-2, -2), (202, -2), (202, 88), (262, 88), (262, 202), (-2, 202))


def standing(at: tuple[float, float, float], **shapes: object) -> Layout:
    """The cube in or before a room, 2 mm thick all round."""
    one = free("P", CUBE, at, held=Held(by="clamp", on="roof"))
    return layout(room((300, 200, 200), **shapes), [CUBE], frees=[one])


def sides(scene: Scene, wall: str) -> tuple[Solid, Solid]:
    return scene.solids_of["P"][0], next(s for s in scene.walls.solids if s.owner == wall)


def figure_of(of: Layout, wall: str) -> Figure:
    scene = build_scene(of)
    cube, other = sides(scene, wall)
    return Tolerances(scene, NO_DEPTHS).between((cube,), (other,))


def nearer_than_told(of: Layout, wall: str, figure: Figure) -> float:
    """Return by how much the gap is less than told, in rooms off at some corner; negative."""
    rng = random.Random(7)

    def at_a_limit(minus: float, plus: float) -> float:
        return rng.choice((-minus, plus))

    scenes = (build_scene(Maker(of, at_a_limit).layout()) for _ in range(150))
    pairs = (sides(scene, wall) for scene in scenes)
    least = min(signed_gap_mm(cube.prisms, other.prisms) for cube, other in pairs)
    return figure.worst.worst_mm - least


def test_over_the_roof_both_its_place_and_its_size_count() -> None:
    # Its outer face lies at -2 + 204, off by 0.1 and 0.5, the cube at 207 by 0.5.
    of = standing((150, 100, 207))
    figure = figure_of(of, "roof")
    assert (figure.nominal.nominal_mm, figure.worst.worst_mm) == pytest.approx((5.0, 3.9))
    told = {one.path: one.loss_mm for one in figure.worst.contributors}
    assert told["outer[0].at_mm[2]"] == pytest.approx(0.1)
    assert told["outer[0].size_mm[2]"] == pytest.approx(0.5)
    assert -1e-6 < -nearer_than_told(of, "roof", figure) < 0.2


def test_before_the_floor_its_place_counts_alone() -> None:
    # At -2, off by 0.1; the cube's top, at -47 + 40, by 0.3 and 0.3.
    figure = figure_of(standing((150, 100, -47)), "floor")
    assert (figure.nominal.nominal_mm, figure.worst.worst_mm) == pytest.approx((5.0, 4.3))


def test_inside_it_does_not_count() -> None:
    figure = figure_of(standing((150, 100, 155)), "roof")
    assert figure.nominal.nominal_mm == pytest.approx(5.0)
    assert not any(one.path.startswith("outer") for one in figure.worst.contributors)


@pytest.mark.parametrize(
    ("cavity", "outer"),
    [
        (CAVITY, OUTER),
        (CAVITY, (Extrusion(axis="y", outline_mm=RING, from_mm=-2, to_mm=202),)),
    ],
)
def test_in_a_recess_of_the_outer_shape(cavity: object, outer: object) -> None:
    # Under the overhang, whose lower face is at 88; the cube's top at 85, off by 0.3 and 0.3.
    of = standing((231, 100, 45), cavity=cavity, outer=outer)
    figure = figure_of(of, "step")
    assert figure.nominal.nominal_mm == pytest.approx(3.0)
    told = {one.path: one.loss_mm for one in figure.worst.contributors}
    place = "outer[1].at_mm[2]" if outer is OUTER else "outer[0].outline_mm[2][1]"
    assert told[place] == pytest.approx(0.3)
    assert figure.worst.worst_mm == pytest.approx(3.0 - 0.9)
    assert -1e-6 < -nearer_than_told(of, "step", figure) < 0.2


def test_what_stands_in_a_wall_is_out_of_it_by_what_both_its_faces_are_off() -> None:
    # Through the roof and 3 mm beyond: down out of it 2 + 3, or up 40 - 5 = 35.
    of = standing((150, 100, 201))
    figure = figure_of(of, "roof")
    # Up by 1: the roof's outer face at 202, off by 0.6, and the cube's place by 0.5.
    assert figure.nominal.nominal_mm == pytest.approx(-1.0)
    assert figure.worst.worst_mm == pytest.approx(-1.0 - 0.6 - 0.5)
