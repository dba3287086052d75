"""Edits on free parts, and on the layout as a whole."""

from __future__ import annotations

import math

import pytest
from edit_rooms import (
    BOARD,
    BRACKET,
    FAN_25,
    FLOOR_ZONE,
    FRONT_ZONE,
    PUMP,
    ROOM,
    SLIM_2,
    empty_layout,
)

from geometry.edits import (
    EditError,
    add_free,
    duplicate,
    fill_fans,
    insert_item,
    move_free,
    nudge,
    remove,
    replace_enclosure,
    set_head_mm,
    set_held,
    set_locked,
    set_margin,
    set_name,
    set_pose,
    set_projection,
    set_revision,
    set_state,
)
from geometry.layout import FreePart, Held, Layout, PairMargin, Settings
from geometry.placement import place_stack
from geometry.references import reference_faults


def with_pump() -> Layout:
    return add_free(empty_layout(), PUMP, (250, 80, 0))[0]


def test_a_free_part_stands_where_it_is_put_and_its_copy_comes_along() -> None:
    layout, part = add_free(empty_layout(), PUMP, (250, 80.0000000004, -0.0), "-x", "+y")
    assert part == "P1"
    assert layout.free == (
        FreePart(id="P1", part="pump-compact", at_mm=(250, 80, 0), x_to="-x", z_to="+y"),
    )
    assert math.copysign(1, layout.free[0].at_mm[2]) == 1
    assert layout.parts == {"pump-compact": PUMP}
    assert remove(layout, part) == empty_layout()


@pytest.mark.parametrize(
    ("at_mm", "x_to", "z_to", "message"),
    [
        ((10_001, 0, 0), "+x", "+z", "at_mm.*found 10001, expected 10000 or less"),
        ((math.nan, 0, 0), "+x", "+z", "at_mm.*is no finite number"),
        ((0, 0, 0), "+x", "-x", r"z_to: lies along the axis of x_to \(choose another axis"),
    ],
)
def test_impossible_poses_are_refused_in_plain_words(at_mm, x_to, z_to, message) -> None:
    with pytest.raises(EditError, match=message):
        add_free(empty_layout(), PUMP, at_mm, x_to, z_to)
    with pytest.raises(EditError, match=message):
        set_pose(with_pump(), "P1", at_mm, x_to, z_to)


def test_moving_and_nudging() -> None:
    layout = with_pump()
    assert move_free(layout, "P1", (1, 2, 3)).free[0].at_mm == (1, 2, 3)
    assert nudge(layout, "P1", (-0.1, 10, 0)).free[0].at_mm == (249.9, 90, 0)
    with pytest.raises(EditError, match=r"\(P1\) is locked; unlock it first"):
        nudge(set_locked(layout, "P1", True), "P1", (1, 0, 0))
    stacked, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, FAN_25, "f1")
    with pytest.raises(EditError, match=r"\(F1\) is in a stack; lift it out first"):
        move_free(stacked, "F1", (1, 2, 3))


def test_what_holds_a_part_must_be_there() -> None:
    layout, _ = add_free(with_pump(), BOARD, (100, 100, 100))
    for on in ("floor", "bracket", "front-zone", "P1", "lid"):
        held = Held(by="clamp", on=on)
        assert set_held(layout, "B1", held).free[1].held == held
    with pytest.raises(EditError, match="there is nothing called shelf in this layout"):
        set_held(layout, "B1", Held(by="clamp", on="shelf"))
    with pytest.raises(EditError, match="B1 cannot hold itself"):
        set_held(layout, "B1", Held(by="clamp", on="B1"))
    with pytest.raises(EditError, match="zone Floor zone has no cell f7"):
        set_held(layout, "B1", Held(by="zone cells", on="floor-zone", cells=("f1", "f7")))


