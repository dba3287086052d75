"""What stands flush, or nearly, comes to overlap in the worst case, however the two are shaped."""

from __future__ import annotations

import random
from math import sqrt

import pytest
from flush_things import FLUSH, along_z, beside, figure_of, gap_in, near_things
from off_layouts import Maker

from catalog.model import Dimension, FrozenMap
from catalog.shapes import Box, Cylinder, Extrusion, Plug, Shape
from geometry.checks.runner import check_layout
from geometry.finding import Verdict
from geometry.layout import Layout, Settings
from geometry.scene import build_scene

FIRST_ORDER_MM = 5e-4
"""A rate is taken over a hundredth of each tolerance (`test_stackup_random`)."""


@pytest.mark.parametrize("name", FLUSH)
def test_what_stands_flush_overlaps_in_the_worst_case(name: str) -> None:
    shape, lost_mm = FLUSH[name]
    figure = figure_of(beside(shape))
    assert figure.nominal.nominal_mm == pytest.approx(0.0, abs=1e-9)
    assert figure.worst.worst_mm == pytest.approx(-lost_mm)
    assert figure.likely_least_mm < 0.0 < figure.likely_most_mm


@pytest.mark.parametrize("shape", [FLUSH["a flat side"][0], FLUSH["an edge of a box"][0]])
def test_a_lead_that_stands_flush_is_tight(shape: Shape) -> None:
    # Its room, 10 mm wide about y = 100, may be touched but not shared.
    lead = Plug(
        id="cord", name="cord", at_mm=(20, 0, 10), facing="+x", width_mm=10, height_mm=10,
        plug_mm=20, bend_mm=10,
    )  # fmt: skip
    by = 15.0 if isinstance(shape, Extrusion) else -15.0
    if isinstance(shape, Extrusion):
        moved: Shape = along_z(*((x + 10, y + by) for x, y in shape.outline_mm), z=(20, 40))
    else:
        moved = Box(at_mm=(130, 105, 35), size_mm=(18, 20, 50))
    of = beside(moved, (lead,)).but(settings=Settings(margin_mm=2.0))
    (tight,) = (f for f in check_layout(of).report.findings if f.verdict is Verdict.TIGHT)
    assert (tight.kind, tight.measured_mm) == ("worst_case", pytest.approx(0.0))
    assert tight.tolerance is not None
    # Across it 0.3 of its place and half of 0.2, and 0.3 of the thing.
    assert tight.tolerance.worst.worst_mm == pytest.approx(-0.7)


def least_of(of: Layout, rng: random.Random, rooms: int) -> float:
    """Return the least gap in rooms off at some corner of all that may be off."""

    def at_a_limit(minus: float, plus: float) -> float:
        return rng.choice((-minus, plus))

    return min(gap_in(build_scene(Maker(of, at_a_limit).layout())) for _ in range(rooms))


def compared(seeds: range, rooms: int) -> tuple[int, int]:
    """Return how many were compared, and how many came to overlap by what is told, almost."""
    count = near = 0
    for seed, of, figure in near_things(seeds):
        least, worst = least_of(of, random.Random(seed), rooms), figure.worst.worst_mm
        assert least >= worst - FIRST_ORDER_MM, (seed, least, worst)
        assert figure.worst.worst_mm <= figure.likely_least_mm <= figure.nominal.nominal_mm + 1e-6
        count += 1
        near += least < min(-0.3, 0.6 * worst)
    return count, near


def test_nothing_that_nearly_touches_comes_nearer_than_told() -> None:
    count, near = compared(range(60), 25)
    assert count > 30
    assert near > count / 3


@pytest.mark.nightly
def test_nothing_of_many_things_that_nearly_touch_comes_nearer_than_told() -> None:
    count, near = compared(range(100, 900), 200)
    assert count > 400
    assert near > count / 3


def test_a_gap_past_a_round_thing_that_is_lost_is_told_as_a_way_out_along_an_axis() -> None:
    # Its middle is 15 from the cube's edge along x and y, its radius 20: 1.2 apart. Along each axis
    # 2 of its place and 0.45 of the cube, and half of 0.3 of its diameter: square to the edge
    # 21.21 - 2.45 * sqrt(2) = 17.75 are left of 20.15. Out of it along one axis: to where the edge
    # is 20.15 from its middle again.
    shape = Cylinder(axis="z", at_mm=(135, 135, 30), diameter_mm=40, length_mm=20)
    loose = Dimension(minus_mm=2.0, plus_mm=2.0, origin="measured")
    of = beside(shape)
    given = FrozenMap({f"obstacles[0].shapes[0].at_mm[{k}]": loose for k in (0, 1)})
    of = of.but(enclosure=of.enclosure.but(dimensions=given))
    figure = figure_of(of)
    assert figure.nominal.nominal_mm == pytest.approx(15 * sqrt(2) - 20)
    out = sqrt(20.15**2 - 12.55**2) - 12.55
    assert out < -figure.worst.worst_mm < out + 0.3
    least = least_of(of, random.Random(3), 200)
    assert figure.worst.worst_mm <= least < -out + 0.2
