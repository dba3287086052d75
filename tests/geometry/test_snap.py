"""Snapping of free parts to holes, slots, faces and the grid, and of stacks in their slots."""

from __future__ import annotations

import pytest
from edit_rooms import BOARD, FAN_25, ROOM, SLIM_1, empty_layout
from small_rooms import block

from catalog.enclosure import Zone
from catalog.store import Library
from geometry.edits import add_free, insert_item, set_held, set_margin, set_slide
from geometry.layout import Held, Layout
from geometry.measures.pose import Vec
from geometry.scene import Scene, build_scene
from geometry.slots import slot_range
from geometry.snap import Slide, Snap, Snapping, snap, snap_slide

ZONELESS = ROOM.but(zones=(), obstacles=())


def loose_fan(at_mm: Vec, z_to="+z", x_to="+x", layout: Layout | None = None) -> Scene:
    start = layout or empty_layout().but(enclosure=ZONELESS)
    return build_scene(add_free(start, FAN_25, at_mm, x_to, z_to)[0])


def snapped(
    scene: Scene, shift: Vec, part: str = "F1", axes: tuple[int, ...] = (0, 1, 2), **options
) -> Snap:
    snapping = Snapping(**{"tolerance_mm": 4, **options})
    return snap(scene, scene.solids_of[part], shift, snapping, axes=axes)


def test_near_a_wall_it_stands_one_margin_off_and_touches_only_when_pushed_farther() -> None:
    # A fan of 120 x 120 x 25 at x = 300 reaches to 360; the front wall's face is at 500.
    scene = loose_fan((300, 100, 200))
    off = Snap((138, 0, 0), ("x: 2 mm off front wall",))
    touching = Snap((140, 0, 0), ("x: touching front wall",))
    assert snapped(scene, (137.2, 0, 0)) == off
    assert snapped(scene, (139.4, 0, 0)) == off
    assert snapped(scene, (142.0, 0, 0)) == off
    assert snapped(scene, (142.1, 0, 0)) == touching
    assert snapped(scene, (130, 0, 0)) == Snap((130, 0, 0))


def test_a_face_behind_the_end_of_a_part_is_told_from_the_end() -> None:
    # A tube of 150 along x at x = 300, from 225 on; its lugs begin 22 behind its ends, at 247.
    tube = Library().part("reservoir-tube-150")
    scene = build_scene(add_free(empty_layout().but(enclosure=ZONELESS), tube, (300, 100, 200))[0])
    (part,) = scene.placed
    end = snapped(scene, (-222.5, 0, 0), part)
    assert end == Snap((-223, 0, 0), ("x: 2 mm off rear wall",))
    # Under the tube (60 across, its foot lowest at z = 200) a rail meets the lugs alone.
    rail = block("rail", (0, 0, 0), (20, 200, 205))
    low = build_scene(
        add_free(empty_layout().but(enclosure=ZONELESS.but(obstacles=(rail,))), tube,
                 (300, 100, 200))[0]
    )  # fmt: skip
    lug = snapped(low, (-224.5, 0, 0), part, axes=(0,))
    assert lug == Snap((-225, 0, 0), ("x: 2 mm off rail with a face 22.0 mm behind its end",))


def test_nothing_snaps_to_a_thing_in_which_its_end_is_still_stuck() -> None:
    # The same tube: with a lug 2 mm off the rear wall its end would be 20 mm in it.
    tube = Library().part("reservoir-tube-150")
    scene = build_scene(add_free(empty_layout().but(enclosure=ZONELESS), tube, (300, 100, 200))[0])
    (part,) = scene.placed
    assert snapped(scene, (-244.5, 0, 0), part) == Snap((-244.5, 0, 0))


def test_what_is_held_by_a_wall_touches_it() -> None:
    scene = loose_fan((300, 100, 200))
    held = set_held(scene.layout, "F1", Held(by="adhesive", on="front"))
    assert snapped(build_scene(held), (139.4, 0, 0)) == Snap(
        (140, 0, 0), ("x: touching front wall",)
    )


