"""Push, pull and push-pull in one go."""

from __future__ import annotations

import pytest
from edit_rooms import (
    FAN_15,
    FAN_25,
    FAN_140,
    FRONT_ZONE,
    GASKET,
    LONG_3,
    PUMP,
    SLIM_2,
    empty_layout,
    layers_of,
)

from catalog.parts import Exchanger
from catalog.store import load_library
from geometry.checks.runner import check_layout
from geometry.edits import (
    EditError,
    fan_plan,
    fill_fans,
    insert_item,
    set_air,
    set_locked,
    set_stack_air,
)
from geometry.layout import Layout
from geometry.placement import place_stack


def cooled() -> Layout:
    return insert_item(empty_layout(), "floor-zone", "inner", 0, SLIM_2, "f1")[0]


def test_inward_air_on_the_inner_side_pushes_from_the_plate_and_pulls_from_the_far_side() -> None:
    layout = cooled()
    assert layers_of(fill_fans(layout, "S1", "inner", "push", FAN_25)) == [["F1", "F2"], ["E1"]]
    assert layers_of(fill_fans(layout, "S1", "inner", "pull", FAN_25)) == [["E1"], ["F1", "F2"]]
    both = fill_fans(layout, "S1", "inner", "push-pull", FAN_25)
    assert layers_of(both) == [["F1", "F2"], ["E1"], ["F3", "F4"]]
    assert fill_fans(both, "S1", "inner", "none", FAN_25) == layout


def test_outward_air_changes_the_sides() -> None:
    layout = set_stack_air(cooled(), "S1", "outward")
    assert layers_of(fill_fans(layout, "S1", "inner", "push", FAN_25)) == [["E1"], ["F1", "F2"]]
    assert layers_of(fill_fans(layout, "S1", "inner", "pull", FAN_25)) == [["F1", "F2"], ["E1"]]


def test_the_outer_side_is_a_mirror_of_the_inner() -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "outer", 0, SLIM_2, "b1")
    pushed = fill_fans(layout, "S1", "outer", "push", FAN_25)
    assert layers_of(pushed, side="outer") == [["E1"], ["F1", "F2"]]


@pytest.mark.parametrize("air", ["inward", "outward"])
@pytest.mark.parametrize("plan", ["push", "pull", "push-pull", "none"])
def test_the_plan_is_read_back_from_the_layers(plan, air) -> None:
    layout = fill_fans(set_stack_air(cooled(), "S1", air), "S1", "inner", plan, FAN_25)
    assert fan_plan(layout, layout.stack("S1"), "inner") == plan
    assert fan_plan(layout, layout.stack("S1"), "outer") is None


def test_a_60_mm_exchanger_in_push_pull_of_25_mm_fans_is_110_mm_deep() -> None:
    # Common practice, no source: 25 + 60 + 25 = 110.
    from edit_rooms import THICK_2

    layout, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, THICK_2, "f1")
    layout = fill_fans(layout, "S1", "inner", "push-pull", FAN_25)
    assert max(one.top_mm for one in place_stack(layout, layout.stack("S1"))) == 110


def test_fans_that_stay_keep_their_ids_and_what_is_set_on_them() -> None:
    layout = fill_fans(cooled(), "S1", "inner", "push", FAN_25)
    layout = set_air(layout, "F2", "against")
    both = fill_fans(layout, "S1", "inner", "push-pull", FAN_25)
    assert both.stack("S1").inner[0] == layout.stack("S1").inner[0]
    thinner = fill_fans(both, "S1", "inner", "push", FAN_15)
    assert [(i.id, i.part, i.air) for i in thinner.stack("S1").inner[0].items] == [
        ("F1", "fan-120x15", "with"),
        ("F2", "fan-120x15", "against"),
    ]
    assert sorted(thinner.parts) == [SLIM_2.id, FAN_15.id]


def test_a_missing_fan_is_filled_in_at_its_cell() -> None:
    layout, _ = insert_item(cooled(), "floor-zone", "inner", 1, FAN_25, "f2")
    pulled = fill_fans(layout, "S1", "inner", "pull", FAN_25)
    assert [(i.id, i.cell) for i in pulled.stack("S1").inner[1].items] == [
        ("F2", "f1"),
        ("F1", "f2"),
    ]


def test_gaskets_stay_on_the_core_and_a_pump_on_the_innermost_fans() -> None:
    layout, _ = insert_item(cooled(), "floor-zone", "inner", 0, GASKET, "f1")
    layout, _ = insert_item(layout, "floor-zone", "inner", 2, GASKET, "f1")
    layout, _ = insert_item(layout, "floor-zone", "inner", 3, PUMP, "f2")
    both = fill_fans(layout, "S1", "inner", "push-pull", FAN_25)
    assert layers_of(both) == [["F1", "F2"], ["G1"], ["E1"], ["G2"], ["F3", "F4"], ["P1"]]
    assert fill_fans(both, "S1", "inner", "none", FAN_25) == layout


