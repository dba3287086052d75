"""A whole stack goes to another zone, or along its own: where it seats, and why not elsewhere."""

from __future__ import annotations

import pytest
from edit_rooms import (
    FAN_25,
    FAN_140,
    FLOOR_ZONE,
    FRONT_ZONE,
    LONG_3,
    M120,
    PUMP,
    ROOF_ZONE,
    ROOM,
    SLIM_1,
    SLIM_2,
    empty_layout,
    layers_of,
)

from catalog.shapes import Cell
from geometry.checks.runner import check_layout
from geometry.edits import (
    EditError,
    fill_fans,
    insert_item,
    move_stack,
    rotate,
    set_locked,
    set_slide,
    set_state,
    slide_note,
    stack_places,
    why_not_moved,
)
from geometry.finding import Verdict
from geometry.layout import Layout


def on_the_floor() -> Layout:
    """An exchanger over the first two cells of three, with fans that push, its port end turned."""
    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1", 2)
    layout = fill_fans(layout, "S1", "inner", "push", FAN_25)
    return set_slide(layout, "S1", 0.4, 0.0)


def cells_of(layout: Layout) -> dict[str, str]:
    (stack,) = layout.stacks
    return {i.id: i.cell for la in (*stack.inner, *stack.outer) for i in la.items}


def test_a_stack_goes_to_another_zone_with_all_that_is_in_it() -> None:
    before = on_the_floor()
    moved = move_stack(before, "S1", "front-zone")
    (stack,) = moved.stacks
    assert (stack.id, stack.zone) == ("S1", "front-zone")
    assert layers_of(moved) == layers_of(before) == [["F1", "F2"], ["E1"]]
    assert cells_of(moved) == {"F1": "b1", "F2": "b2", "E1": "b1"}
    assert stack.inner[1].items[0].turn == 2
    assert (stack.slide_u_mm, stack.slide_v_mm) == (0.4, 0.0)
    assert slide_note(before, moved, "S1") == ""
    assert moved.parts == before.parts
    seated = [f.kind for f in check_layout(moved).report.findings if f.verdict is not Verdict.CLEAR]
    assert not {"hole_pattern", "zone_size", "slide"} & set(seated)
    # And back, from the second cell on.
    back = move_stack(moved, "S1", "floor-zone", "f2")
    assert cells_of(back) == {"F1": "f2", "F2": "f3", "E1": "f2"}


def test_a_stack_goes_along_its_own_zone() -> None:
    along = move_stack(on_the_floor(), "S1", "floor-zone", "f2")
    assert cells_of(along) == {"F1": "f2", "F2": "f3", "E1": "f2"}
    with pytest.raises(EditError, match="do not meet, begun at cell f3"):
        move_stack(on_the_floor(), "S1", "floor-zone", "f3")


def test_all_places_are_told_but_the_one_where_it_is() -> None:
    layout = on_the_floor()
    assert [*stack_places(layout, layout.stacks[0])] == [
        ("floor-zone", "f2"),
        ("front-zone", "b1"),
    ]


def across() -> Layout:
    """The same room with a zone whose two cells for 120 mm lie along v, 125 mm apart in slots."""
    cells = tuple(
        Cell(id=f"a{k + 1}", u_mm=60, v_mm=60 + 125 * k, accepts=(M120,), slot_v_mm=(-3, 3))
        for k in range(2)
    )
    roof = ROOF_ZONE.but(cells=cells, width_mm=260, length_mm=120)
    enclosure = ROOM.but(zones=(FLOOR_ZONE, FRONT_ZONE, roof))
    return on_the_floor().but(enclosure=enclosure)


