"""What advice tells to move can be moved: not what is locked, nor what is bolted the other way."""

from __future__ import annotations

from small_rooms import (
    IN_OR_OUT,
    block,
    brick,
    exchanger,
    fan,
    fan_layer,
    found,
    free,
    layout,
    one,
    room,
    row,
    stack,
    zone,
)

from geometry.checks.movable import can_go, room_to_go_mm
from geometry.checks.runner import check_layout
from geometry.layout import FreePart, Layout
from geometry.measures.pose import Way, way

CORE, BLOWER, BRICK = exchanger(2, 30), fan(25), brick("brick", (60, 60, 60))


def on_the_front(
    *frees: FreePart,
    slot_u_mm: float = 0.0,
    obstacles: tuple = (),
    locked: bool = False,
    turn: int = 0,
) -> Layout:
    """A stack on the front wall: fans of 25 mm, a core of 30, which reach x = 345.

    Its core stands from z = 60 to 300, the port end to 330, the fittings at x = 321.
    """
    own = zone("front-zone", "front", (400, 40, 60), "+z", "+y", row(2, slot_u_mm=slot_u_mm))
    layers = (fan_layer("A", BLOWER, ("c1", "c2")), one("E", CORE, turn=turn))
    return layout(
        room((400, 200, 400), [own], obstacles),
        [CORE, BLOWER, BRICK],
        [stack("S", "front-zone", *layers, locked=locked)],
        frees,
    )


def advice(lay: Layout, kind: str) -> str:
    return found(check_layout(lay, remedies=False).report, kind).advice


def test_a_locked_part_in_the_depth_of_a_stack_stays_and_the_stack_is_to_be_thinner() -> None:
    # The brick's far face, x = 350, is 5 mm in the core.
    at = (320, 100, 4)
    assert advice(on_the_front(free("P", BRICK, at)), "leftover_depth").startswith(
        "Move brick (P) 7.0 mm to the rear, so that the margin of 2.0 mm is kept."
    )
    assert advice(on_the_front(free("P", BRICK, at, locked=True)), "leftover_depth") == (
        "Make the stack 7.0 mm thinner, so that the margin of 2.0 mm is kept: thinner parts. "
        "brick (P) is locked where it stands."
    )


def test_of_two_free_parts_the_one_moves_that_is_not_locked() -> None:
    # 10 mm are shared along x.
    def two(**more: object) -> Layout:
        frees = (free("P", BRICK, (100, 100, 4), **more), free("Q", BRICK, (150, 100, 4)))
        return layout(room((400, 200, 400)), [BRICK], [], frees)

    to_the = "by 10.0 mm to the {} to touch, by 12.0 mm to keep the margin."
    assert advice(two(), "overlap") == f"Move brick (P) {to_the.format('rear')}"
    assert advice(two(locked=True), "overlap") == f"Move brick (Q) {to_the.format('front')}"
    both = two(locked=True)
    both = both.but(free=tuple(each.but(locked=True) for each in both.free))
    assert advice(both, "overlap") == (
        "brick (P) is locked and cannot move by 10.0 mm to the rear to touch, by 12.0 mm to keep "
        "the margin."
    )


def test_what_can_be_taken_out_is_told_beside_what_cannot_move() -> None:
    rib = block("rib", (125, 0, 0), (145, 200, 300), states=IN_OR_OUT)
    lay = layout(room((400, 200, 400), [], [rib]), [BRICK], [], [free("P", BRICK, (100, 100, 4))])
    assert advice(lay, "overlap").endswith("to keep the margin, or take out rib.")
    locked = lay.but(free=(lay.free[0].but(locked=True),))
    assert advice(locked, "overlap").endswith("to keep the margin. Take out rib.")


def test_a_stack_in_round_holes_is_not_told_to_slide_along_its_wall() -> None:
    # The port end reaches z = 330; a shelf begins at 325, so 5 mm and the margin are missing.
    shelf = block("shelf", (300, 0, 325), (400, 200, 335))
    asked = "Exchanger 2 x 120, 30 (E)"
    assert advice(on_the_front(obstacles=(shelf,), slot_u_mm=8.0), "port_end") == (
        f"Move {asked} 7.0 mm down."
    )
    assert advice(on_the_front(obstacles=(shelf,)), "port_end") == (
        f"{asked} is bolted to front zone and cannot move 7.0 mm down."
    )
    assert advice(on_the_front(obstacles=(shelf,), slot_u_mm=8.0, locked=True), "port_end") == (
        f"{asked} is locked and cannot move 7.0 mm down."
    )


