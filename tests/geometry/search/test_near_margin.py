"""A smaller margin that lets a near miss in is the largest that some listed slide keeps.

A fan of 120 mm stands on a floor of 130 mm, 1 mm from the rear wall and 9 from the front wall where
it is not slid, and may be slid by 4 mm to either end.
"""

from __future__ import annotations

import pytest
from small_rooms import IN_OR_OUT, block, fan, layout, room, row, zone

from catalog.shapes import Plug
from geometry.checks.runner import check_layout
from geometry.finding import Verdict
from geometry.layout import Layout, Settings
from geometry.search.answers import MEASURES
from geometry.search.near.misses import NearMiss, near_misses
from geometry.search.run import search
from geometry.search.wishes import Wishes

JUDGED = Settings(judge="nominal")


def near(margin_mm: float, *, tight: bool = False) -> tuple[NearMiss, ...]:
    floor = zone("floor-zone", "floor", (1, 40, 0), "+x", "+y", row(1, slot_u_mm=4.0))
    settings = JUDGED.but(margin_mm=margin_mm)
    return near_of(layout(room((130, 200, 200), [floor]), [], settings=settings), tight=tight)


def near_of(lay: Layout, *, tight: bool = False) -> tuple[NearMiss, ...]:
    wishes = Wishes(fans=(fan(25),), slide_steps=3, tight_allowed=tight)
    *_, last = search(lay, wishes, [MEASURES["fans"]], 20.0)
    assert last.found is not None
    *_, found = near_misses(last.found.problem, last.found.answer, [MEASURES["fans"]])
    return found.found


@pytest.mark.parametrize("margin_mm", [5.5, 6.0, 8.0])
def test_the_margin_is_what_the_slide_keeps_that_leaves_most(margin_mm: float) -> None:
    (miss,) = near(margin_mm)
    (change,) = miss.relaxations
    assert change.name == f"Ask for a margin of 5.0 mm instead of {margin_mm:.1f} mm"
    assert change.amount_mm == pytest.approx(margin_mm - 5.0)
    (stack,) = change.layout.stacks
    assert stack.slide_u_mm == 4.0
    # What refuses it is told of that slide: 5 mm to either wall.
    assert [fault.measured_mm for fault in miss.refused_for] == [pytest.approx(5.0)] * 2
    found = check_layout(change.layout).report.findings
    assert {one.verdict for one in found} == {Verdict.CLEAR}


def test_a_slide_that_lets_it_in_whole_goes_first() -> None:
    assert near(5.0) == ()
    assert near(6.0, tight=True) == ()


def test_a_margin_at_another_slide_than_other_changes_are_for_says_where() -> None:
    # Unslid the fan is 2 mm from a peg that comes out, and then 6 from the front wall; slid by 4 to
    # the rear it is 6 mm from the peg, with 3 to the rear wall.
    floor = zone("floor-zone", "floor", (7, 40, 0), "+x", "+y", row(1, slot_u_mm=4.0))
    peg = block("peg", (129, 90, 10), (132, 110, 20), states=IN_OR_OUT)
    lay = layout(room((136, 200, 200), [floor], [peg]), [], settings=JUDGED.but(margin_mm=6.0))
    (miss,) = near_of(lay)
    assert [one.name for one in miss.relaxations] == [
        "Take out peg",
        "Ask for a margin of 3.0 mm instead of 6.0 mm, slid 4.0 mm to the rear (along -x)",
    ]
    (stack,) = miss.relaxations[-1].layout.stacks
    assert stack.slide_u_mm == -4.0


def with_plug(x_mm: float, wide_mm: float) -> Layout:
    """A room 130 mm long; a plug with its cable hangs to 15 mm above the floor, across x_mm."""
    plug = Plug(
        id="plug",
        name="plug",
        at_mm=(x_mm, 100, 60),
        facing="-z",
        width_mm=wide_mm,
        height_mm=10,
        plug_mm=45,
    )
    board = block("board", (x_mm - 1, 95, 60), (x_mm + 1, 105, 70), plugs=(plug,))
    floor = zone("floor-zone", "floor", (1, 40, 0), "+x", "+y", row(1, slot_u_mm=4.0))
    return layout(room((130, 200, 200), [floor], [board]), [], settings=JUDGED.but(margin_mm=6.0))


def test_no_margin_lets_in_what_fills_a_room_kept_free_at_every_slide() -> None:
    (miss,) = near_of(with_plug(65.0, 10.0))
    assert miss.relaxations == ()
    assert {fault.verdict for fault in miss.refused_for} == {Verdict.BLOCKED}


@pytest.mark.parametrize(
    ("x_mm", "margin_mm", "slide_mm"),
    [
        # Slid by 4 mm the fan ends at 125 mm, in the room of a plug from 122 to 124 mm.
        (123.0, 1.0, 0.0),
        # A plug from 125.5 mm is 0.5 mm away then, and its room asks for no margin.
        (126.5, 5.0, 4.0),
    ],
)
def test_a_slide_out_of_a_room_kept_free_goes_first_and_that_room_asks_for_no_margin(
    x_mm: float, margin_mm: float, slide_mm: float
) -> None:
    (miss,) = near_of(with_plug(x_mm, 2.0))
    (change,) = miss.relaxations
    assert change.name == f"Ask for a margin of {margin_mm:.1f} mm instead of 6.0 mm"
    (stack,) = change.layout.stacks
    assert stack.slide_u_mm == slide_mm
    found = check_layout(change.layout).report.findings
    assert {one.verdict for one in found} == {Verdict.CLEAR}