def test_a_stack_is_turned_a_quarter_where_the_cells_run_across_and_slid_into_the_slots() -> None:
    moved = move_stack(across(), "S1", "roof-zone")
    (stack,) = moved.stacks
    assert cells_of(moved) == {"F1": "a1", "F2": "a2", "E1": "a1"}
    assert [i.turn for la in stack.inner for i in la.items] == [1, 1, 3]
    # From 60 and 185 the cells of the exchanger, 120 apart, take up 5 mm of slots of 3 mm each way.
    assert (stack.slide_u_mm, stack.slide_v_mm) == (0.0, 2.0)
    seated = [f.kind for f in check_layout(moved).report.findings if f.verdict is not Verdict.CLEAR]
    assert not {"hole_pattern", "zone_size", "slide"} & set(seated)


def test_a_row_on_the_outer_side_is_turned_the_same_way_on_the_page() -> None:
    room = across().enclosure
    roof = room.zones[2].but(outer=FRONT_ZONE.outer)
    layout = empty_layout().but(enclosure=room.but(zones=(FLOOR_ZONE, FRONT_ZONE, roof)))
    layout, _ = insert_item(layout, "front-zone", "outer", 0, SLIM_2, "b1")
    moved = move_stack(layout, "S1", "roof-zone")
    (item,) = moved.stacks[0].outer[0].items
    assert (item.cell, item.turn) == ("a1", 3)
    assert why_not_moved(moved, "S1", "front-zone") == ""


def test_a_slide_is_cut_to_the_slots_and_told_and_the_way_back_restores_it() -> None:
    # The front bracket's slots give way by 10 mm along u; with round holes there is no slide.
    round_holes = tuple(cell.but(slot_u_mm=(0, 0)) for cell in FRONT_ZONE.cells)
    front = FRONT_ZONE.but(cells=round_holes)
    floor = FLOOR_ZONE.but(cells=tuple(cell.but(slot_u_mm=(-10, 10)) for cell in FLOOR_ZONE.cells))
    before = on_the_floor().but(enclosure=ROOM.but(zones=(floor, front, ROOF_ZONE)))
    before = set_slide(move_stack(before, "S1", "floor-zone", "f2"), "S1", 3.0, 0.0)
    (stood,) = before.stacks
    moved = move_stack(before, "S1", "front-zone")
    assert (moved.stacks[0].slide_u_mm, moved.stacks[0].slide_v_mm) == (0.0, 0.0)
    assert slide_note(before, moved, "S1") == (
        "the stack was slid 3.0 mm along +x on zone Floor zone and is slid not at all on zone "
        "Front zone, as far as the holes and slots there allow"
    )
    assert move_stack(moved, "S1", "floor-zone", stood=stood) == before
    # What has been changed since is no more what stood there, and goes where any stack would.
    slid = set_locked(moved, "S1", False)
    turned = rotate(slid, "E1", 2)
    again = move_stack(turned, "S1", "floor-zone", stood=stood)
    assert cells_of(again) == {"F1": "f1", "F2": "f2", "E1": "f1"}
    assert again.stacks[0].slide_u_mm == 0.0


def test_what_can_never_be_is_told_before_what_can_be_mended() -> None:
    # Taken, and with one cell where the exchanger needs two: emptying the zone would be in vain.
    taken = two_stacks()
    front = FRONT_ZONE.but(cells=FRONT_ZONE.cells[:1])
    taken = taken.but(enclosure=ROOM.but(zones=(FLOOR_ZONE, front, ROOF_ZONE)))
    wanted = "zone Front zone has 1 cell, the stack stands over 2"
    assert why_not_moved(taken, "S1", "front-zone") == wanted
    assert why_not_moved(set_locked(taken, "S1", True), "S1", "front-zone") == wanted
    # Holes that never meet: the second cell lies 135 mm off.
    apart = (FRONT_ZONE.cells[0], FRONT_ZONE.cells[1].but(u_mm=60 + 145))
    taken = taken.but(
        enclosure=ROOM.but(zones=(FLOOR_ZONE, FRONT_ZONE.but(cells=apart), ROOF_ZONE))
    )
    assert "do not meet, wherever it begins" in why_not_moved(taken, "S1", "front-zone")


