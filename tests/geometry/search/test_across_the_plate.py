"""Push-pull across the plate: fans on its other side and on the far face of the core."""

from __future__ import annotations

from typing import Any

from search_oracle import made_ready
from small_rooms import PUMP, exchanger, fan, layout, room, row, zone

from catalog.enclosure import Enclosure, ZoneSide
from geometry.search.listing.option import Option
from geometry.search.wishes import Wishes


def across_the_plate(box: Enclosure, **more: Any) -> list[Option]:
    wishes = Wishes(
        exchangers=(exchanger(1, 30),), fans=(fan(15), fan(25)), fan_places=("across",),
        slide_steps=1, **more,
    )  # fmt: skip
    problem = made_ready(layout(box, []), wishes)
    return [o for o in problem.zones[0].options if o.core is not None]


def through_the_front(outer: ZoneSide | None) -> Enclosure:
    """A front wall of 2 mm at x = 300 with a zone for one fan."""
    front = zone("z", "front", (300, 40, 60), "+z", "+y", row(1), outer=outer)
    return room((300, 200, 300), [front])


def layers(option: Option) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The parts of a stack from the plate outward, and from the plate inward."""
    assert option.stack is not None
    sides = (option.stack.outer, option.stack.inner)
    return tuple(tuple(i.part for la in side for i in la.items) for side in sides)  # type: ignore[return-value]


def test_push_pull_across_the_plate_has_a_row_on_the_other_side_and_one_on_the_far_face() -> None:
    core, thin, thick = "exchanger-1x120-30", "fan-120x15", "fan-120x25"
    listed = {layers(o) for o in across_the_plate(through_the_front(ZoneSide(plate_mm=2.0)))}
    # With the core on the inner side and, as nothing limits that one, on the outer side too.
    assert listed == {
        stood for f in (thin, thick) for stood in (((f,), (core, f)), ((core, f), (f,)))
    }
    both_kinds = across_the_plate(through_the_front(ZoneSide(plate_mm=2.0)), mixed_fans=True)
    inside = {(outer[0], inner[1]) for outer, inner in map(layers, both_kinds) if len(inner) == 2}
    assert inside == {(a, b) for a in (thin, thick) for b in (thin, thick)}


def test_push_pull_across_the_plate_keeps_to_the_depth_of_the_other_side() -> None:
    shallow = across_the_plate(through_the_front(ZoneSide(plate_mm=2.0, depth_mm=20.0)))
    assert {layers(o) for o in shallow} == {(("fan-120x15",), ("exchanger-1x120-30", "fan-120x15"))}


def test_push_pull_across_the_plate_asks_for_a_zone_with_two_sides() -> None:
    assert across_the_plate(through_the_front(None)) == []


def test_a_pump_stands_on_the_innermost_fans_of_push_pull_across_the_plate() -> None:
    box = through_the_front(ZoneSide(plate_mm=2.0))
    with_pump = [o for o in across_the_plate(box, pumps=(PUMP,), pump="required") if o.pump]
    ends = {(inner[-2], inner[-1]) for _, inner in map(layers, with_pump)}
    assert ends == {("fan-120x15", PUMP.id), ("fan-120x25", PUMP.id)}
    assert {len(inner) for _, inner in map(layers, with_pump)} == {2, 3}
