"""The shipped parts and enclosures under the edits: every zone takes fans, every size steps."""

from __future__ import annotations

import pytest

from catalog.parts import Exchanger, Fan, part_cells
from catalog.store import load_library
from geometry.drop import Drop, drop_targets, zones_for
from geometry.edits import EditError, fan_plan, fill_fans, insert_row, next_thickness
from geometry.layout import Layout
from geometry.layout_file import layout_text, parse_layout
from geometry.part_solids import seat_thickness_mm
from geometry.scene import build_scene

LIBRARY = load_library()
FANS = tuple(p for p in LIBRARY.parts.values() if isinstance(p, Fan))
SLIMMEST = sorted(
    (p for p in LIBRARY.parts.values() if isinstance(p, Exchanger)),
    key=lambda p: (p.core_thickness_mm, -len(p.cells)),
)


def mounts(cells) -> set[tuple[float, float]]:
    return {(m.frame_mm, m.pitch_mm) for cell in cells for m in cell.accepts}


@pytest.mark.parametrize("enclosure_id", LIBRARY.enclosures)
def test_every_zone_takes_an_exchanger_with_fans_on_both_faces(enclosure_id) -> None:
    layout = Layout(name="All zones", enclosure=LIBRARY.enclosure(enclosure_id))
    zones = layout.enclosure.zones
    for zone in zones:
        scene = build_scene(layout)
        part, target = next(
            (part, target)
            for part in SLIMMEST
            for target in drop_targets(scene, part)
            if target.fits and target.zone == zone.id
        )
        layout, _ = Drop(part, None, target=target).edit(layout)
        stack = next(stack for stack in layout.stacks if stack.zone == zone.id)
        fan = next(f for f in FANS if mounts(part_cells(f)) <= mounts(part.cells))
        layout = fill_fans(layout, stack.id, target.side, "push-pull", fan)
        stack = layout.stack(stack.id)
        assert fan_plan(layout, stack, target.side) == "push-pull"
        assert [len(layer.items) for layer in stack.side(target.side)] == [
            len(part.cells),
            1,
            len(part.cells),
        ]
    assert [stack.zone for stack in layout.stacks] == [zone.id for zone in zones]
    assert parse_layout(layout_text(layout).encode(), "all zones") == layout


@pytest.mark.parametrize("enclosure_id", LIBRARY.enclosures)
def test_zones_that_light_up_for_a_fan_are_those_with_its_holes(enclosure_id) -> None:
    scene = build_scene(Layout(name="Empty", enclosure=LIBRARY.enclosure(enclosure_id)))
    for fan in FANS:
        own = mounts(part_cells(fan))
        assert list(zones_for(drop_targets(scene, fan))) == [
            zone.id for zone in scene.layout.enclosure.zones if own & mounts(zone.cells)
        ]


def test_every_fan_size_steps_through_all_its_thicknesses() -> None:
    tower = next(iter(LIBRARY.enclosures.values()))
    for frame in {fan.frame_mm for fan in FANS}:
        family = sorted(
            (fan for fan in FANS if fan.frame_mm == frame), key=lambda fan: fan.thickness_mm
        )
        zone = tower.zones[0].but(
            cells=tuple(
                c.but(accepts=part_cells(family[0])[0].accepts) for c in tower.zones[0].cells
            )
        )
        layout = Layout(name="Steps", enclosure=tower.but(zones=(zone,)))
        layout, ids = insert_row(layout, zone.id, "inner", 0, family[0])
        passed = []
        while True:
            used = next(item for item in layout.stacks[0].inner[0].items if item.id == ids[0])
            passed.append(seat_thickness_mm(layout.part(used.part)))
            try:
                layout = next_thickness(layout, ids[0], LIBRARY.parts.values())
            except EditError as refused:
                last = str(refused)
                break
        assert passed == [fan.thickness_mm for fan in family]
        assert last == f"there is no thicker fan of {frame:g} mm in the library"