def test_what_takes_a_zone_is_named_by_its_parts() -> None:
    two = fill_fans(two_stacks(), "S2", "inner", "push-pull", FAN_25)
    assert why_not_moved(two, "S1", "front-zone") == (
        "zone Front zone is taken by Exchanger 1 x 120, 30 mm (E2) and 2 more parts; move or "
        "remove them first"
    )


def two_stacks() -> Layout:
    return insert_item(on_the_floor(), "front-zone", "inner", 0, SLIM_1, "b1")[0]


def three_fans() -> Layout:
    return insert_item(empty_layout(), "floor-zone", "inner", 0, LONG_3, "f1")[0]


def behind_the_bracket() -> Layout:
    return insert_item(empty_layout(), "front-zone", "outer", 0, SLIM_2, "b1")[0]


@pytest.mark.parametrize(
    ("layout", "zone", "reason"),
    [
        (on_the_floor(), "floor-zone", "zone Floor zone has the stack already"),
        (
            on_the_floor(),
            "roof-zone",
            "Fan 120 x 25 (F1) has holes 105 mm apart, zone Roof zone 124.5 mm",
        ),
        (three_fans(), "front-zone", "zone Front zone has 2 cells, the stack stands over 3"),
        (
            two_stacks(),
            "front-zone",
            "zone Front zone is taken by Exchanger 1 x 120, 30 mm (E2); move or remove that first",
        ),
        (
            behind_the_bracket(),
            "floor-zone",
            "zone Floor zone takes nothing on its outer side",
        ),
        (
            set_state(on_the_floor(), "bracket", "out"),
            "front-zone",
            "what carries zone Front zone is taken out; put it back first",
        ),
        (
            set_locked(on_the_floor(), "S1", True),
            "front-zone",
            "the stack on zone Floor zone is locked; unlock it first",
        ),
        (
            set_locked(on_the_floor(), "F2", True),
            "front-zone",
            "Fan 120 x 25 (F2) is locked where it stands and this would move it; unlock it first",
        ),
        (on_the_floor(), "wall", "Edit room has no zone wall"),
    ],
)
def test_where_a_stack_does_not_seat_it_says_why(layout: Layout, zone: str, reason: str) -> None:
    assert why_not_moved(layout, "S1", zone) == reason
    with pytest.raises(EditError) as refused:
        move_stack(layout, "S1", zone)
    assert str(refused.value) == reason


def test_cells_too_far_apart_for_what_spans_them_are_refused() -> None:
    apart = tuple(
        cell.but(v_mm=60 + 135 * k, slot_v_mm=(-3, 3))
        for k, cell in enumerate(across().enclosure.zones[2].cells)
    )
    room = across().enclosure
    roof = room.zones[2].but(cells=apart)
    layout = on_the_floor().but(enclosure=room.but(zones=(FLOOR_ZONE, FRONT_ZONE, roof)))
    assert why_not_moved(layout, "S1", "roof-zone") == (
        "the holes of the stack on zone Floor zone and of zone Roof zone do not meet, wherever it "
        "begins"
    )


def test_what_did_not_seat_before_does_not_hinder_the_rest() -> None:
    # A fan of 140 mm on one of 120 has never fitted; the fan below it meets the front zone.
    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, FAN_25, "f3")
    layout, _ = insert_item(layout, "floor-zone", "inner", 1, FAN_140, "f3")
    moved = move_stack(layout, "S1", "front-zone", "b2")
    assert cells_of(moved) == {"F1": "b2", "F2": "b2"}


def test_a_pump_on_a_fan_goes_along() -> None:
    layout, _ = insert_item(on_the_floor(), "floor-zone", "inner", 2, PUMP, "f2")
    assert cells_of(move_stack(layout, "S1", "front-zone"))["P1"] == "b2"