def test_a_duplicate_stands_one_body_and_one_margin_beside() -> None:
    layout, _ = add_free(empty_layout(), FAN_25, (100, 80, 0))
    layout = set_held(layout, "F1", Held(by="clamp", on="floor"))
    layout, copy = duplicate(layout, "F1")
    # 120 wide and a margin of 2: the copy is 122 further along x, and nothing holds it yet.
    assert layout.free[1] == FreePart(id=copy, part=FAN_25.id, at_mm=(222, 80, 0))
    # From x = 400 the copy would reach 400 + 122 + 60 = 582, past the cavity's 500: other side.
    at_the_wall, _ = add_free(empty_layout(), FAN_25, (400, 80, 0))
    assert duplicate(at_the_wall, "F1")[0].free[1].at_mm == (278, 80, 0)


def test_ids_stay_unique_over_stacks_and_free_parts() -> None:
    layout, first = insert_item(empty_layout(), "floor-zone", "inner", 0, FAN_25, "f1")
    layout, second = add_free(layout, FAN_25, (250, 80, 200))
    layout = remove(layout, first)
    layout, third = insert_item(layout, "floor-zone", "inner", 0, FAN_25, "f1")
    assert (first, second, third) == ("F1", "F2", "F3")


def test_ids_of_the_enclosure_are_not_taken_again() -> None:
    room = ROOM.but(obstacles=(BRACKET, BRACKET.but(id="F7", name="Foot F7")))
    layout = empty_layout().but(enclosure=room)
    assert add_free(layout, FAN_25, (250, 80, 200))[1] == "F8"


def test_name_and_revision() -> None:
    layout = set_revision(set_name(empty_layout(), " Listening post 3 "), "B")
    assert (layout.name, layout.revision) == ("Listening post 3", "B")
    assert layout.enclosure is ROOM
    with pytest.raises(EditError, match='name: found "", which is too short'):
        set_name(layout, "  ")
    with pytest.raises(EditError, match=r"revision: .*too long"):
        set_revision(layout, "ABC")


def test_margins_of_the_layout_and_of_a_pair_of_roles() -> None:
    layout = set_margin(empty_layout(), 3)
    layout = set_margin(layout, 5, ("fitting", "body"))
    layout = set_margin(layout, 4, ("body", "fitting"))
    assert layout.settings == Settings(
        margin_mm=3, margins=(PairMargin(roles=("body", "fitting"), margin_mm=4),)
    )
    assert set_margin(layout, None, ("fitting", "body")).settings == Settings(margin_mm=3)
    with pytest.raises(EditError, match="margin_mm: found -1, expected 0 or more"):
        set_margin(layout, -1)
    with pytest.raises(EditError, match="margin_mm: found -1, expected 0 or more"):
        set_margin(layout, -1, ("body", "body"))
    with pytest.raises(EditError, match="the layout needs a margin"):
        set_margin(layout, None)


def test_other_settings() -> None:
    layout = set_projection(empty_layout(), "first-angle")
    assert layout.settings == Settings(projection="first-angle")


def test_an_obstacle_takes_one_of_its_states() -> None:
    layout = set_state(empty_layout(), "bracket", "out")
    assert layout.states == {"bracket": "out"}
    assert set_state(layout, "bracket", "in-place").states == {"bracket": "in-place"}
    assert set_state(empty_layout(), "bracket", "in-place") == empty_layout()
    with pytest.raises(EditError, match="has no state up; it has in-place, back, out"):
        set_state(layout, "bracket", "up")
    with pytest.raises(EditError, match="Edit room has no obstacle shelf"):
        set_state(layout, "shelf", "out")


