"""Fans on an exchanger in one go: push, pull, push-pull or none; and a row of fans on a zone.

Push is a fan upstream of the core, pull one downstream. Air that goes inward on the inner side
(or outward on the outer side) meets the plate first, so there the plate side pushes and the far
side pulls; the other way round they change places.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import takewhile
from typing import Literal

from catalog.parts import Exchanger, Fan, Gasket, Part, part_cells
from catalog.shapes import Cell, mount_sizes
from geometry.edits.base import (
    EditError,
    keep_locked,
    need_stack,
    new_id,
    refuse_locked_stack,
    with_copy,
    with_stack,
    without_leftovers,
)
from geometry.edits.stacks import in_slots, insert_item, need_zone
from geometry.layout import Item, Layer, Layout, Side, Stack
from geometry.placement import Placed, place_stack
from geometry.zone_names import zone_names

FanPlan = Literal["push", "pull", "push-pull", "none"]


def fill_fans(layout: Layout, stack_id: str, side: Side, plan: FanPlan, fan: Fan) -> Layout:
    """Give every cell of a stack's exchanger a fan on the push side, the pull side, both or none.

    Fans that stand there already keep their ids; other fans on this side of the plate go. A
    gasket on the core stays on the core, and a pump that shares a layer with fans keeps its cell.
    With several exchangers the innermost counts. Where the stack would come to be off its slots,
    or farther off them than it is, it is slid just so far that all fans meet the core and their
    slots. Raises EditError when there is no exchanger, when none of its cells
    takes the fan, or when a lock forbids it.
    """
    stack = need_stack(layout, stack_id)
    refuse_locked_stack(layout, stack)
    core = _exchanger_layer(layout, stack, side)
    cells = _zone_cells(layout, stack, core, fan)
    if not cells and plan != "none":
        raise EditError(
            f"no cell of {layout.part(core.items[0].part).name} takes {fan.name} "
            f"({fan.frame_mm:g} mm frame, {fan.pitch_mm:g} mm between holes)"
        )
    at_plate, at_far = fan_sides(stack, side, plan)
    grown, copy = with_copy(layout, fan)
    rest, old = _without_fans(grown, stack.side(side))
    at = next(i for i, layer in enumerate(rest) if layer.id == core.id)
    low, high = at, at + 1
    while low > 0 and _is_gasket(layout, rest[low - 1]):
        low -= 1
    while high < len(rest) and _is_gasket(layout, rest[high]):
        high += 1
    maker = _LayerMaker(layout, copy.id, cells, _shared_cells(layout, stack))
    core_at = [layer.id for layer in stack.side(side)].index(core.id)
    plate_old = [layer for i, layer in old if i < core_at]
    far_old = [layer for i, layer in old if i > core_at]
    below, above = rest[:low], rest[high:]
    if at_plate:
        below = maker.with_fans(below, len(below), plate_old[-1:])
    if at_far:
        above = maker.with_fans(above, 0, far_old[:1])
    layers = (*below, *rest[low:high], *above)
    after = with_stack(grown, in_slots(grown, stack.but(**{side: layers}), was=stack))
    return keep_locked(layout, without_leftovers(after))


def keep_fans(layout: Layout, stack_id: str, side: Side, plan: Literal["push", "pull"]) -> Layout:
    """Leave fans on the push side of a stack's exchanger alone, or on its pull side.

    Those that stand there stay as they are, and those on the other face come off; where none stand
    there, these go there. What shares a layer with a fan stays, and so does a gasket on the core.
    With several exchangers the innermost counts, and the slide stays as it is. Raises EditError
    when there is no exchanger, or when a lock forbids it.
    """
    stack = need_stack(layout, stack_id)
    refuse_locked_stack(layout, stack)
    layers = stack.side(side)
    at = layers.index(_exchanger_layer(layout, stack, side))
    faces = layers[:at], layers[at + 1 :]
    kept, other = (0, 1) if fan_sides(stack, side, plan)[0] else (1, 0)
    left, off = _without_fans(layout, faces[other])
    here = faces[kept]
    if not any(_has_fan(layout, layer) for layer in here):
        here = _with_fans_on_core(layout, here, _own_ids(layout, off, left), far=kept == 1)
    first, after = (here, left) if kept == 0 else (left, here)
    changed = stack.but(**{side: (*first, layers[at], *after)})
    return keep_locked(layout, without_leftovers(with_stack(layout, changed)))


def fan_sides(stack: Stack, side: Side, plan: FanPlan) -> tuple[bool, bool]:
    """Return whether a plan puts fans on the plate side of the core, and on its far side."""
    plate_first = (stack.air == "inward") == (side == "inner")
    push, pull = plan in ("push", "push-pull"), plan in ("pull", "push-pull")
    return (push, pull) if plate_first else (pull, push)


def fan_plan(layout: Layout, stack: Stack, side: Side) -> FanPlan | None:
    """Return how the fans of a side stand to its exchanger now; None when it has no exchanger."""
    try:
        core = _exchanger_layer(layout, stack, side)
    except EditError:
        return None
    has_fans = [_has_fan(layout, layer) for layer in stack.side(side)]
    at = stack.side(side).index(core)
    both = (any(has_fans[:at]), any(has_fans[at + 1 :]))
    plans: tuple[FanPlan, ...] = ("push", "pull", "push-pull", "none")
    return next(plan for plan in plans if fan_sides(stack, side, plan) == both)


def insert_row(
    layout: Layout, zone_id: str, side: Side, layer_index: int, part: Part
) -> tuple[Layout, tuple[str, ...]]:
    """Put one copy of a one-cell part on every cell of a zone whose holes match; return the ids.

    Raises EditError when no cell matches, or as `insert_item` does.
    """
    zone = need_zone(layout, zone_id)
    if len(part_cells(part)) != 1:
        raise EditError(f"{part.name} spans cells; insert it once, at its first cell")
    ids: list[str] = []
    for cell in zone.cells:
        if _same_holes(cell, part_cells(part)[0]):
            layout, item_id = insert_item(layout, zone_id, side, layer_index, part, cell.id)
            ids.append(item_id)
    if not ids:
        name = zone_names(layout.enclosure)[zone_id]
        raise EditError(f"no cell of zone {name} has the holes of {part.name}")
    return layout, tuple(ids)


class _LayerMaker:
    """Makes layers of fans with ids that are new to the layout and to each other."""

    def __init__(
        self,
        layout: Layout,
        part_id: str,
        cells: tuple[str, ...],
        shared: Mapping[str, frozenset[str]],
    ) -> None:
        self._layout = layout
        self._part_id = part_id
        self._cells = cells
        self._shared = shared
        self._made: list[str] = []

    def with_fans(self, layers: tuple[Layer, ...], at: int, old: list[Layer]) -> tuple[Layer, ...]:
        """Return layers with one of fans at a place; fans that stand in `old` keep what is set.

        What shared their layer stays in it, on its cells.
        """
        known = {item.cell: item for layer in old for item in layer.items}
        beside = next((one for one in layers for layer in old if one.id == layer.id), None)
        taken = self._shared.get(beside.id, frozenset()) if beside is not None else frozenset()
        fans = tuple(self._item(cell, known.get(cell)) for cell in self._cells if cell not in taken)
        if beside is not None:
            both = beside.but(items=(*fans, *beside.items))
            return tuple(both if one is beside else one for one in layers)
        layer_id = old[0].id if old else self._new("L")
        return (*layers[:at], Layer(id=layer_id, items=fans), *layers[at:])

    def _item(self, cell: str, old: Item | None) -> Item:
        if old is not None:
            return old if old.part == self._part_id else old.but(part=self._part_id)
        return Item(id=self._new("F"), part=self._part_id, cell=cell)

    def _new(self, letters: str) -> str:
        made = new_id(self._layout, letters, self._made)
        self._made.append(made)
        return made


def _exchanger_layer(layout: Layout, stack: Stack, side: Side) -> Layer:
    for layer in stack.side(side):
        if any(isinstance(layout.part(item.part), Exchanger) for item in layer.items):
            return layer
    zone = zone_names(layout.enclosure)[stack.zone]
    raise EditError(
        f"the stack on zone {zone} has no exchanger on its {side} side; put one in first"
    )


def _zone_cells(layout: Layout, stack: Stack, core: Layer, fan: Fan) -> tuple[str, ...]:
    """Return the zone cells under those exchanger cells that take the fan, in their order."""
    mine = part_cells(fan)[0]
    cells: list[str] = []
    for one in place_stack(layout, stack):
        if one.layer is not None and one.layer.id == core.id:
            cells.extend(c for c in _seat_cells(one, mine) if c not in cells)
    return tuple(cells)


def _shared_cells(layout: Layout, stack: Stack) -> Mapping[str, frozenset[str]]:
    """Return by layer the zone cells over which something else than a fan stands in it."""
    cells: dict[str, set[str]] = {}
    for one in place_stack(layout, stack):
        if one.layer is not None and not isinstance(one.part, Fan):
            cells.setdefault(one.layer.id, set()).update(
                seat.cell for seat in one.seats if seat.cell is not None
            )
    return {layer: frozenset(held) for layer, held in cells.items()}


def _seat_cells(one: Placed, holes: Cell) -> list[str]:
    own = {cell.id: cell for cell in part_cells(one.part)}
    return [
        seat.cell
        for seat in one.seats
        if seat.cell is not None and _same_holes(own[seat.own_cell], holes)
    ]


def _same_holes(one: Cell, other: Cell) -> bool:
    return not mount_sizes(one.accepts).isdisjoint(mount_sizes(other.accepts))


def _without_fans(
    layout: Layout, layers: tuple[Layer, ...]
) -> tuple[tuple[Layer, ...], list[tuple[int, Layer]]]:
    """Return the layers without their fans, and the fans' layers with their places."""
    rest: list[Layer] = []
    fans: list[tuple[int, Layer]] = []
    for i, layer in enumerate(layers):
        taken = tuple(i for i in layer.items if isinstance(layout.part(i.part), Fan))
        left = tuple(i for i in layer.items if i not in taken)
        if taken:
            fans.append((i, layer.but(items=taken)))
        if left:
            rest.append(layer if not taken else layer.but(items=left))
    return tuple(rest), fans