def test_a_pump_that_shares_a_layer_with_fans_stays_there() -> None:
    layout, _ = insert_item(cooled(), "floor-zone", "inner", 1, FAN_25, "f1")
    layout, _ = insert_item(layout, "floor-zone", "inner", 1, PUMP, "f2")
    assert layers_of(layout) == [["E1"], ["F1", "P1"]]
    assert layers_of(fill_fans(layout, "S1", "inner", "none", FAN_25)) == [["E1"], ["P1"]]


def test_a_pump_that_shares_a_layer_with_fans_gets_none_on_its_cell() -> None:
    layout, _ = insert_item(cooled(), "floor-zone", "inner", 1, FAN_25, "f1")
    layout, _ = insert_item(layout, "floor-zone", "inner", 1, PUMP, "f2")
    assert fill_fans(layout, "S1", "inner", "pull", FAN_25) == layout
    both = fill_fans(layout, "S1", "inner", "push-pull", FAN_25)
    assert layers_of(both) == [["F2", "F3"], ["E1"], ["F1", "P1"]]
    thinner = fill_fans(layout, "S1", "inner", "pull", FAN_15)
    assert layers_of(thinner) == [["E1"], ["F1", "P1"]]
    assert thinner.part("fan-120x15").name == FAN_15.name
    assert [(i.id, i.cell) for i in thinner.stack("S1").inner[1].items] == [
        ("F1", "f1"),
        ("P1", "f2"),
    ]
    assert len({layer.id for layer in both.stack("S1").inner}) == 3


def test_a_core_that_hangs_over_its_zone_gets_fans_where_the_zone_has_cells() -> None:
    layout, _ = insert_item(empty_layout(), "front-zone", "inner", 0, LONG_3, "b1")
    pushed = fill_fans(layout, "S1", "inner", "push", FAN_25)
    assert layers_of(pushed) == [["F1", "F2"], ["E1"]]


def test_without_an_exchanger_or_with_the_wrong_fan_it_is_refused() -> None:
    fans, _ = insert_item(empty_layout(), "floor-zone", "inner", 0, FAN_25, "f1")
    with pytest.raises(
        EditError, match="stack on zone Floor zone has no exchanger on its inner side"
    ):
        fill_fans(fans, "S1", "inner", "push", FAN_25)
    with pytest.raises(EditError, match="no cell of Exchanger 2 x 120, 30 mm takes Fan 140 x 25"):
        fill_fans(cooled(), "S1", "inner", "push", FAN_140)
    with pytest.raises(EditError, match="there is no stack S9"):
        fill_fans(cooled(), "S9", "inner", "push", FAN_25)


def test_locked_fans_are_neither_moved_nor_swapped_nor_dropped() -> None:
    layout = set_locked(fill_fans(cooled(), "S1", "inner", "pull", FAN_25), "F1", True)
    for plan, fan in (("none", FAN_25), ("push-pull", FAN_25), ("pull", FAN_15)):
        with pytest.raises(EditError, match=r"Fan 120 x 25 \(F1\) is locked where it stands"):
            fill_fans(layout, "S1", "inner", plan, fan)
    assert fill_fans(layout, "S1", "inner", "pull", FAN_25) == layout


@pytest.mark.parametrize("zone_id", ["front-zone", "roof-zone"])
def test_push_pull_in_the_tall_tower_meets_all_its_slots(zone_id) -> None:
    library = load_library()
    core = next(
        part
        for part in library.parts.values()
        if isinstance(part, Exchanger)
        and len(part.cells) == 3
        and part.cells[0].accepts[0].frame_mm == 120.0
    )
    tower = empty_layout().but(enclosure=library.enclosures["tall-tower"])
    layout, _ = insert_item(tower, zone_id, "inner", 0, core, "1")
    layout = fill_fans(layout, "S1", "inner", "push-pull", FAN_25)
    report = check_layout(layout, remedies=False, worst_cases=False).report
    assert [f.title for f in report.findings if f.kind in ("hole_pattern", "slide")] == []


def test_a_stack_slides_just_so_far_that_its_exchanger_meets_the_slots() -> None:
    # Cells at 60 and 195 mm, slots of 10 mm; the exchanger's stand 120 mm apart. At cell 1 the
    # second is 15 mm back, 5 beyond its slot: the stack is slid 5 mm forward.
    front = FRONT_ZONE.but(cells=(FRONT_ZONE.cells[0], FRONT_ZONE.cells[1].but(u_mm=195.0)))
    known = empty_layout()
    zones = tuple(front if z.id == front.id else z for z in known.enclosure.zones)
    wide = known.but(enclosure=known.enclosure.but(zones=zones))
    layout, _ = insert_item(wide, "front-zone", "inner", 0, SLIM_2, "b1")
    assert (layout.stacks[0].slide_u_mm, layout.stacks[0].slide_v_mm) == (5.0, 0.0)
    filled = fill_fans(layout, "S1", "inner", "push", FAN_25)
    middles = [p.seats[0].centre[0] for p in place_stack(filled, filled.stacks[0])[:2]]
    assert middles == [65.0, 185.0]
