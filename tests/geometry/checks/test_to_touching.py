"""What is left until solids touch is told of gaps between solids, and of nothing else."""

from __future__ import annotations

import pytest
from small_rooms import (
    block,
    exchanger,
    fan,
    fan_layer,
    layout,
    one,
    room,
    row,
    stack,
    zone,
)  # fmt: skip

from geometry.checks.runner import check_layout
from geometry.finding import Finding
from geometry.layout import Layout

CORE, BLOWER = exchanger(2, 30), fan(25)


def findings(of: Layout) -> dict[str, Finding]:
    return {f.kind: f for f in check_layout(of, remedies=False).report.findings}


def fans_on_the_floor(slide_mm: float = 0.0, **more: float) -> Layout:
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(2), **more)
    fans = fan_layer("A", BLOWER, ["c1", "c2"])
    return layout(
        room((400, 200, 200), [floor]),
        [BLOWER],
        [stack("S", "floor-zone", fans, slide_u_mm=slide_mm)],
    )


def test_off_its_slots_by_much_no_solids_meet() -> None:
    found = findings(fans_on_the_floor(slide_mm=30.0))["slide"]
    assert found.measured_mm is not None
    assert found.measured_mm < -20.0
    assert (found.to_touching_mm, found.to_margin_mm) == (None, found.measured_mm)


def test_over_the_end_of_a_zone_no_solids_meet() -> None:
    found = findings(fans_on_the_floor(length_mm=200.0))["zone_size"]
    assert found.measured_mm is not None
    assert found.to_touching_mm is None


@pytest.mark.parametrize(("x_mm", "kind"), [(60.0, "leftover_depth"), (53.0, "port_end")])
def test_of_a_depth_to_a_solid_it_is_what_is_left(x_mm: float, kind: str) -> None:
    # The core takes up 30 and its fittings 24 mm of the depth, to a wall beside x_mm.
    front = zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(2))
    wall = block("wall", (200, 0, 0), (300 - x_mm, 200, 340))
    of = layout(
        room((300, 200, 460), [front], [wall]),
        [CORE],
        [stack("S", "front-zone", one("E", CORE))],
    )
    found = findings(of)[kind]
    assert found.to_touching_mm == pytest.approx(x_mm - 54.0)


def test_past_the_depth_that_a_zone_is_given_for_no_solids_meet() -> None:
    from catalog.enclosure import ZoneSide

    of = fans_on_the_floor(inner=ZoneSide(depth_mm=20.0))  # type: ignore[arg-type]
    told = [f for f in check_layout(of, remedies=False).report.findings if f.measured_mm == -5.0]
    assert [f.to_touching_mm for f in told] == [None]
