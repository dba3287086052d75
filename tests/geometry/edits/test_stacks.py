"""Edits on stacks: insertion, moving, layers, slide; ids, copies of parts, and locks."""

from __future__ import annotations

import pytest
from edit_rooms import (
    ADAPTER,
    BOARD,
    FAN_15,
    FAN_25,
    FAN_140,
    LONG_3,
    MEDIUM_2,
    PUMP,
    SLIM_1,
    SLIM_2,
    empty_layout,
    layers_of,
)

from geometry.edits import (
    EditError,
    drop_in,
    duplicate,
    insert_item,
    insert_row,
    lift_out,
    move_item,
    move_layer,
    nudge,
    remove,
    remove_layer,
    set_locked,
    set_slide,
    set_stack_air,
    set_state,
)
from geometry.layout import Item, Layer, Layout, Stack
from geometry.placement import place_stack


def with_exchanger() -> Layout:
    return insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1")[0]


def test_inserting_into_an_empty_zone_makes_its_stack_and_copies_the_part() -> None:
    layout, item_id = insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1", 2)
    assert item_id == "E1"
    assert layout.stacks == (
        Stack(
            id="S1",
            zone="floor-zone",
            inner=(
                Layer(
                    id="L1",
                    items=(Item(id="E1", part="exchanger-2x120-30", cell="f1", turn=2),),
                ),
            ),
        ),
    )
    assert layout.parts == {"exchanger-2x120-30": SLIM_2}
    assert layout.parts["exchanger-2x120-30"] is SLIM_2


def test_a_fan_joins_a_layer_of_fans_where_its_cell_is_free_and_opens_one_where_it_is_not() -> None:
    layout, first = insert_item(empty_layout(), "floor-zone", "inner", 0, FAN_25, "f1")
    layout, second = insert_item(layout, "floor-zone", "inner", 0, FAN_25, "f2")
    layout, third = insert_item(layout, "floor-zone", "inner", 0, FAN_25, "f2")
    assert (first, second, third) == ("F1", "F2", "F3")
    assert layers_of(layout) == [["F3"], ["F1", "F2"]]


def test_a_pump_plate_shares_a_layer_with_fans_and_an_exchanger_does_not() -> None:
    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, FAN_25, "f1")
    layout, _ = insert_item(layout, "floor-zone", "inner", 0, PUMP, "f2")
    layout, _ = insert_item(layout, "floor-zone", "inner", 0, SLIM_1, "f3")
    assert layers_of(layout) == [["E1"], ["F1", "P1"]]


def test_a_layer_index_past_the_end_means_on_top() -> None:
    layout, _ = insert_item(with_exchanger(), "floor-zone", "inner", 99, FAN_25, "f2")
    assert layers_of(layout) == [["E1"], ["F1"]]


def test_the_outer_side_of_a_zone_takes_its_own_layers() -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "outer", 0, FAN_25, "b1")
    assert layout.stack("S1").outer == (
        Layer(id="L1", items=(Item(id="F1", part="fan-120x25", cell="b1"),)),
    )


@pytest.mark.parametrize(
    ("zone", "side", "cell", "part", "message"),
    [
        ("floor", "inner", "f1", FAN_25, "Edit room has no zone floor"),
        ("floor-zone", "outer", "f1", FAN_25, "zone Floor zone takes nothing on its outer side"),
        ("floor-zone", "inner", "x", FAN_25, "zone Floor zone has no cell x; it has f1, f2, f3"),
        (
            "floor-zone",
            "inner",
            "f1",
            BOARD,
            "Board 170 x 170 has no hole pattern for a stack; place it free in the room",
        ),
    ],
)
def test_what_a_zone_cannot_take_is_refused_with_the_reason(
    zone, side, cell, part, message
) -> None:
    with pytest.raises(EditError) as refused:
        insert_item(empty_layout(), zone, side, 0, part, cell)
    assert str(refused.value) == message


def test_nothing_goes_on_a_bracket_that_is_taken_out() -> None:
    out = set_state(empty_layout(), "bracket", "out")
    with pytest.raises(EditError, match="what carries zone Front zone is taken out; put it back"):
        insert_item(out, "front-zone", "inner", 0, FAN_25, "b1")


