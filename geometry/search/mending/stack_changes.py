"""Changes to where the parts of a stack stand: which face, fan, cell, layer, side or zone.

None is judged here.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

from catalog.parts import Exchanger, Fan, Pump, PumpReservoir, part_cells
from geometry.checks.words import called, slide_text
from geometry.edits import (
    EditError,
    fan_plan,
    keep_fans,
    move_item,
    move_layer,
    move_stack,
    stack_places,
)
from geometry.edits.base import keep_locked, need_stack, tidy, with_stack
from geometry.edits.stacks import can_join
from geometry.layout import Item, Layer, Layout, Side, Stack
from geometry.placement import Placed, zone_frame
from geometry.scene import Scene
from geometry.search.mending.steps import Edit, Step, slide_family
from geometry.zone_names import zone_names

SIDES: tuple[Side, Side] = ("inner", "outer")

PLANS: tuple[tuple[Literal["push", "pull"], float], ...] = (("push", 10.0), ("pull", 10.5))
"""Fans on one face of a core, and what it costs to take them off the other or to move them."""


OTHER_ORDER = 25.0
"""What another order of layers costs: all of the stack is taken apart."""


def fan_plans(scene: Scene, stack: Stack) -> Iterator[Step]:
    """Yield push-pull to push or to pull, and fans from one face of the core to the other."""
    layout = scene.layout
    zone = zone_names(layout.enclosure)[stack.zone]
    plans = {side: fan_plan(layout, stack, side) for side in SIDES}
    both = None not in plans.values()
    for side, now in plans.items():
        for plan, cost in PLANS if now not in (None, "none") else ():
            if plan != now:
                where = f"the {side} side of {zone}" if both else zone
                yield Step(
                    f"Set the fans on {where} from {now} to {plan}",
                    cost if now == "push-pull" else cost + 1.0,
                    stack.id,
                    _keep(stack.id, side, plan),
                    "fans",
                    knob=f"fans {stack.id} {side}",
                )


def _keep(stack: str, side: Side, plan: Literal["push", "pull"]) -> Edit:
    return lambda layout: keep_fans(layout, stack, side, plan)


def through_plate(scene: Scene, stack: Stack, *, fans_only: bool = False) -> Iterator[Step]:
    """Yield the moves of each layer to the other side of the plate, where the zone has one.

    Nothing may stand there yet. With `fans_only` exchangers and the like stay where they are.
    """
    zone = scene.frames[stack.zone].zone
    called_zone = zone_names(scene.layout.enclosure)[stack.zone]
    for side, other in (SIDES, SIDES[::-1]):
        there = zone.outer if other == "outer" else zone.inner
        if there is None or stack.side(other):
            continue
        for layer in stack.side(side):
            fans = all(isinstance(scene.layout.part(item.part), Fan) for item in layer.items)
            if fans_only and not fans:
                continue
            yield Step(
                f"Move {_of_layer(scene, layer)} to the {other} side of {called_zone}",
                11.5 if fans else 22.0,
                stack.id,
                _through(stack.id, layer.id, side, other),
                "fans",
                parts=(f"{layer.id} to {other}",),
                knob=f"layer {layer.id}",
            )


def _of_layer(scene: Scene, layer: Layer) -> str:
    """Name what is in a layer: "fans F1, F2", or its part."""
    parts = [scene.layout.part(item.part) for item in layer.items]
    ids = ", ".join(item.id for item in layer.items)
    if all(isinstance(part, Fan) for part in parts):
        return f"fans {ids}"
    return called(scene, ids) if len(parts) == 1 else f"layer {ids}"


def other_order(scene: Scene, stack: Stack) -> Iterator[Step]:
    """Yield the moves of each exchanger and row of fans to another place in its side's order.

    Each is told by what the layer then lies on, and by what lies on it.
    """
    zone = zone_names(scene.layout.enclosure)[stack.zone]
    for side in SIDES:
        layers = stack.side(side)
        known = {layers}
        for was, layer in enumerate(layers):
            parts = [scene.layout.part(item.part) for item in layer.items]
            if not all(isinstance(part, Fan | Exchanger) for part in parts):
                continue
            for now in range(len(layers)):
                order = [*layers[:was], *layers[was + 1 :]]
                order.insert(now, layer)
                if tuple(order) not in known:
                    known.add(tuple(order))
                    onto = f"the plate of {zone}" if now == 0 else _of_layer(scene, order[now - 1])
                    above = order[now + 1 : now + 2]
                    under = "".join(f", under {_of_layer(scene, one)}" for one in above)
                    yield Step(
                        f"Move {_of_layer(scene, layer)} onto {onto}{under}",
                        OTHER_ORDER,
                        stack.id,
                        _to_index(layer.id, now),
                        "fans",
                        parts=(f"{layer.id} to {now}",),
                        knob=f"order {stack.id} {side}",
                    )


def _to_index(layer: str, index: int) -> Edit:
    return lambda layout: move_layer(layout, layer, index)


def other_cells(scene: Scene, one: Placed) -> Iterator[Step]:
    """Yield the moves of what takes one cell to every other cell that is free in its layer.

    A pump goes to other fans.
    """
    if isinstance(one.part, Pump | PumpReservoir) or not isinstance(one.use, Item):
        return
    if one.stack is None or one.side is None or one.layer is None:
        return
    zone = scene.frames[one.stack.zone].zone
    index = one.stack.side(one.side).index(one.layer)
    for cell in zone.cells:
        if len(part_cells(one.part)) == 1 and can_join(
            scene.layout, one.stack, one.layer, one.part, cell.id
        ):
            yield Step(
                f"Move {called(scene, one.id)} to cell {cell.id}",
                12.0,
                one.id,
                _move(one.id, zone.id, one.side, index, cell.id),
                "fans",
                parts=(f"{one.id} to {cell.id}",),
                knob=f"place {one.id}",
            )


def _through(stack_id: str, layer_id: str, side: Side, other: Side) -> Edit:
    def moved(layout: Layout) -> Layout:
        stack = need_stack(layout, stack_id)
        layer = next((one for one in stack.side(side) if one.id == layer_id), None)
        if layer is None or stack.side(other):
            raise EditError(f"the {other} side of stack {stack_id} is taken")
        left = tuple(one for one in stack.side(side) if one.id != layer_id)
        there = stack.but(**{side: left, other: (layer,)})
        return keep_locked(layout, with_stack(layout, there))

    return moved


def other_fans(scene: Scene, one: Placed) -> Iterator[Step]:
    """Yield the moves of a pump to every other fan on which nothing stands yet."""
    if not isinstance(one.part, Pump | PumpReservoir) or not isinstance(one.use, Item):
        return
    names = zone_names(scene.layout.enclosure)
    for fan in scene.placed.values():
        if not (isinstance(fan.part, Fan) and fan.stack and fan.side and fan.last_over):
            continue
        index = next(k for k, la in enumerate(fan.stack.side(fan.side)) if la == fan.layer)
        own = one.stack is not None and one.stack.id == fan.stack.id
        cell = fan.last_over[0]
        of_zone = "" if own else f" of {names[fan.stack.zone]}"
        of_zone += ", on its outer side" if fan.side == "outer" else ""
        yield Step(
            f"Move {called(scene, one.id)} to the fan on cell {cell}{of_zone}",
            12.0 if own else 13.0,
            one.id,
            _move(one.id, fan.stack.zone, fan.side, index + 1, cell),
            "pump",
            parts=(f"{one.id} to {fan.stack.zone} {fan.side} {index + 1} {cell}",),
            knob=f"place {one.id}",
        )


def _move(item: str, zone: str, side: Side, layer: int, cell: str) -> Edit:
    return lambda layout: move_item(layout, item, zone, side, layer, cell)


def other_places(scene: Scene, stack: Stack) -> Iterator[Step]:
    """Yield the moves of a whole stack to other cells of its zone, and to empty zones.

    Where the slots there ask for another slide, that is named, and along its own zone it counts as
    a slide of its own.
    """
    layout, names = scene.layout, zone_names(scene.layout.enclosure)
    for zone, cell in stack_places(layout, stack):
        try:
            slid = _slid_as_moved(layout, move_stack(layout, stack.id, zone, cell), stack.id)
        except EditError:
            continue
        along = zone == stack.zone
        where = "along" if along else f"to {names[zone]}"
        yield Step(
            f"Move the stack on {names[stack.zone]} {where}, from cell {cell}{slid.words}",
            8.0 if along else 40.0,
            stack.id,
            _to_zone(stack.id, zone, cell, slid),
            "zone",
            parts=(f"{stack.id} to {zone} {cell}",),
            slid=slid.amounts,
        )


class _Slid(NamedTuple):
    """What a move makes of a stack's slide, in words that end its name, and as slides (mm)."""

    words: str = ""
    amounts: tuple[tuple[str, float], ...] = ()


def _slid_as_moved(before: Layout, after: Layout, stack_id: str) -> _Slid:
    old, new = need_stack(before, stack_id), need_stack(after, stack_id)
    was, now = (old.slide_u_mm, old.slide_v_mm), (new.slide_u_mm, new.slide_v_mm)
    if sorted(map(abs, was)) == sorted(map(abs, now)):
        return _Slid()
    frame = zone_frame(after, new.zone)
    if old.zone != new.zone:
        return _Slid(f", slid {slide_text(frame, now)} there" if any(now) else ", unslid there")
    by = (now[0] - was[0], now[1] - was[1])
    amounts = tuple(
        (slide_family(stack_id, along, 1 if mm > 0 else -1), tidy(abs(mm)))
        for along, mm in enumerate(by)
        if mm
    )
    return _Slid(f", slid {slide_text(frame, by)}", amounts)


def _to_zone(stack: str, zone: str, cell: str, slid: _Slid) -> Edit:
    """Return the move of a stack; EditError where it would be slid otherwise than named."""

    def moved(layout: Layout) -> Layout:
        after = move_stack(layout, stack, zone, cell)
        if _slid_as_moved(layout, after, stack) != slid:
            raise EditError(f"stack {stack} would be slid otherwise there")
        return after

    return moved
