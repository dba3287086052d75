"""Edits on one part: turning, air, thickness, swapping, ports."""

from __future__ import annotations

import pytest
from edit_rooms import (
    BOARD,
    FAN_15,
    FAN_25,
    FAN_38,
    FITTING,
    MEDIUM_2,
    MEDIUM_2_4P,
    PARTS,
    PUMP,
    SLIM_2,
    THICK_2,
    empty_layout,
)

from geometry.edits import (
    EditError,
    add_free,
    flip_port_end,
    insert_item,
    next_thickness,
    plug_port,
    rotate,
    set_air,
    set_fitting,
    set_head_mm,
    set_locked,
    set_port,
    swap_part,
    toggle_air,
    turn_over,
)
from geometry.layout import FreePart, Item, Layout, PortUse
from geometry.placement import place_stack


def on_floor(part=SLIM_2) -> Layout:
    return insert_item(empty_layout(), "floor-zone", "inner", 0, part, "f1")[0]


def item(layout: Layout) -> Item:
    return layout.stacks[0].inner[0].items[0]


def free(layout: Layout) -> FreePart:
    return layout.free[0]


def test_flipping_the_port_end_points_it_the_other_way_and_back() -> None:
    layout = on_floor()
    flipped = flip_port_end(layout, "E1")
    before = place_stack(layout, layout.stacks[0])[0].pose
    after = place_stack(flipped, flipped.stacks[0])[0].pose
    assert (before.x.name, after.x.name, after.z.name) == ("+x", "-x", "+z")
    assert before.shift == after.shift
    assert flip_port_end(flipped, "E1") == layout


def test_turning_over_points_the_ports_at_the_plate_and_keeps_the_port_end() -> None:
    turned = turn_over(on_floor(), "E1")
    pose = place_stack(turned, turned.stacks[0])[0].pose
    assert (pose.x.name, pose.z.name) == ("+x", "-z")
    assert turn_over(turned, "E1") == on_floor()


def test_a_stacked_part_turns_by_quarters_and_about_its_normal_only() -> None:
    layout = on_floor(FAN_25)
    assert [item(rotate(layout, "F1", n)).turn for n in (1, 3, -1, 5)] == [1, 3, 3, 1]
    with pytest.raises(EditError, match="turns only about the zone's normal; lift it out first"):
        rotate(layout, "F1", 1, "+x")


def test_a_free_part_turns_in_its_middle() -> None:
    # The fan is 120 x 120 x 25, its middle 12.5 above its seat: (100, 80, 62.5).
    layout, fan = add_free(empty_layout(), FAN_25, (100, 80, 50))
    about_y = rotate(layout, fan, 1, "+y")
    # A quarter turn about y takes z to x: the seat is 12.5 behind the middle along x.
    assert free(about_y) == FreePart(
        id="F1", part="fan-120x25", at_mm=(87.5, 80, 62.5), x_to="-z", z_to="+x"
    )
    assert rotate(about_y, fan, 3, "+y") == layout
    # A half turn about X puts the seat on top: 12.5 above the middle.
    assert free(turn_over(layout, fan)).at_mm == (100, 80, 75)


def test_a_lopsided_free_part_turns_in_the_middle_of_its_body() -> None:
    # The body runs in X from -120 - 15 to 120 + 20, so its middle lies at X = 2.5.
    layout, part = add_free(empty_layout(), SLIM_2, (250, 80, 10))
    flipped = flip_port_end(layout, part)
    # The middle stays at x = 252.5; the seat's middle is now 2.5 on its other side.
    assert (free(flipped).at_mm, free(flipped).x_to) == ((255, 80, 10), "-x")


def test_air_is_set_on_stacked_fans_and_turned_over_on_free_ones() -> None:
    layout = on_floor(FAN_25)
    against = toggle_air(layout, "F1")
    assert (item(against).air, toggle_air(against, "F1")) == ("against", layout)
    assert set_air(layout, "F1", "with") == layout
    loose, fan = add_free(empty_layout(), FAN_25, (100, 80, 50))
    assert free(toggle_air(loose, fan)).z_to == "-z"
    with pytest.raises(EditError, match="only a fan has an air direction"):
        toggle_air(on_floor(), "E1")
    with pytest.raises(EditError, match="is not in a stack; drop it into a zone first"):
        set_air(loose, fan, "against")


def test_the_next_thickness_keeps_all_else() -> None:
    layout = set_head_mm(flip_port_end(on_floor(), "E1"), "E1", 1.5)
    thicker = next_thickness(layout, "E1", PARTS)
    assert thicker.parts == {MEDIUM_2.id: MEDIUM_2}
    assert item(thicker) == item(layout).but(part=MEDIUM_2.id)
    assert next_thickness(thicker, "E1", PARTS).parts == {THICK_2.id: THICK_2}
    assert next_thickness(thicker, "E1", PARTS, -1) == layout


