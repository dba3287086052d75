"""What is locked: a part by itself or with its stack; a stack whole, or by one of its items."""

from __future__ import annotations

import pytest
from small_rooms import block, brick, exchanger, fan, fan_layer, free, layout, one, room, row, stack
from small_rooms import zone as zone_of

from geometry.checks.movable import room_to_go_mm
from geometry.edits import EditError, nudge, remove, set_locked, set_slide
from geometry.layout import Layout
from geometry.scene import build_scene
from geometry.search.making_ready import open_zones
from geometry.search.wishes import Wishes


@pytest.fixture
def loose() -> Layout:
    """A fan and a core on slots of 8 mm, and a brick free in the room."""
    core, blower, part = exchanger(1, 30), fan(25), brick("brick", (40, 40, 40))
    zone = zone_of("z", "floor", (100, 100, 0), "+x", "+y", row(1, slot_u_mm=8.0))
    put = stack("S", "z", fan_layer("A", blower, ("c1",)), one("E", core))
    other = block("other", (400, 0, 0), (410, 10, 10))
    lying = free("B", part, (300, 200, 0))
    return layout(room((500, 400, 300), [zone], [other]), [core, blower, part], [put], [lying])


def fan_id(loose: Layout) -> str:
    return loose.stacks[0].inner[0].items[0].id


@pytest.mark.parametrize(
    ("lock", "parts", "fixed"),
    [("", "", False), ("S", "fan core", True), ("E", "core", True), ("B", "brick", False)],
)
def test_parts_and_stacks_are_locked_as_the_lock_says(
    loose: Layout, lock: str, parts: str, *, fixed: bool
) -> None:
    locked = set_locked(loose, lock, True) if lock else loose
    ids = {"fan": fan_id(loose), "core": "E", "brick": "B"}
    assert [name for name, one_id in ids.items() if locked.is_locked(one_id)] == parts.split()
    assert locked.stacks[0].is_fixed == fixed
    assert not locked.is_locked("nobody")


@pytest.mark.parametrize("lock", ["S", "E"])
def test_a_lock_of_the_stack_or_of_an_item_holds_all_of_it(loose: Layout, lock: str) -> None:
    locked = set_locked(loose, lock, True)
    for stays in (
        lambda: set_slide(locked, "S", 2.0, 0.0),
        lambda: nudge(locked, fan_id(loose), (2.0, 0.0, 0.0)),
        lambda: remove(locked, "S"),
    ):
        with pytest.raises(EditError, match="is locked"):
            stays()
    assert room_to_go_mm(build_scene(loose), fan_id(loose), None) > 0.0
    assert room_to_go_mm(build_scene(locked), fan_id(loose), None) == 0.0
    assert open_zones(loose, Wishes()) == ["z"]
    assert open_zones(locked, Wishes()) == []


def test_beside_a_locked_item_others_can_be_taken_out(loose: Layout) -> None:
    fan_locked = set_locked(loose, fan_id(loose), True)
    assert remove(fan_locked, "E").stacks[0].inner == fan_locked.stacks[0].inner[:1]
