"""What stands and is clear is among the options, at the very slide that it has."""

from __future__ import annotations

from small_rooms import fan, fan_layer, layout, room, row, stack, zone

from geometry.search.problem import Problem, prepared
from geometry.search.wishes import Wishes


def slides_beside(slide_mm: float) -> set[tuple[float, float]]:
    floor = zone("floor-zone", "floor", (100, 40, 0), "+x", "+y", row(1, slot_u_mm=8))
    blower = fan(25)
    standing = stack("S", "floor-zone", fan_layer("F", blower, ["c1"]), slide_u_mm=slide_mm)
    base = layout(room((400, 200, 200), [floor]), [blower], [standing])
    *_, problem = prepared(base, Wishes(exchangers=(), fans=(blower,)))
    assert isinstance(problem, Problem)
    return {o.slide_mm for o in problem.zones[0].options if o.stack is not None}


def test_the_slide_that_a_zone_has_now_is_listed_within_its_slots() -> None:
    usual = {(-8.0, 0.0), (0.0, 0.0), (8.0, 0.0)}
    assert slides_beside(0.0) == usual
    assert slides_beside(3.0) == {*usual, (3.0, 0.0)}
    assert slides_beside(9.0) == usual
