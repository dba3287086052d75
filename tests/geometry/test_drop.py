"""Where a dragged part comes down, seen from the side, from below and from the front."""

from __future__ import annotations

import pytest
from edit_rooms import (
    BOARD,
    FAN_25,
    FAN_140,
    LONG_3,
    M140,
    PUMP,
    SLIM_2,
    empty_layout,
    layers_of,
)

from geometry.checks.runner import check_layout
from geometry.drop import (
    Aim,
    Carried,
    Drop,
    DropPlaces,
    best_drop,
    depth_of,
    drop_targets,
    zones_for,
)
from geometry.edits import (
    EditError,
    add_free,
    fill_fans,
    insert_item,
    move_free,
    set_locked,
    set_slide,
    set_state,
)
from geometry.layout import Layout
from geometry.scene import Scene, build_scene
from geometry.snap import Snapping

SIDE, BELOW, END = 1, 2, 0


def room(layout: Layout | None = None) -> Scene:
    return build_scene(layout or empty_layout())


def cooled() -> Layout:
    """A slim exchanger on cells f1 and f2 of the floor with pushing fans: 25 + 30 deep."""
    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1")
    return fill_fans(layout, "S1", "inner", "push", FAN_25)


def test_zones_light_up_when_every_hole_of_the_part_finds_one() -> None:
    scene = room()
    assert zones_for(drop_targets(scene, FAN_25)) == ("floor-zone", "front-zone")
    assert zones_for(drop_targets(scene, FAN_140)) == ("roof-zone",)
    assert zones_for(drop_targets(scene, LONG_3)) == ("floor-zone",)
    assert zones_for(drop_targets(scene, BOARD)) == ()


def test_a_bracket_that_is_out_and_a_locked_stack_take_nothing() -> None:
    layout = set_state(set_locked(cooled(), "S1", True), "bracket", "out")
    assert drop_targets(room(layout), FAN_25) == ()


def test_each_cell_offers_its_places_from_the_plate_outwards() -> None:
    found = [
        (t.cell, t.layer_index, t.middle[2], t.displaces)
        for t in drop_targets(room(cooled()), FAN_25)
        if t.zone == "floor-zone"
    ]
    # Fans 0 to 25, core 25 to 55. Over f1 a fan goes under all, between, or on top; f3 is empty,
    # and the same place is offered once.
    assert found == [
        ("f1", 0, 12.5, True),
        ("f1", 1, 37.5, True),
        ("f1", 2, 67.5, False),
        ("f2", 0, 12.5, True),
        ("f2", 1, 37.5, True),
        ("f2", 2, 67.5, False),
        ("f3", 0, 12.5, False),
    ]


def test_an_exchanger_is_offered_lengthwise_only_where_the_cells_lie_that_way() -> None:
    turns = {t.zone: t.turns for t in drop_targets(room(), SLIM_2) if t.fits}
    # Cells along u in both zones, so X along u, either way round.
    assert turns == {"floor-zone": (0, 2), "front-zone": (0, 2)}


def dropped(scene: Scene, part, view: int, point, *, moving=None, grab=None, **options) -> Drop:
    return best_drop(scene, Carried(part, moving, grab), Aim(view, point), **options)


def drop_at(scene: Scene, part, view: int, point, **options):
    """Return the drop, and the layers or the free parts that its edit gives."""
    drop = dropped(scene, part, view, point, **options)
    layout, part_id = drop.edit(scene.layout)
    return drop, layout, part_id


def test_seen_from_the_side_a_fan_goes_to_the_cell_and_the_layer_under_the_pointer() -> None:
    scene = room(cooled())
    for point, layers in (
        ((100.0, None, 70.0), [["F1", "F2"], ["E1"], ["F3"]]),
        ((100.0, None, 40.0), [["F1", "F2"], ["F3"], ["E1"]]),
        ((100.0, None, 5.0), [["F3"], ["F1", "F2"], ["E1"]]),
        ((340.0, None, 20.0), [["F1", "F2", "F3"], ["E1"]]),
    ):
        drop, layout, part_id = drop_at(scene, FAN_25, SIDE, point)
        assert (part_id, layers_of(layout)) == ("F3", layers)
        assert drop.name == "Add Fan 120 x 25"


