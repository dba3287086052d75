"""Every kind of change that mends, in the smallest room that asks for it; sums by hand.

Exchangers are as thick all over, their fittings 24 mm long; margins are 2 mm. A stack on the front
wall piles up to the rear, so a room of x mm leaves it x mm to the rear wall.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from small_rooms import (
    IN_OR_OUT,
    block,
    brick,
    exchanger,
    fan,
    fan_layer,
    free,
    layout,
    one,
    room,
    row,
    stack,
    zone,
)

from catalog.enclosure import Obstacle, Zone, ZoneSide
from catalog.parts import Part
from catalog.shapes import Cell
from catalog.store import Library
from geometry.checks.runner import check_layout
from geometry.edits import cut_lines
from geometry.layout import Layer, Layout
from geometry.search.mending.mend import Mend, mends
from geometry.search.mending.stack_changes import fan_plans, other_fans, other_places
from geometry.search.mending.steps import cheapest_first


def changes(lay: Layout, *parts: Part, cutting: bool = False) -> tuple[Mend, ...]:
    """All changes that clear everything; each is checked once more here, from nothing."""
    checked = check_layout(lay, remedies=False)
    *_, last = mends(checked, (*lay.parts.values(), *parts), cutting=cutting)
    for mend in last.found:
        after = check_layout(mend.layout, remedies=False).report
        assert (after.blocked, after.tight) == (0, 0), mend.name
    return last.found


def names(found: Sequence[Mend]) -> list[str]:
    return [mend.name for mend in found]


def front(
    x_mm: float,
    *layers: Layer,
    parts: Sequence[Part],
    cells: tuple[Cell, ...] | None = None,
    obstacles: Sequence[Obstacle] = (),
    zones: Sequence[Zone] = (),
    outer: ZoneSide | None = None,
    high_mm: float = 400.0,
) -> Layout:
    """A stack on the front wall, from 60 mm above the floor."""
    own = zone("front-zone", "front", (x_mm, 40, 60), "+z", "+y", cells or row(2), outer=outer)
    enclosure = room((x_mm, 200, high_mm), [own, *zones], obstacles)
    return layout(enclosure, parts, [stack("S", "front-zone", *layers)])


def floor_box(peg_mm: float, rail_mm: float) -> Layout:
    """A two-fan exchanger on the floor, between a rail at the rear and a peg at the front.

    Its core lies at x = 50 to 290, the return end from 35, the port end to 320; slots of 8 mm.
    """
    core, blower = exchanger(2, 30), fan(25)
    own = zone("floor-zone", "floor", (50, 40, 0), "+x", "+y", row(2, slot_u_mm=8.0))
    peg = block("peg", (peg_mm, 90, 0), (peg_mm + 20, 110, 200), kind="peg")
    rail = block("rail", (0, 40, 0), (rail_mm, 160, 60))
    layers = (fan_layer("A", blower, ("c1", "c2")), one("E", core))
    return layout(
        room((500, 200, 300), [own], [peg, rail]), [core, blower],
        [stack("S", "floor-zone", *layers)],
    )  # fmt: skip


def test_a_slide_is_found_though_both_ends_of_the_slots_are_taken() -> None:
    # Against the peg at 317 it has to go 3 + 2 mm back. By 8 mm, the end of the slots, the return
    # end would come to 27, 1 mm from a rail of 26 mm; and flipped, the port end would reach 20.
    found = changes(floor_box(317.0, 26.0))
    assert names(found) == ["Slide the stack on floor zone 5.0 mm to the rear (along -x)"]
    # A rail of 28.5 mm leaves 35 - 5 - 28.5 = 1.5 mm, half a millimetre short of the margin.
    assert names(changes(floor_box(317.0, 28.5))) == []


def test_an_obstacle_is_cut_only_where_that_is_allowed_and_no_more_than_needed() -> None:
    # No slide helps, as above. The peg has to begin at 322, so 5 mm of its rear are to go.
    base = floor_box(317.0, 28.5)
    assert changes(base) == ()
    (cut,) = changes(base, cutting=True)
    assert cut.name == "Trim peg by 5.0 mm at its rear end (cuts the enclosure)"
    assert cut.cuts
    assert cut_lines(cut.layout.enclosure) == ("peg: 5.0 mm cut off its rear end",)


def test_changes_without_a_cut_come_first() -> None:
    found = changes(floor_box(317.0, 26.0), cutting=True)
    assert [mend.cuts for mend in found] == [False, True]


def test_a_free_part_is_moved_by_the_least_that_keeps_its_margin() -> None:
    # Its body, 40 mm long, reaches x = 110, 10 mm into a rib that begins at 100 and ends at 110.
    rib = block("rib", (100, 0, 0), (110, 200, 300))
    part = brick("brick", (40, 40, 40))
    found = changes(
        layout(room((300, 200, 300), [], [rib]), [part], [], [free("B", part, (90, 100, 0))])
    )
    assert names(found) == [
        "Move brick (B) 12.0 mm to the rear",
        "Move brick (B) 42.0 mm to the front",
    ]  # fmt: skip


def test_the_port_face_is_turned() -> None:
    # The ports look at the front wall, on which the exchanger stands.
    core = exchanger(2, 30, port_facing="-z")
    found = changes(front(200, one("E", core), parts=[core]))
    assert names(found) == ["Turn port face of Exchanger 2 x 120, 30 (E)"]


def test_the_next_thinner_exchanger_is_enough_or_the_one_below_it() -> None:
    cores = {mm: exchanger(2, mm) for mm in (30.0, 45.0, 60.0)}
    thick = cores[60.0]
    library = (cores[30.0], cores[45.0])
    # 45 + 24 + 2 = 71 mm fit into 75, and 60 mm do not; into 65 mm 30 + 24 + 2 = 56 mm fit.
    for x_mm, thinner in ((75, "45"), (65, "30")):
        found = changes(front(x_mm, one("E", thick), parts=[thick]), *library)
        assert names(found) == [f"Swap Exchanger 2 x 120, 60 (E) for Exchanger 2 x 120, {thinner}"]


def test_fans_come_off_a_face_or_go_through_the_plate_or_get_thinner() -> None:
    # Fans of 25, core of 30, fans of 25 in 75 mm, on which the fittings stand 24 mm: 25 + 30 + 24
    # + 2 = 81. Without the fans at the plate 30 + 25 + 2 = 57 mm fit, and so do the fittings.
    core, blower, slim = exchanger(2, 30), fan(25), fan(15)
    layers = [
        fan_layer("A", blower, ("c1", "c2")), one("E", core), fan_layer("B", blower, ("c1", "c2")),
    ]  # fmt: skip
    lay = front(75, *layers, parts=[core, blower], outer=ZoneSide(plate_mm=2.0))
    assert names(changes(lay, slim)) == [
        "Set the fans on front zone from push-pull to pull",
        "Move fans A.1, A.2 to the outer side of front zone",
        "Swap Fan 120 x 25 (A.1) and the fans beside it for Fan 120 x 15",
        "Move Exchanger 2 x 120, 30 (E) to the outer side of front zone",
    ]


@pytest.fixture(scope="module")
def library() -> Library:
    return Library()


def test_a_pump_goes_to_the_other_fan(library: Library) -> None:
    # It stands at x = 200 - 30 - 25 - 43 = 102 to 145 over cell 1, where a block reaches 130.
    core, blower, pump = exchanger(2, 30), fan(25), library.part("pump-compact-plate-120")
    peg = block("peg", (60, 60, 70), (130, 140, 170))
    layers = [one("E", core), fan_layer("A", blower, ("c1", "c2")), one("P", pump)]
    found = changes(front(200, *layers, parts=[core, blower, pump], obstacles=[peg]))
    assert names(found) == [f"Move {pump.name} (P) to the fan on cell c2"]


def test_a_smaller_pump_takes_the_place_of_a_large_one(library: Library) -> None:
    # Core 30, fan 25, plate 3: 72 mm are left of 130. The large one is 66 mm high with its fitting
    # of 24 mm on top; the compact one 40 mm, and 64 + 2 mm fit.
    large, compact = (library.part(f"pump-{size}-plate-120") for size in ("large", "compact"))
    core, blower = exchanger(2, 30), fan(25)
    layers = [one("E", core), fan_layer("A", blower, ("c1", "c2")), one("P", large)]
    found = changes(front(130, *layers, parts=[core, blower, large]), compact)
    assert names(found) == [f"Swap {large.name} (P) for {compact.name}"]


def rib(**more: object) -> Obstacle:
    """A rib 10 mm before the front wall of a room of 120 mm, over the first cell only."""
    return block("rib", (90, 60, 60), (110, 140, 100), **more)


def test_a_stack_goes_along_its_zone_or_to_another() -> None:
    core = exchanger(1, 30)
    lay = front(120, one("E", core), parts=[core], obstacles=[rib()], cells=row(3), high_mm=600)
    assert names(changes(lay)) == [
        "Move the stack on front zone along, from cell c2",
        "Move the stack on front zone along, from cell c3",
    ]
    rear = zone("rear-zone", "rear", (0, 160, 60), "+z", "-y", row(1))
    lay = front(
        120, one("E", core), parts=[core], obstacles=[rib()], zones=[rear], cells=row(1),
        high_mm=300,
    )  # fmt: skip
    assert names(changes(lay)) == ["Move the stack on front zone to rear zone, from cell c1"]


def test_an_obstacle_is_taken_out_with_what_stands_on_it() -> None:
    core = exchanger(1, 30)
    carrier = block("shelf", (0, 60, 60), (20, 140, 100), states=IN_OR_OUT)
    for obstacles in ([rib(states=IN_OR_OUT)], [carrier, rib(owner="shelf")]):
        lay = front(
            120, one("E", core), parts=[core], obstacles=obstacles, cells=row(1), high_mm=300
        )
        assert names(changes(lay)) == [f"Take out {obstacles[0].name}"]


def test_two_obstacles_of_one_name_are_told_apart() -> None:
    # Both stand in the core; one of them out is not enough.
    core = exchanger(1, 30)
    ribs = [
        block(one_id, (90, low, 60), (110, low + 20, 100), states=IN_OR_OUT).but(name="rib")
        for one_id, low in (("left", 60.0), ("right", 120.0))
    ]
    lay = front(120, one("E", core), parts=[core], obstacles=ribs, cells=row(1), high_mm=300)
    (both,) = changes(lay)
    assert both.steps == ("Take out rib", "Take out rib")
    assert both.layout.states == {"left": "out", "right": "out"}


def test_what_is_locked_is_not_changed() -> None:
    base = floor_box(317.0, 26.0)
    assert changes(base.but(stacks=tuple(s.but(locked=True) for s in base.stacks))) == ()


def test_where_nothing_single_works_pairs_are_tried() -> None:
    # B is 10 mm deep in the rib, and C and D share 20 mm.
    part = brick("brick", (40, 40, 40))
    frees = [
        free("B", part, (90, 100, 0)),
        free("C", part, (150, 100, 0)),
        free("D", part, (170, 100, 0)),
    ]
    rib_here = block("rib", (100, 0, 0), (110, 200, 300))
    found = changes(layout(room((300, 200, 300), [], [rib_here]), [part], [], frees))
    assert found[0].steps == (
        "Move brick (B) 12.0 mm to the rear",
        "Move brick (D) 22.0 mm to the front",
    )
    assert {len(mend.steps) for mend in found} == {2}


def steps_of(lay: Layout) -> list[str]:
    scene = check_layout(lay, remedies=False).scene
    found = [s for one in lay.stacks for s in (*fan_plans(scene, one), *other_places(scene, one))]
    found += [s for one in scene.placed.values() for s in other_fans(scene, one)]
    return [step.name for step in cheapest_first(found)]


def test_changes_on_either_side_and_to_zones_of_one_name_are_told_apart() -> None:
    core, blower = exchanger(1, 30), fan(25)
    two = [
        zone(
            f"roof-{k}", "roof", (60 + 130 * k, 160, 300), "+x", "-y", row(1), outer=ZoneSide()
        ).but(name="roof")
        for k in (0, 1)
    ]
    own = zone("front-zone", "front", (400, 40, 60), "+z", "+y", row(1), outer=ZoneSide())
    inner = (fan_layer("A", blower, ["c1"]), one("E", core))
    outer = (fan_layer("B", blower, ["c1"]), one("G", core))
    both = stack("S", "front-zone", *inner, outer=outer)
    told = steps_of(layout(room((400, 200, 300), [own, *two]), [core, blower], [both]))
    assert told == [
        "Set the fans on the outer side of front zone from pull to push",
        "Set the fans on the inner side of front zone from push to pull",
        "Move the stack on front zone to roof (roof-0), from cell c1",
        "Move the stack on front zone to roof (roof-1), from cell c1",
    ]


def test_a_pump_goes_to_the_fan_on_either_side_of_a_plate(library: Library) -> None:
    blower, pump = fan(25), library.part("pump-compact-plate-120")
    own = zone("front-zone", "front", (400, 40, 60), "+z", "+y", row(2), outer=ZoneSide())
    inner = (fan_layer("A", blower, ["c1", "c2"]), one("P", pump, "c1"))
    outer = (fan_layer("B", blower, ["c2"]),)
    lay = layout(
        room((400, 200, 400), [own]),
        [blower, pump],
        [stack("S", "front-zone", *inner, outer=outer)],
    )
    assert [name for name in steps_of(lay) if "the fan on" in name] == [
        f"Move {pump.name} (P) to the fan on cell c2",
        f"Move {pump.name} (P) to the fan on cell c2, on its outer side",
    ]