def test_of_equally_thick_parts_the_most_alike_is_taken() -> None:
    # 45 mm comes with two ports and with four; from a 60 with two, the one with two is nearer.
    assert MEDIUM_2_4P.core_thickness_mm == MEDIUM_2.core_thickness_mm
    layout = on_floor(THICK_2)
    for order in (PARTS, PARTS[::-1]):
        assert list(next_thickness(layout, "E1", order, -1).parts) == [MEDIUM_2.id]


def test_fans_step_through_their_thicknesses_to_the_end() -> None:
    layout = on_floor(FAN_15)
    layout = next_thickness(next_thickness(layout, "F1", PARTS), "F1", PARTS)
    assert list(layout.parts) == [FAN_38.id]
    with pytest.raises(EditError, match="there is no thicker fan of 120 mm in the library"):
        next_thickness(layout, "F1", PARTS)
    with pytest.raises(
        EditError, match="there is no thinner exchanger with a core of 240 x 120 mm in the library"
    ):
        next_thickness(on_floor(), "E1", PARTS, -1)
    with pytest.raises(EditError, match="does not come in thicknesses"):
        next_thickness(on_floor(PUMP), "P1", PARTS)


def test_a_swapped_part_keeps_id_place_and_the_ports_it_still_has() -> None:
    layout = on_floor(MEDIUM_2_4P)
    layout = plug_port(plug_port(layout, "E1", "p1"), "E1", "p4")
    swapped = swap_part(layout, "E1", MEDIUM_2)
    assert item(swapped) == Item(
        id="E1", part=MEDIUM_2.id, cell="f1", ports={"p1": PortUse(plugged=True)}
    )
    with pytest.raises(EditError, match="has no hole pattern for a stack"):
        swap_part(layout, "E1", BOARD)
    loose, part = add_free(empty_layout(), SLIM_2, (250, 80, 10))
    assert swap_part(loose, part, BOARD).free == (free(loose).but(part=BOARD.id),)


def test_head_height_is_checked() -> None:
    assert item(set_head_mm(on_floor(), "E1", 2)).head_mm == 2.0
    with pytest.raises(EditError, match=r"head_mm: found -1, expected 0 or more"):
        set_head_mm(on_floor(), "E1", -1)


def test_a_fitting_is_copied_in_and_dropped_with_its_last_use() -> None:
    layout = set_fitting(on_floor(), "E1", "p1", FITTING)
    assert sorted(layout.parts) == [SLIM_2.id, FITTING.id]
    assert item(layout).ports == {"p1": PortUse(fitting=FITTING.id)}
    plugged = plug_port(layout, "E1", "p1")
    assert (sorted(plugged.parts), item(plugged).ports) == (
        [SLIM_2.id],
        {"p1": PortUse(plugged=True)},
    )
    assert item(set_fitting(plugged, "E1", "p1", None)).ports == {"p1": PortUse()}


def test_ports_and_fittings_that_are_not_there_are_refused() -> None:
    with pytest.raises(EditError, match="has no port p7; it has p1, p2"):
        plug_port(on_floor(), "E1", "p7")
    with pytest.raises(EditError, match="has no port p1; it has none"):
        plug_port(on_floor(FAN_25), "F1", "p1")
    for fitting in ("fitting-16x18", SLIM_2.id):
        with pytest.raises(EditError, match=f"there is no fitting {fitting} in this layout"):
            set_port(on_floor(), "E1", "p1", PortUse(fitting=fitting))


def test_a_free_pump_has_ports_too() -> None:
    layout, pump = add_free(empty_layout(), PUMP, (250, 80, 10))
    assert free(plug_port(layout, pump, "in")).ports == {"in": PortUse(plugged=True)}


@pytest.mark.parametrize(
    "edit",
    [
        flip_port_end,
        turn_over,
        rotate,
        toggle_air,
        lambda layout, part: next_thickness(layout, part, PARTS),
        lambda layout, part: swap_part(layout, part, FAN_38),
        lambda layout, part: plug_port(layout, part, "in"),
    ],
)
def test_locked_parts_are_not_edited(edit) -> None:
    stacked = set_locked(on_floor(FAN_25), "F1", True)
    loose, part = add_free(empty_layout(), FAN_25, (100, 80, 50))
    for layout in (stacked, set_locked(loose, part, True)):
        with pytest.raises(EditError, match=r"Fan 120 x 25 \(F1\) is locked; unlock it first"):
            edit(layout, "F1")


def test_an_unknown_id_is_named() -> None:
    for edit in (flip_port_end, turn_over, toggle_air):
        with pytest.raises(EditError, match="there is no part X1 in this layout"):
            edit(empty_layout(), "X1")