def test_a_stack_seen_edge_on_goes_before_one_seen_face_on() -> None:
    # Seen from the front, the front zone lies face on behind the floor zone.
    drop = dropped(room(), FAN_25, END, (None, 80.0, 30.0))
    assert drop.target is not None
    assert drop.target.zone == "floor-zone"
    higher = dropped(room(), FAN_25, END, (None, 80.0, 120.0))
    assert higher.target is not None
    assert (higher.target.zone, higher.target.cell) == ("front-zone", "b1")


def test_seen_edge_on_an_empty_cell_is_taken_before_one_that_is_full() -> None:
    layout, _ = insert_item(empty_layout(), "roof-zone", "inner", 0, FAN_140, "r1")
    # From the access side both roof cells lie at different x; seen from the front they are in
    # line, and r2 is nearer to the viewer.
    for taken, wanted in (("r1", "r2"), ("r2", "r1")):
        layout, _ = insert_item(empty_layout(), "roof-zone", "inner", 0, FAN_140, taken)
        drop = dropped(room(layout), FAN_140, END, (None, 90.0, 385.0))
        assert drop.target is not None
        assert drop.target.cell == wanted
    drop = dropped(room(), FAN_140, END, (None, 90.0, 385.0))
    assert drop.target is not None
    assert drop.target.cell == "r2"


def test_a_new_exchanger_goes_where_its_own_middle_fits_best() -> None:
    # On f1 and f2 its middle is at 160, on f2 and f3 at 280 (and 2.5 more for the longer tank).
    for x, cell in ((150.0, "f1"), (290.0, "f2")):
        drop, _, _ = drop_at(room(), SLIM_2, SIDE, (x, None, 20.0))
        assert drop.target is not None
        assert (drop.target.zone, drop.target.cell, drop.target.fits) == ("floor-zone", cell, True)


def test_a_long_exchanger_starts_where_all_its_cells_lie_over_the_zone() -> None:
    # The floor zone reaches from x = 40 to 400 and takes three cells from f1 only; from f2 the
    # exchanger would hang over its end, wherever over the zone the pointer is.
    for x in (60.0, 220.0, 345.0, 390.0):
        drop = dropped(room(), LONG_3, SIDE, (x, None, 15.0))
        assert drop.target is not None
        assert (drop.target.zone, drop.target.cell, drop.target.hangs) == (
            "floor-zone",
            "f1",
            False,
        )


def test_a_long_exchanger_of_other_holes_does_not_hang_over_either() -> None:
    # The second of its cells has other holes, so that it fits nowhere wholly.
    odd = LONG_3.cells[1].but(accepts=(M140,))
    core = LONG_3.but(cells=(LONG_3.cells[0], odd, LONG_3.cells[2]))
    drop = dropped(room(), core, SIDE, (340.0, None, 15.0))
    assert drop.target is not None
    assert (drop.target.cell, drop.target.fits, drop.target.hangs) == ("f1", False, False)


def test_a_part_too_long_for_a_zone_goes_there_only_when_nothing_else_is_near() -> None:
    drop = dropped(room(), LONG_3, SIDE, (460.0, None, 240.0))
    assert drop.target is not None
    assert (drop.target.zone, drop.target.fits) == ("front-zone", False)


def test_far_from_all_zones_a_part_is_free_and_snaps() -> None:
    # A new fan is 25 high on its seat, and stands in the middle of the depth: y = 100.
    drop, layout, part_id = drop_at(room(), FAN_25, SIDE, (250.2, None, 200.0))
    (free,) = layout.free
    assert (drop.target, part_id) == (None, "F1")
    # Wanted middle 200 means a seat at 187.5, on the grid of 1 mm 188 (ties to even).
    assert free.at_mm == (250, 100, 188)
    assert drop.reasons == ("x: grid", "z: grid")


def test_without_snapping_zones_do_not_catch_either() -> None:
    drop, layout, _ = drop_at(
        room(), FAN_25, SIDE, (100.2, None, 20.4), snapping=Snapping(enabled=False)
    )
    assert (drop.target, layout.free[0].at_mm) == (None, (100.2, 100, 7.9))


