"""No change slides a stack but by a slide that is named, and that counts as one.

The front wall lies at x = 400; stacks on it slide along z, by 12 mm unless said otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_rooms import block, exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from catalog.enclosure import Obstacle, ZoneSide
from catalog.shapes import Cell
from geometry.checks.runner import check_layout
from geometry.edits import EditError, fill_fans, insert_item, keep_fans, move_stack
from geometry.layout import Layout
from geometry.remedies import faults
from geometry.search.mending.mend import Mend, mends
from geometry.search.mending.stack_changes import other_places

CORE, BLOWER, SLIM = exchanger(2, 30), fan(25), fan(15)
BOTH = ("c1", "c2")
SLID = re.compile(r"[Ss]lid(?:e the stack on front zone)? ([\d.]+) mm \w+ \(along ([+-])z\)")


def front(
    slide_mm: float, *obstacles: Obstacle, cells: Sequence[Cell] = row(2, slot_u_mm=12.0)
) -> Layout:
    """Fans on both faces of a two-fan core, slid along +z."""
    own = zone("front-zone", "front", (400, 40, 60), "+z", "+y", cells, outer=ZoneSide())
    layers = fan_layer("A", BLOWER, BOTH), one("E", CORE), fan_layer("B", BLOWER, BOTH)
    return layout(
        room((400, 200, 600), [own], obstacles), [CORE, BLOWER],
        [stack("S", "front-zone", *layers, slide_u_mm=slide_mm)],
    )  # fmt: skip


def listed(lay: Layout) -> tuple[Mend, ...]:
    *_, last = mends(check_layout(lay, remedies=False), (*lay.parts.values(), SLIM))
    return last.found


def slide_of(lay: Layout) -> float:
    return lay.stacks[0].slide_u_mm


def named_slide(mend: Mend) -> float:
    """Return how far a change slides the stack along +z by its text."""
    return sum(float(sign + mm) for step in mend.steps for mm, sign in SLID.findall(step))


def test_a_stack_off_its_slots_is_slid_back_and_nothing_else_does_it_by_the_way() -> None:
    # 12 mm of slots and 0.5 of play: 2.5 mm are missing at -15.
    (only,) = listed(front(-15.0))
    assert only.steps == ("Slide the stack on front zone 2.5 mm up (along +z)",)


def test_where_a_slide_and_another_change_are_needed_they_are_a_pair() -> None:
    # 80 mm of fans and core end at x = 320, in a post to 330; without fans at the plate at 345.
    # With these alone the fittings on the core end at 321.
    post = block("post", (300, 60, 60), (330, 140, 400))
    (pair,) = listed(front(-15.0, post))
    assert pair.steps == (
        "Slide the stack on front zone 2.5 mm up (along +z)",
        "Set the fans on front zone from push-pull to pull",
    )
    assert (slide_of(pair.layout), pair.left) == (-12.5, 0)


@pytest.mark.parametrize("slide_mm", [-15.0, -12.4, 0.0, 7.3])
def test_fans_are_set_and_put_through_the_plate_without_a_slide(slide_mm: float) -> None:
    lay = front(slide_mm)
    for plan in ("push", "pull"):
        kept = keep_fans(lay, "S", "inner", plan)
        assert slide_of(kept) == slide_mm
        assert slide_of(fill_fans(lay, "S", "inner", plan, BLOWER)) == slide_mm
        assert slide_of(fill_fans(kept, "S", "inner", "push-pull", SLIM)) == slide_mm


@pytest.mark.parametrize(("slide_mm", "then_mm"), [(0.0, 3.0), (4.1, 4.1), (-6.0, 3.0), (9.0, 9.0)])
def test_a_core_slides_the_stack_only_where_it_is_farther_off_its_slots_then(
    slide_mm: float, then_mm: float
) -> None:
    # A fan on the first cell may be slid by 5 mm either way. The core's second cell lies 8 mm off
    # that of the zone, so that with it 3 to 5 mm are left: at 9 mm it is as far off as before.
    lay = front(slide_mm, cells=row(2, slot_u_mm=5.0, apart_mm=128.0))
    (own,) = lay.stacks
    lay = lay.but(stacks=(own.but(inner=(fan_layer("A", BLOWER, ["c1"]),)),))
    cored, _ = insert_item(lay, "front-zone", "inner", 1, CORE, "c1")
    assert slide_of(cored) == then_mm


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.sampled_from([-15.0, -12.4, -6.0, 0.0, 3.1, 12.0, 13.7]),
    st.sampled_from([314.0, 324.0, 330.0, 340.0]),
    st.sampled_from([2, 3]),
)
def test_each_slide_that_is_made_is_named_and_no_listed_change_holds_a_smaller(
    slide_mm: float, post_to_mm: float, count: int
) -> None:
    post = block("post", (200, 60, 60), (post_to_mm, 140, 130))
    lay = front(slide_mm, post, cells=row(count, slot_u_mm=12.0, apart_mm=123.0))
    checked = check_layout(lay, remedies=False)
    found = listed(lay)
    for mend in found:
        (after,) = mend.layout.stacks
        assert after.slide_u_mm - slide_mm == pytest.approx(named_slide(mend)), mend.name
        assert not after.slide_v_mm
    slides = [mend for mend in found if mend.kinds == ("slide",)]
    for slide in slides:
        mm = named_slide(slide)
        for mend in found:
            if mend is not slide and set(slide.clears) >= set(mend.clears):
                assert named_slide(mend) * mm <= 0 or abs(named_slide(mend)) < abs(mm), mend.name
    assert bool(faults(checked.report)) or not found


def two_ends(first_slot_mm: float, slide_mm: float) -> Layout:
    """A core of one fan on the first of two cells, of which the second has a shorter slot."""
    core = exchanger(1, 30)
    cells = (
        row(1, slot_u_mm=first_slot_mm)[0],
        row(2, apart_mm=160.0, slot_u_mm=4.0)[1],
    )
    own = zone("front-zone", "front", (400, 40, 60), "+z", "+y", cells)
    round_holes = zone("rear-zone", "rear", (0, 160, 60), "+z", "-y", row(1))
    return layout(
        room((400, 200, 600), [own, round_holes]), [core],
        [stack("S", "front-zone", one("E", core), slide_u_mm=slide_mm)],
    )  # fmt: skip


def test_a_stack_that_is_moved_and_has_to_slide_says_by_how_much() -> None:
    lay = two_ends(12.0, 10.0)
    scene = check_layout(lay, remedies=False).scene
    along, rear = other_places(scene, lay.stacks[0])
    assert along.name == (
        "Move the stack on front zone along, from cell c2, slid 6.0 mm down (along -z)"
    )
    assert along.amounts == {"S to front-zone c2": 0.0, "Slide S u-": 6.0}
    assert slide_of(along.edit(lay)) == 4.0
    assert rear.name == "Move the stack on front zone to rear zone, from cell c1, unslid there"
    with pytest.raises(EditError, match="slid otherwise"):
        along.edit(two_ends(12.0, 7.0))


def test_a_stack_that_is_off_its_slots_goes_along_as_it_is() -> None:
    lay = two_ends(4.0, 4.3)
    along, _ = other_places(check_layout(lay, remedies=False).scene, lay.stacks[0])
    assert along.name == "Move the stack on front zone along, from cell c2"
    assert slide_of(along.edit(lay)) == slide_of(move_stack(lay, "S", "front-zone", "c2")) == 4.3
