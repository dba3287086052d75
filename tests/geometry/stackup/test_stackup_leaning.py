"""Openings in a leaning piece of a wall, along its axis and across it, in any order.

Worked by hand, and against rooms built anew with every corner of what may be off.
"""

from __future__ import annotations

import pytest
from every_corner import gap_of, none_under
from mixed_openings import crossed_room, leaning, mixed_room
from roof_openings import shares

from catalog.shapes import Box, Cylinder, Shape

LEANING = "step"
"""Whose solid the leaning piece of a wall is."""


# ---- worked by hand: a wall from x = 200 at the floor to 210 at z = 200, a block in y and z ----


def slot(y: float, z: float, wide: float, high: float) -> Box:
    return Box(at_mm=(150, y, z), size_mm=(100, wide, high))


@pytest.mark.parametrize("bore_z", [None, 150.0, 130.0])
@pytest.mark.parametrize("first", [True, False])
def test_an_end_of_a_slot_along_the_axis_is_off(bore_z: float | None, first: bool) -> None:
    # The block from y = 90 to 110, the slot from 88 to 110.6: 0.6 is left. Off are the slot by 0.3
    # (88) and 0.2 (22.6 wide), the block by 0.3 (100) and half of 0.2 (20 wide). A bore above it
    # is another matter.
    shapes: list[Shape] = [slot(88, 50, 22.6, 75)]
    if bore_z is not None:
        bore = Cylinder(axis="x", at_mm=(150, 100, bore_z + 5), diameter_mm=20, length_mm=100)
        shapes.insert(1 if first else 0, bore)
    figure = gap_of(leaning(10, (120, 20, 20), *shapes), LEANING)
    own = "o0" if first or bore_z is None else "o1"
    path = f"openings[{own[1]}].shape"
    assert figure.nominal.nominal_mm == pytest.approx(0.6)
    assert figure.worst.worst_mm == pytest.approx(0.6 - 0.9)
    assert shares(figure.worst) == {
        ("P", "at_mm[1]"): 0.3,
        (own, f"{path}.at_mm[1]"): 0.3,
        (own, f"{path}.size_mm[1]"): 0.2,
        ("P", "width_mm"): 0.1,
    }


def test_a_web_between_two_bores_goes_with_that_in_which_one_stands() -> None:
    # A bore of 40 round a block of 20 by 20, and one of 20 beside it, with a web of 3 between.
    bores = [
        Cylinder(axis="x", at_mm=(150, y, 100), diameter_mm=mm, length_mm=100)
        for y, mm in ((133, 20), (100, 40))
    ]
    alone = gap_of(leaning(10, (120, 30, 6), bores[1]), LEANING)
    both = gap_of(leaning(10, (120, 30, 6), *bores), LEANING)
    assert {one.owner for one in both.worst.contributors} == {"P", "o1"}
    assert both.worst.worst_mm == pytest.approx(alone.worst.worst_mm, abs=1e-3)


# ---- against rooms built anew ----


def test_no_gap_in_a_leaning_wall_goes_below_its_worst_case() -> None:
    count, low_mm = none_under(range(16), mixed_room, LEANING, axis="x", many=3)
    assert count >= 12
    assert low_mm < 0.2


@pytest.mark.nightly
def test_no_gap_in_many_leaning_walls_goes_below_its_worst_case() -> None:
    count, low_mm = none_under(range(1000, 1400), mixed_room, LEANING, axis="x", many=5)
    assert count >= 350
    assert low_mm < 0.2


def test_no_gap_between_openings_cut_across_each_other_goes_below_its_worst_case() -> None:
    count, low_mm = none_under(range(12), crossed_room, LEANING, axis="x", many=3)
    assert count >= 10
    assert low_mm < 0.5


@pytest.mark.nightly
def test_no_gap_between_many_openings_cut_across_each_other_goes_below_its_worst_case() -> None:
    count, low_mm = none_under(range(1000, 1150), crossed_room, LEANING, axis="x", many=5)
    assert count >= 130
    assert low_mm < 0.5