def test_the_margin_is_the_layouts_own() -> None:
    layout = set_margin(empty_layout().but(enclosure=ZONELESS), 7)
    scene = loose_fan((300, 100, 200), layout=layout)
    assert snapped(scene, (132, 0, 0)) == Snap((133, 0, 0), ("x: 7 mm off front wall",))


def test_each_axis_snaps_by_itself() -> None:
    # Floor: the seat from z = 200 down by 200. Access side: y from 40 (100 - 60) by -40. The
    # margin of 2 mm is kept to both.
    scene = loose_fan((300, 100, 200))
    assert snapped(scene, (0, -39, -199.5)) == Snap(
        (0, -38, -198), ("y: 2 mm off access-side wall", "z: 2 mm off floor")
    )


def test_axes_that_the_view_does_not_show_stay() -> None:
    scene = loose_fan((300, 100, 200))
    assert snapped(scene, (0, -39, -199.5), axes=(0, 2)) == Snap(
        (0, -39, -198), ("z: 2 mm off floor",)
    )


def test_a_part_that_would_pass_by_is_no_reason_to_snap() -> None:
    layout = empty_layout().but(enclosure=ZONELESS)
    # The board is 170 wide about (130, 100) at z = 200, so it ends at x = 215, z = 202.
    layout, _ = add_free(layout, BOARD, (130, 100, 200))
    beside = loose_fan((300, 100, 190), layout=layout)
    # The fan starts at 240: 25 to go, less the margin of 2.
    assert snapped(beside, (-24, 0, 0)).shift == (-23, 0, 0)
    above = loose_fan((300, 100, 202), layout=layout)
    assert snapped(above, (-24, 0, 0)) == Snap((-24, 0, 0))


def test_the_grid_catches_the_least_corner_when_nothing_else_is_near() -> None:
    # The least corner stands at (240.3, 40, 200); 10 further it is on the grid of 5 at 250.
    scene = loose_fan((300.3, 100, 200))
    assert snapped(scene, (9, 0, 1), grid_mm=5) == Snap(
        (9.7, 0, 0), ("x: grid", "y: grid", "z: grid")
    )
    assert snapped(scene, (9, 0, 1), grid_mm=5, tolerance_mm=0.5).shift == (9, 0, 1)


def test_faces_go_before_the_grid() -> None:
    scene = loose_fan((300, 100, 200))
    assert snapped(scene, (139.4, 0, 0), grid_mm=1, axes=(0,)).reasons == (
        "x: 2 mm off front wall",
    )


def test_the_modifier_snaps_to_nothing() -> None:
    scene = loose_fan((300, 100, 200))
    shift = (139.4567894, -39.0, -199.5)
    assert snapped(scene, shift, grid_mm=5, enabled=False) == Snap((139.456789, -39, -199.5))


def test_holes_of_a_zone_catch_a_part_that_faces_it() -> None:
    # Cell f2 of the floor zone: x = 40 + 180, y = 20 + 60, the plate at z = 0.
    scene = loose_fan((300, 100, 200), layout=empty_layout())
    assert snapped(scene, (-81, -18, -198)) == Snap(
        (-80, -20, -200),
        ("x: holes of Floor zone", "y: holes of Floor zone", "z: face of Floor zone"),
    )
    # Too far off along y, so the holes do not catch along x either.
    assert snapped(scene, (-81, -10, -199.5)) == Snap((-81, -10, -198), ("z: 2 mm off floor",))
    # Stood on edge, its holes lie across: it meets the floor 60 below its middle, but no holes.
    on_edge = loose_fan((300, 100, 200), "+y", layout=empty_layout())
    assert snapped(on_edge, (-81, -18, -139)).reasons == ("z: 2 mm off floor",)


