"""What has been cut off an obstacle, as prisms: with what is left it is what was there before."""

from __future__ import annotations

import pytest
from small_rooms import IN_OR_OUT, block, layout, room

from catalog.enclosure import Obstacle, ObstacleState
from catalog.model import Direction
from catalog.shapes import Cylinder, Extrusion, Shape
from geometry.cut_off import CutOff, cut_off
from geometry.edits import cut_out_obstacle, set_state, trim_obstacle
from geometry.layout import Layout
from geometry.measures.prism import Prism, box
from geometry.measures.volume import overlap_volume_mm3
from geometry.part_solids import shape_prism

EVERYWHERE = [box((-1000.0,) * 3, (1000.0,) * 3)]


def of(obstacle: Obstacle) -> Layout:
    return layout(room((300, 200, 300), [], (obstacle,)), [])


def duct(**more: object) -> Obstacle:
    """A duct of 20 x 30 x 200 mm whose least corner is at (100, 50, 40)."""
    return block("duct", (100, 50, 40), (120, 80, 240), kind="duct", **more)


def shaped(shape: Shape) -> Obstacle:
    return Obstacle(id="duct", name="duct", kind="duct", shapes=(shape,))


def found(changed: Layout) -> tuple[CutOff, ...]:
    return cut_off(changed.enclosure, changed.states)


def volume_mm3(prisms: list[Prism]) -> float:
    return overlap_volume_mm3(prisms, EVERYWHERE)


@pytest.mark.parametrize(
    ("end", "bounds"),
    [
        ("-x", (100.0, 50.0, 40.0, 104.0, 80.0, 240.0)),
        ("+y", (100.0, 76.0, 40.0, 120.0, 80.0, 240.0)),
        ("+z", (100.0, 50.0, 236.0, 120.0, 80.0, 240.0)),
    ],
)
def test_what_went_from_a_block_stands_where_it_stood(
    end: Direction, bounds: tuple[float, ...]
) -> None:
    (one,) = found(trim_obstacle(of(duct()), "duct", end, 4.0))
    assert one.off_mm == 4.0
    assert [piece.bounds for piece in one.prisms] == [bounds]


@pytest.mark.parametrize(
    "shape",
    [
        Cylinder(axis="z", at_mm=(100.0, 100.0, 20.0), diameter_mm=12.0, length_mm=80.0),
        # An L in x and z, the foot of it 60 long, along y.
        Extrusion(
            axis="y",
            outline_mm=((10, 10), (70, 10), (70, 30), (30, 30), (30, 90), (10, 90)),
            from_mm=20.0,
            to_mm=50.0,
        ),
    ],
)
@pytest.mark.parametrize("end", ["+z", "-z"])
def test_a_straight_bar_is_whole_again_with_what_was_cut_off(shape: Shape, end: Direction) -> None:
    whole = volume_mm3([shape_prism(shape)])
    changed = trim_obstacle(of(shaped(shape)), "duct", end, 5.0)
    (one,) = found(changed)
    left = [shape_prism(s) for s in changed.enclosure.obstacles[0].shapes]
    assert volume_mm3(left) < whole
    assert volume_mm3([*left, *one.prisms]) == pytest.approx(whole)
    assert overlap_volume_mm3(left, one.prisms) == pytest.approx(0.0, abs=1e-6)


def test_cuts_at_one_end_add_up_and_other_ends_have_their_own() -> None:
    changed = trim_obstacle(of(duct()), "duct", "-x", 4.0)
    changed = trim_obstacle(changed, "duct", "-x", 3.0)
    changed = trim_obstacle(changed, "duct", "+z", 10.0)
    rear, upper = found(changed)
    assert [piece.bounds for piece in rear.prisms] == [(100.0, 50.0, 40.0, 107.0, 80.0, 230.0)]
    assert [piece.bounds for piece in upper.prisms] == [(107.0, 50.0, 230.0, 120.0, 80.0, 240.0)]


def test_what_was_cut_out_is_whole() -> None:
    (one,) = found(cut_out_obstacle(of(duct()), "duct"))
    assert (one.end, one.off_mm) == (None, 0.0)
    assert [piece.bounds for piece in one.prisms] == [(100.0, 50.0, 40.0, 120.0, 80.0, 240.0)]


def test_it_goes_where_its_obstacle_goes_and_is_not_shown_of_one_taken_out() -> None:
    shifted = ObstacleState(id="up", name="up", shift_mm=(0.0, 0.0, 10.0))
    changed = trim_obstacle(of(duct(states=(*IN_OR_OUT, shifted))), "duct", "+z", 4.0)
    (one,) = found(set_state(changed, "duct", "up"))
    assert one.prisms[0].bounds[2::3] == (246.0, 250.0)
    assert found(set_state(changed, "duct", "out")) == ()


def test_nothing_is_cut_off_where_nothing_was() -> None:
    assert found(of(duct())) == ()