def test_a_changed_library_part_of_the_same_id_gets_a_copy_of_its_own() -> None:
    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, FAN_25, "f1")
    changed = FAN_25.but(hub_mm=50.0)
    layout, second = insert_item(layout, "floor-zone", "inner", 0, changed, "f2")
    layout, third = insert_item(layout, "floor-zone", "inner", 0, changed, "f3")
    assert sorted(layout.parts) == ["fan-120x25", "fan-120x25-2"]
    assert layout.parts["fan-120x25-2"] == changed.but(id="fan-120x25-2")
    items = layout.stack("S1").inner[0].items
    assert [(item.id, item.part) for item in items] == [
        ("F1", "fan-120x25"),
        (second, "fan-120x25-2"),
        (third, "fan-120x25-2"),
    ]


def test_removing_the_last_use_drops_the_copy_the_layer_and_the_stack() -> None:
    layout, fan = insert_item(with_exchanger(), "floor-zone", "inner", 1, FAN_25, "f1")
    layout = remove(layout, fan)
    assert layout == with_exchanger()
    assert remove(layout, "E1") == empty_layout()


def test_a_layer_and_a_stack_are_removed_by_their_ids() -> None:
    layout, _ = insert_row(with_exchanger(), "floor-zone", "inner", 1, FAN_25)
    assert layers_of(layout) == [["E1"], ["F1", "F2", "F3"]]
    assert remove_layer(layout, "L2") == remove(layout, "L2") == with_exchanger()
    assert remove(layout, "S1") == empty_layout()
    with pytest.raises(EditError, match="there is no layer L9"):
        remove_layer(layout, "L9")


def test_an_item_moves_to_another_zone_and_its_empty_stack_goes() -> None:
    moved = move_item(with_exchanger(), "E1", "front-zone", "inner", 0, "b1", 2)
    assert [(s.id, s.zone) for s in moved.stacks] == [("S2", "front-zone")]
    assert moved.stack("S2").inner[0].items == (
        Item(id="E1", part="exchanger-2x120-30", cell="b1", turn=2),
    )


def test_a_lone_item_that_moves_on_its_own_zone_keeps_the_stack_with_its_slide() -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, SLIM_1, "b1")
    layout = set_slide(layout, "S1", 4.0, 0.0)
    layout = set_stack_air(layout, "S1", "outward")
    moved = move_item(layout, "E1", "front-zone", "inner", 0, "b2")
    stack = moved.stack("S1")
    assert (stack.slide_u_mm, stack.air, stack.inner[0].items[0].cell) == (4.0, "outward", "b2")


def test_layers_change_places() -> None:
    layout, _ = insert_item(with_exchanger(), "floor-zone", "inner", 1, FAN_25, "f1")
    assert layers_of(move_layer(layout, "L2", 0)) == [["F1"], ["E1"]]
    assert layers_of(move_layer(layout, "L1", 9)) == [["F1"], ["E1"]]
    assert move_layer(layout, "L1", 0) == layout


def test_a_part_lifted_out_stands_where_it_stood_and_keeps_its_id() -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, FAN_25, "b2", 1)
    before = place_stack(layout, layout.stack("S1"))[0].pose
    lifted = lift_out(layout, "F1")
    (free,) = lifted.free
    # u = +z, v = +y, so n = z x y = -x; a quarter turn takes X from u to v.
    # Cell b2: z = 60 + 180, y = 20 + 60; the seat lies on the plate's inner face, x = 480.
    assert (free.id, free.at_mm, free.x_to, free.z_to) == ("F1", (480, 80, 240), "+y", "-x")
    assert before.shift == free.at_mm
    assert lifted.stacks == ()


def test_lifted_out_and_dropped_in_again_is_the_same_stack() -> None:
    layout, _ = insert_item(with_exchanger(), "floor-zone", "inner", 1, FAN_25, "f2")
    again = drop_in(lift_out(layout, "F1"), "F1", "floor-zone", "inner", 1, "f2")
    assert again == layout


def test_a_stack_slides_along_its_zone_only_and_ten_tenths_make_one() -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, FAN_25, "b1")
    for _ in range(10):
        layout = nudge(layout, "F1", (5.0, 0.0, 0.1))
    stack = layout.stack("S1")
    assert (stack.slide_u_mm, stack.slide_v_mm) == (1.0, 0.0)
    with pytest.raises(EditError, match="slides along it only; lift it out to move it away"):
        nudge(layout, "F1", (1.0, 0.0, 0.0))