def test_another_enclosure_keeps_stacks_that_fit_and_frees_the_rest_where_they_stood() -> None:
    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1")
    layout, _ = insert_item(layout, "front-zone", "inner", 0, FAN_25, "b1")
    layout, _ = insert_item(layout, "front-zone", "inner", 1, FAN_25, "b1")
    layout = set_locked(set_locked(layout, "F1", True), "S2", True)
    layout, _ = add_free(layout, PUMP, (250, 80, 100))
    layout = set_held(layout, "P1", Held(by="clamp", on="bracket"))
    layout = set_state(layout, "bracket", "back")
    stood = {one.id: one.pose.shift for one in place_stack(layout, layout.stack("S2"))}
    other = ROOM.but(id="plain", name="Plain room", zones=(FLOOR_ZONE,), obstacles=())

    moved = replace_enclosure(layout, other)

    assert moved.enclosure is other
    assert moved.stacks == (layout.stack("S1"),)
    assert {free.id: free.at_mm for free in moved.free} == {**stood, "P1": (250, 80, 100)}
    assert all(free.held == Held() for free in moved.free)
    assert moved.states == {}
    # Set back by 10, plate face at 470; the second fan starts 25 further in.
    assert stood == {"F1": (470, 80, 120), "F2": (445, 80, 120)}


@pytest.mark.parametrize(
    "zone",
    [FRONT_ZONE.but(cells=FRONT_ZONE.cells[1:]), FRONT_ZONE.but(inner=None)],
)
def test_a_zone_without_the_cells_or_the_side_in_use_does_not_fit(zone) -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, FAN_25, "b1")
    moved = replace_enclosure(layout, ROOM.but(zones=(zone,)))
    assert (moved.stacks, [free.id for free in moved.free]) == ((), ["F1"])


def test_the_same_enclosure_changes_nothing() -> None:
    layout, _ = insert_item(with_pump(), "front-zone", "inner", 0, FAN_25, "b1")
    layout = set_head_mm(set_state(layout, "bracket", "back"), "F1", 1)
    assert replace_enclosure(layout, ROOM) == layout


def test_parts_whose_ids_the_new_enclosure_uses_itself_are_renamed() -> None:
    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, FAN_25, "f1")
    layout, _ = add_free(layout, FAN_25, (250, 80, 200))
    layout = set_held(layout, "F2", Held(by="clamp", on="F1"))
    clashing = ROOM.but(
        obstacles=(BRACKET, BRACKET.but(id="F1"), BRACKET.but(id="S1"), BRACKET.but(id="L1"))
    )
    moved = replace_enclosure(layout, clashing)
    assert reference_faults(moved) == ()
    (stack,) = moved.stacks
    assert (stack.id, stack.inner[0].id, stack.inner[0].items[0].id) == ("S2", "L2", "F3")
    assert [(free.id, free.held.on) for free in moved.free] == [("F2", "F3")]


def test_what_was_held_on_a_part_that_goes_is_held_by_nothing() -> None:
    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1")
    layout = fill_fans(layout, "S1", "inner", "pull", FAN_25)
    layout, _ = add_free(layout, PUMP, (250, 80, 200))
    held = set_held(layout, "P1", Held(by="adhesive", on="F2"))
    for gone in (
        remove(held, "F2"),
        remove(held, "S1"),
        remove(held, "L2"),
        fill_fans(held, "S1", "inner", "none", FAN_25),
    ):
        assert gone.free[0].held == Held()
    assert remove(held, "F1").free[0].held == Held(by="adhesive", on="F2")


def test_cells_that_are_not_named_are_those_under_the_part() -> None:
    # Cells are 120 wide: f1 spans x 40 to 160, f2 160 to 280, f3 280 to 400; y 20 to 140.
    layout, _ = add_free(empty_layout(), BOARD, (200, 100, 30))
    # The board spans x 115 to 285 and touches all three.
    held = set_held(layout, "B1", Held(by="zone cells", on="floor-zone")).free[0].held
    assert held.cells == ("f1", "f2", "f3")
    named = Held(by="zone cells", on="floor-zone", cells=("f2",))
    assert set_held(layout, "B1", named).free[0].held == named
    fan, _ = add_free(empty_layout(), FAN_25, (220, 80, 0))
    held = set_held(fan, "F1", Held(by="zone cells", on="floor-zone")).free[0].held
    assert held.cells == ("f2",)