def test_seen_from_below_a_new_part_stands_on_the_floor() -> None:
    _, layout, _ = drop_at(room(), BOARD, BELOW, (250.0, 100.0, None))
    assert layout.free[0].at_mm == (250, 100, 0)


def test_a_stacked_item_moves_to_another_zone_with_its_id() -> None:
    scene = room(cooled())
    drop, layout, part_id = drop_at(
        scene,
        FAN_25,
        SIDE,
        (468.0, None, 120.0),
        moving="F2",
        grab=(220.0, None, 12.0),
    )
    assert drop.name == "Move Fan 120 x 25"
    assert (part_id, layers_of(layout, "S1"), layers_of(layout, "S2")) == (
        "F2",
        [["F1"], ["E1"]],
        [["F2"]],
    )


def test_a_stacked_item_dragged_a_little_stays_where_it_is() -> None:
    scene = room(cooled())
    _, layout, _ = drop_at(
        scene, FAN_25, SIDE, (225.0, None, 14.0), moving="F2", grab=(220.0, None, 12.0)
    )
    assert layout.stacks == scene.layout.stacks


def test_a_stacked_item_dragged_far_into_the_room_becomes_free() -> None:
    scene = room(cooled())
    drop, layout, part_id = drop_at(
        scene, FAN_25, SIDE, (230.0, None, 212.0), moving="F2", grab=(220.0, None, 12.0)
    )
    assert (drop.target, part_id, layers_of(layout)) == (None, "F2", [["F1"], ["E1"]])
    # It stood on f2 at (220, 80, 0) and was dragged by (10, 200).
    assert layout.free[0].at_mm == (230, 80, 200)


def test_a_stack_with_slots_slides_when_dragged_along_them() -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, FAN_25, "b1")
    scene = room(set_slide(layout, "S1", 2.0, 0.0))
    drop, slid, _ = drop_at(
        scene, FAN_25, SIDE, (470.0, None, 125.2), moving="F1", grab=(470.0, None, 121.0)
    )
    assert (drop.name, drop.slide_mm) == ("Slide stack", (6, 0))
    assert slid.stacks[0].slide_u_mm == 6
    end = dropped(scene, FAN_25, SIDE, (470.0, None, 128.0), moving="F1", grab=(470.0, None, 121.0))
    assert (end.slide_mm, end.reasons[0]) == ((10, 0), "u: end of a slot")
    freely = dropped(
        scene,
        FAN_25,
        SIDE,
        (470.0, None, 125.2),
        moving="F1",
        grab=(470.0, None, 121.0),
        snapping=Snapping(enabled=False),
    )
    assert (freely.slide_mm, freely.reasons) == ((6.2, 0), ())


def test_a_free_part_moves_with_the_pointer_and_drops_in_where_it_fits() -> None:
    layout, _ = add_free(cooled(), FAN_25, (250, 100, 250))
    scene = room(layout)
    _, moved, _ = drop_at(
        scene, FAN_25, SIDE, (260.0, None, 230.0), moving="F3", grab=(250.0, None, 260.0)
    )
    assert moved.free[0].at_mm == (260, 100, 220)
    # Its middle, 262.5 at first, is dragged to z = 62.5.
    _, dropped, part_id = drop_at(
        scene, FAN_25, SIDE, (100.0, None, 60.0), moving="F3", grab=(250.0, None, 260.0)
    )
    assert (part_id, dropped.free, layers_of(dropped)) == ("F3", (), [["F1", "F2"], ["E1"], ["F3"]])


def test_a_free_part_far_from_a_zone_seen_face_on_is_not_caught_by_it() -> None:
    # Seen from below the floor zone lies face on; the fan's depth is known to be far above it.
    layout, _ = add_free(empty_layout(), FAN_25, (250, 100, 250))
    high = dropped(
        room(layout), FAN_25, BELOW, (230.0, 90.0, None), moving="F1", grab=(250.0, 100.0, None)
    )
    assert high.target is None
    low = dropped(
        room(move_free(layout, "F1", (250, 100, 30))),
        FAN_25,
        BELOW,
        (230.0, 90.0, None),
        moving="F1",
        grab=(250.0, 100.0, None),
    )
    assert low.target is not None
    assert (low.target.zone, low.target.cell) == ("floor-zone", "f2")