def test_a_duplicate_fan_takes_the_next_free_cell_and_then_a_layer_on_top() -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, FAN_25, "b1")
    layout, second = duplicate(layout, "F1")
    layout, third = duplicate(layout, "F1")
    assert (second, third) == ("F2", "F3")
    assert layers_of(layout) == [["F1", "F2"], ["F3"]]
    assert layout.stack("S1").inner[0].items[1].cell == "b2"


def test_a_duplicate_keeps_what_is_set_but_not_the_lock() -> None:
    layout = set_locked(with_exchanger(), "E1", True)
    layout, copy = duplicate(layout, "E1")
    assert layout.stack("S1").inner[1].items == (
        Item(id=copy, part="exchanger-2x120-30", cell="f1"),
    )


def test_a_row_goes_on_every_cell_whose_holes_match() -> None:
    layout, ids = insert_row(empty_layout(), "roof-zone", "inner", 0, FAN_140)
    assert (ids, layers_of(layout)) == (("F1", "F2"), [["F1", "F2"]])
    with pytest.raises(EditError, match="no cell of zone Roof zone has the holes of Fan 120 x 25"):
        insert_row(empty_layout(), "roof-zone", "inner", 0, FAN_25)
    with pytest.raises(EditError, match="spans cells"):
        insert_row(empty_layout(), "floor-zone", "inner", 0, LONG_3)


def test_an_adapter_of_one_cell_shares_a_layer_with_adapters_only() -> None:
    layout, _ = insert_item(empty_layout(), "roof-zone", "inner", 0, ADAPTER, "r1")
    layout, _ = insert_item(layout, "roof-zone", "inner", 0, ADAPTER, "r2")
    layout, _ = insert_item(layout, "roof-zone", "inner", 1, FAN_25, "r1")
    assert layers_of(layout) == [["A1", "A2"], ["F1"]]


def locked_exchanger() -> Layout:
    layout, _ = insert_item(with_exchanger(), "floor-zone", "inner", 1, FAN_25, "f1")
    return set_locked(layout, "E1", True)


@pytest.mark.parametrize(
    "edit",
    [
        lambda layout: remove(layout, "E1"),
        lambda layout: move_item(layout, "E1", "front-zone", "inner", 0, "b1"),
        lambda layout: lift_out(layout, "E1"),
        lambda layout: nudge(layout, "E1", (1.0, 0.0, 0.0)),
    ],
)
def test_a_locked_item_is_not_edited(edit) -> None:
    message = r"Exchanger 2 x 120, 30 mm \(E1\) is locked; unlock it first"
    with pytest.raises(EditError, match=message):
        edit(locked_exchanger())


@pytest.mark.parametrize(
    "edit",
    [
        lambda layout: insert_item(layout, "floor-zone", "inner", 0, FAN_15, "f1"),
        lambda layout: move_layer(layout, "L2", 0),
        lambda layout: set_slide(layout, "S1", 1.0, 0.0),
        lambda layout: nudge(layout, "F1", (1.0, 0.0, 0.0)),
        lambda layout: remove_layer(layout, "L1"),
        lambda layout: remove(layout, "S1"),
    ],
)
def test_no_edit_of_other_things_moves_a_locked_item(edit) -> None:
    with pytest.raises(EditError, match="is locked where it stands and this would move it"):
        edit(locked_exchanger())


def test_what_stands_on_a_locked_item_is_free_to_change() -> None:
    layout = locked_exchanger()
    assert layers_of(remove(layout, "F1")) == [["E1"]]
    more, _ = insert_item(layout, "floor-zone", "inner", 2, MEDIUM_2, "f1")
    assert layers_of(more) == [["E1"], ["F1"], ["E2"]]


@pytest.mark.parametrize(
    "edit",
    [
        lambda layout: insert_item(layout, "floor-zone", "inner", 9, FAN_15, "f1"),
        lambda layout: set_slide(layout, "S1", 1.0, 0.0),
        lambda layout: set_stack_air(layout, "S1", "outward"),
        lambda layout: remove(layout, "E1"),
        lambda layout: remove(layout, "S1"),
        lambda layout: move_layer(layout, "L1", 0),
    ],
)
def test_a_locked_stack_is_not_edited_at_all(edit) -> None:
    with pytest.raises(EditError, match="the stack on zone Floor zone is locked; unlock it first"):
        edit(set_locked(with_exchanger(), "S1", True))


def test_unlocking_lets_the_edit_through() -> None:
    layout = set_locked(set_locked(with_exchanger(), "E1", True), "E1", False)
    assert remove(layout, "E1") == empty_layout()