def test_slots_catch_at_their_middle_and_ends_and_let_pass_between() -> None:
    # Front zone, set on the bracket at x = 480: n = -x, cell b1 at z = 60 + 60, y = 20 + 60, with
    # slots of 10 either way along z. The fan faces it with its seat: z_to = -x.
    scene = loose_fan((300, 80, 120), "-x", "+y", layout=empty_layout())
    to_plate = 180.0
    for wanted, got, word in (
        (1.0, 0.0, "middle of the slots"),
        (8.0, 10.0, "end of the slots"),
        (-12.0, -10.0, "end of the slots"),
    ):
        found = snapped(scene, (to_plate, 0, wanted), tolerance_mm=3)
        assert (found.shift, found.reasons[-1]) == (
            (to_plate, 0, got),
            f"z: {word} of Front zone",
        )
    assert snapped(scene, (to_plate, 0, 5.0), tolerance_mm=3).shift == (to_plate, 0, 5)


def test_a_fan_snaps_onto_a_free_exchanger() -> None:
    layout, _ = add_free(empty_layout().but(enclosure=ZONELESS), SLIM_1, (250, 100, 100))
    scene = loose_fan((200, 100, 300), layout=layout)
    # The core is 30 thick: its far face is at z = 130.
    assert snapped(scene, (48.5, 1, -169)) == Snap(
        (50, 0, -170),
        tuple(
            f"{axis}: {what} of Exchanger 1 x 120, 30 mm"
            for axis, what in (("x", "holes"), ("y", "holes"), ("z", "face"))
        ),
    )


def in_slots(slide: float = 0.0) -> Scene:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, FAN_25, "b1")
    return build_scene(set_slide(layout, "S1", slide, 0.0))


def slid(scene: Scene, by: tuple[float, float], **options) -> Slide:
    stack = scene.layout.stacks[0]
    return snap_slide(scene, stack, by, Snapping(**{"tolerance_mm": 2, **options}))


def test_a_stack_snaps_to_the_middle_and_the_ends_of_its_slots() -> None:
    scene = in_slots(3.0)
    stack = scene.layout.stacks[0]
    assert slot_range(scene.items_of(stack), 0) == (-10, 10)
    assert slot_range(scene.items_of(stack), 1) == (0, 0)
    assert slid(scene, (-2.0, 0.5)) == Slide(0, 0, ("u: middle of the slots", "v: holes"))
    assert slid(scene, (5.5, 0.0)) == Slide(10, 0, ("u: end of a slot", "v: holes"))
    assert slid(scene, (1.6, 0.0), grid_mm=5) == Slide(5, 0, ("u: grid", "v: holes"))
    assert slid(scene, (1.6, 0.5), enabled=False) == Slide(4.6, 0.5)


def test_a_stack_snaps_to_what_stands_in_its_way() -> None:
    # The fan on b1 spans z from 60 to 180. A fan that stands below ends at z = 54.
    layout, _ = add_free(in_slots().layout, FAN_25, (460, 80, 29))
    scene = build_scene(layout)
    assert slid(scene, (-7.5, 0)) == Slide(-6, 0, ("z: touching Fan 120 x 25", "v: holes"))
    assert slid(scene, (-5.5, 0)) == Slide(-4, 0, ("z: 2 mm off Fan 120 x 25", "v: holes"))
    assert slid(scene, (-4.5, 0)) == Slide(-4, 0, ("z: 2 mm off Fan 120 x 25", "v: holes"))


def test_a_stack_that_hangs_over_has_the_slots_of_its_own_seats_only() -> None:
    narrow = ROOM.zones[1].cells[1].but(slot_u_mm=(-4.0, 20.0))
    zone: Zone = ROOM.zones[1].but(cells=(ROOM.zones[1].cells[0], narrow))
    layout = empty_layout().but(enclosure=ROOM.but(zones=(zone,)))
    layout, _ = insert_item(layout, "front-zone", "inner", 0, FAN_25, "b1")
    layout, _ = insert_item(layout, "front-zone", "inner", 0, FAN_25, "b2")
    scene = build_scene(layout)
    # Both slots must hold: from the greater start to the lesser end.
    assert slot_range(scene.items_of(layout.stacks[0]), 0) == (-4, 10)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_shift_that_is_exact_already_is_left_alone(axis) -> None:
    scene = loose_fan((60, 60, 0))
    assert snapped(scene, (0, 0, 0), axes=(axis,)).shift == (0, 0, 0)