def test_targets_found_once_serve_the_whole_drag() -> None:
    scene = room(cooled())
    targets = drop_targets(scene, PUMP)
    for x in range(40, 400, 40):
        point = (float(x), None, 60.0)
        assert dropped(scene, PUMP, SIDE, point, targets=targets) == dropped(
            scene, PUMP, SIDE, point
        )


def test_a_locked_item_is_not_dragged_away() -> None:
    scene = room(set_locked(cooled(), "F2", True))
    assert drop_targets(scene, FAN_25, "F2") == ()
    drop = dropped(scene, FAN_25, SIDE, (230.0, None, 212.0), moving="F2", grab=(220.0, None, 12.0))
    with pytest.raises(EditError, match="is locked; unlock it first"):
        drop.edit(scene.layout)


def test_the_leftover_depth_comes_from_a_tentative_check() -> None:
    scene = room(cooled())
    drop = dropped(scene, FAN_25, SIDE, (100.0, None, 70.0))
    layout, part_id = drop.edit(scene.layout)
    tentative = check_layout(layout, remedies=False)
    assert [s.bounds for s in tentative.scene.solids_of[part_id]] == [(40, 20, 55, 160, 140, 80)]
    # The roof is at 400 and the fan's face at 80.
    depth = depth_of(tentative.scene, tentative.report, part_id)
    assert depth is not None
    assert depth.least.mm == 320
    # Under the core it is of the same side of the stack, and 25 + 25 + 30 = 80 deep as well;
    # fittings of 24 mm stand on the ports of the core, whose own those are.
    under, under_id = dropped(scene, FAN_25, SIDE, (100.0, None, 40.0)).edit(scene.layout)
    tentative = check_layout(under, remedies=False)
    (wanted,) = (d for d in tentative.report.depths if d.stack == "S1")
    assert depth_of(tentative.scene, tentative.report, under_id) is wanted
    free, free_id = add_free(empty_layout(), FAN_25, (250, 100, 250))
    tentative = check_layout(free, remedies=False)
    assert depth_of(tentative.scene, tentative.report, free_id) is None


def test_only_zones_that_a_part_comes_near_are_looked_at() -> None:
    scene = room()
    places = DropPlaces(scene, FAN_25)
    assert places.found == ()
    # The floor seen from the side, over its first cell: the front zone stands far from it.
    at = scene.frames["floor-zone"].pose.point((60.0, 60.0, 12.5))
    drop = dropped(scene, FAN_25, SIDE, (at[0], None, at[2]), targets=places)
    assert drop.target is not None
    assert {target.zone for target in places.found} == {"floor-zone"}
    while places.look_on():
        pass
    assert zones_for(places.found) == ("floor-zone", "front-zone")
    assert places.every() == drop_targets(scene, FAN_25)


def test_an_item_dragged_within_its_zone_goes_to_no_other() -> None:
    """Seen from below the front zone lies edge-on at the end of the floor, and went first."""
    scene = room(cooled())
    places = DropPlaces(scene, FAN_25, "F2")
    # F2 lies at x = 160 to 280, and the floor zone goes on to 400.
    for x in range(180, 400, 20):
        drop = dropped(
            scene,
            FAN_25,
            BELOW,
            (float(x), 80.0, None),
            targets=places,
            moving="F2",
            grab=(165.0, 80.0, None),
        )
        assert drop.target is None or drop.target.zone == "floor-zone"


def test_an_item_leaves_its_zone_for_a_place_that_the_pointer_is_over() -> None:
    scene = room(cooled())
    front = next(t for t in drop_targets(scene, FAN_25, "F2") if t.zone == "front-zone")
    # Held by its middle, x = 220, and dragged onto the front zone at x = 480, less half its depth.
    assert front.middle[0] == 467.5
    held = {"moving": "F2", "grab": (220.0, 80.0, None)}
    drop = dropped(scene, FAN_25, BELOW, (465.0, 80.0, None), **held)
    assert drop.target is not None
    assert drop.target.zone == "front-zone"