def test_a_stack_is_told_to_slide_no_farther_than_its_slots_leave_room() -> None:
    # 7 mm are asked for, as above.
    shelf = block("shelf", (300, 0, 325), (400, 200, 335))
    asked = "Exchanger 2 x 120, 30 (E)"

    def told(slot_u_mm: float, slide_u_mm: float = 0.0) -> str:
        lay = on_the_front(obstacles=(shelf,), slot_u_mm=slot_u_mm)
        (own,) = lay.stacks
        return advice(lay.but(stacks=(own.but(slide_u_mm=slide_u_mm),)), "port_end")

    short = f"{asked} is bolted to front zone, whose slots leave"
    for slot_mm in (1.0, 2.0, 6.9):
        assert told(slot_mm) == f"{short} {slot_mm:.1f} mm, and cannot move 7.0 mm down."
    assert told(7.0) == f"Move {asked} 7.0 mm down."
    # Slid 1 mm down already: 6 mm more are asked for and 5 are left, up it could go 7.
    assert told(6.0, -1.0) == f"{short} 5.0 mm, and cannot move 6.0 mm down."
    assert told(7.0, -1.0) == f"Move {asked} 6.0 mm down."


def test_slots_that_are_too_short_leave_the_free_part_to_move() -> None:
    # The brick's underside lies 5 mm in the port end: z = 325 to 385.
    brick_in_it = free("P", BRICK, (360, 100, 325))
    told = {
        slot: advice(on_the_front(brick_in_it, slot_u_mm=slot), "port_end") for slot in (6.0, 7.0)
    }
    assert told == {
        6.0: "Move brick (P) 7.0 mm up.",
        7.0: "Move Exchanger 2 x 120, 30 (E) 7.0 mm down.",
    }


def test_the_free_part_gives_way_to_what_is_bolted() -> None:
    # The brick stands 1 mm over the port end: z = 331 to 391.
    lay = on_the_front(free("P", BRICK, (360, 100, 331)))
    assert advice(lay, "port_end") == "Move brick (P) 1.0 mm up."


def test_a_stack_goes_as_far_as_its_slots_leave_room() -> None:
    scene = check_layout(on_the_front(slot_u_mm=8.0), remedies=False).scene
    ways = [name for name in ("+x", "-x", "+y", "-y", "+z", "-z") if can_go(scene, "E", way(name))]
    assert ways == ["+z", "-z"]
    assert can_go(scene, "E", None)
    at_the_end = on_the_front(slot_u_mm=8.0)
    at_the_end = at_the_end.but(stacks=(at_the_end.stacks[0].but(slide_u_mm=8.0),))
    scene = check_layout(at_the_end, remedies=False).scene
    assert not can_go(scene, "E", Way(2, 1))
    assert can_go(scene, "E", Way(2, -1))
    assert not can_go(scene, "front", None)
    # 16 mm from one end of its slots to the other.
    assert room_to_go_mm(scene, "E", Way(2, -1)) == 16.0
    assert can_go(scene, "E", Way(2, -1), 16.0)
    assert not can_go(scene, "E", Way(2, -1), 16.1)


def test_a_move_is_told_in_millimetres_where_the_worst_case_is_judged_too() -> None:
    # 7 mm are asked for, as above, and tolerances may ask for more.
    shelf = block("shelf", (300, 0, 325), (400, 200, 335))
    lay = on_the_front(obstacles=(shelf,), slot_u_mm=8.0)
    at_worst = lay.but(settings=lay.settings.but(judge="worst_case"))
    asked = "Exchanger 2 x 120, 30 (E)"
    assert advice(at_worst, "port_end") == f"Move {asked} at least 7.0 mm down."
    # Two bricks of 60, 0.5 mm apart.
    frees = (free("P", BRICK, (100, 100, 4)), free("Q", BRICK, (160.5, 100, 4)))
    near = layout(room((400, 200, 400)), [BRICK], [], frees)
    near = near.but(settings=near.settings.but(judge="worst_case"))
    assert advice(near, "clearance") == "Move brick (P) at least 1.5 mm to the rear."