def _own_ids(
    layout: Layout, fans: list[tuple[int, Layer]], left: tuple[Layer, ...]
) -> tuple[Layer, ...]:
    """Return layers of fans, with new ids where something of their layer is left."""
    taken, made = {layer.id for layer in left}, list[str]()
    for _, layer in fans:
        if layer.id in taken:
            made.append(new_id(layout, "L", made))
    ids = iter(made)
    return tuple(layer.but(id=next(ids)) if layer.id in taken else layer for _, layer in fans)


def _with_fans_on_core(
    layout: Layout, face: tuple[Layer, ...], fans: tuple[Layer, ...], *, far: bool
) -> tuple[Layer, ...]:
    """Return the layers on one face of a core with fans next to it, or to a gasket on it."""
    outwards = face if far else face[::-1]
    gaskets = list(takewhile(lambda layer: _is_gasket(layout, layer), outwards))
    at = len(gaskets) if far else len(face) - len(gaskets)
    return (*face[:at], *fans, *face[at:])


def _has_fan(layout: Layout, layer: Layer) -> bool:
    return any(isinstance(layout.part(item.part), Fan) for item in layer.items)


def _is_gasket(layout: Layout, layer: Layer) -> bool:
    return all(isinstance(layout.part(item.part), Gasket) for item in layer.items)
