"""What stands and is clear is among the options, at the very slide that it has."""

from __future__ import annotations

from small_rooms import IN_OR_OUT, block, exchanger, fan, fan_layer, layout, room, row, stack, zone

from geometry.layout import Settings
from geometry.search.answers import MEASURES
from geometry.search.making_ready import prepared
from geometry.search.near.misses import near_misses
from geometry.search.problem import Problem
from geometry.search.run import search
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


def near_beside(slide_mm: float) -> set[float]:
    """The slides of near misses of two fans' face, in a room that is too short between two posts.

    The first may be taken out. In the middle of its slots the exchanger reaches from 35 to 320 mm:
    2 mm beside the first, 1 mm in the second; 4 mm to the left 2 mm in the first, at the ends 8 mm
    in the first or 11 mm in the second. Turned it reaches from 20 to 305 mm.
    """
    floor = zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2, slot_u_mm=10))
    posts = [
        block("first", (0, 90, 0), (33, 110, 200), states=IN_OR_OUT),
        block("last", (319, 90, 0), (339, 110, 200)),
    ]
    blower = fan(25)
    standing = stack("S", "floor-zone", fan_layer("F", blower, ["c1"]), slide_u_mm=slide_mm)
    base = layout(room((500, 200, 300), [floor], posts), [blower], [standing]).but(
        settings=Settings(judge="nominal", margin_mm=2.0)
    )
    wanted = [MEASURES["area"]]
    wishes = Wishes(exchangers=(exchanger(1, 30), exchanger(2, 30)), fans=(blower,))
    *_, last = search(base, wishes, wanted, 20.0)
    assert last.found is not None
    *_, near = near_misses(last.found.problem, last.found.answer, wanted, ())
    return {stack.slide_u_mm for miss in near.found for stack in miss.layout.stacks}


def test_near_misses_are_looked_for_at_the_slide_that_a_zone_has_now_too() -> None:
    assert -4.0 not in near_beside(0.0)
    assert -4.0 in near_beside(-4.0)
