"""Edits on stacks: what goes into a zone, at which layer, over which cell; slide and air."""

from __future__ import annotations

from typing import Literal

from catalog.enclosure import Zone
from catalog.parts import Adapter, Fan, Gasket, Part, Pump, PumpReservoir, Reservoir, part_cells
from geometry.edits.base import (
    EditError,
    changed,
    keep_locked,
    need_free,
    need_spot,
    need_stack,
    new_id,
    new_part_id,
    refuse_locked,
    refuse_locked_stack,
    tidy,
    with_copy,
    with_free,
    with_stack,
    without_free,
    without_item,
    without_leftovers,
)
from geometry.layout import FreePart, Item, Layer, Layout, Side, Stack
from geometry.placement import place_stack, zone_frame
from geometry.references import SIDES
from geometry.slots import slide_into_slots, slide_kept
from geometry.zone_names import zone_names

Turn = Literal[0, 1, 2, 3]


def insert_item(
    layout: Layout,
    zone_id: str,
    side: Side,
    layer_index: int,
    part: Part,
    cell_id: str,
    turn: Turn = 0,
) -> tuple[Layout, str]:
    """Put a new copy of `part` into the stack on a zone; return the layout and the item's id.

    `layer_index` counts from the plate. A part that takes one cell (fan, pump on its plate) joins
    the layer at that index when it holds such parts too and the cell is free there; otherwise it
    gets a layer of its own at that index and those from there on move outwards. The stack is made
    when the zone has none, and slid just so far that a part which spans cells meets its slots.
    Raises EditError when the zone cannot take it, or a lock forbids it.
    """
    grown, copy = with_copy(layout, part)
    item = Item(id=new_part_id(layout, part), part=copy.id, cell=cell_id, turn=turn)
    return _put_in(layout, grown, zone_id, side, layer_index, item), item.id


def move_item(
    layout: Layout,
    item_id: str,
    zone_id: str,
    side: Side,
    layer_index: int,
    cell_id: str,
    turn: Turn | None = None,
) -> Layout:
    """Move a stacked item to a cell and layer, on its own zone or another.

    `layer_index` counts the layers as they are without the item; `turn` stays as it is when left
    out. Raises EditError as `insert_item` does.
    """
    refuse_locked(layout, item_id)
    spot = need_spot(layout, item_id)
    item = spot.item.but(cell=cell_id, turn=spot.item.turn if turn is None else turn)
    emptied = without_item(layout, spot)
    if spot.stack.zone == zone_id and all(s.id != spot.stack.id for s in emptied.stacks):
        hollow = spot.stack.but(inner=(), outer=())
        at = layout.stacks.index(spot.stack)
        emptied = emptied.but(stacks=(*emptied.stacks[:at], hollow, *emptied.stacks[at:]))
    return _put_in(layout, emptied, zone_id, side, layer_index, item)


def lift_out(layout: Layout, item_id: str) -> Layout:
    """Make a stacked item a free part where it stands, held by nothing yet; its id stays.

    Raises EditError when it is locked.
    """
    refuse_locked(layout, item_id)
    spot = need_spot(layout, item_id)
    item = spot.item
    pose = next(p for p in place_stack(layout, spot.stack) if p.id == item_id).pose
    at = (tidy(pose.shift[0]), tidy(pose.shift[1]), tidy(pose.shift[2]))
    free = FreePart(
        id=item.id,
        part=item.part,
        at_mm=at,
        x_to=pose.x.name,
        z_to=pose.z.name,
        ports=item.ports,
    )
    return keep_locked(layout, with_free(without_item(layout, spot), free))


def drop_in(
    layout: Layout,
    free_id: str,
    zone_id: str,
    side: Side,
    layer_index: int,
    cell_id: str,
    turn: Turn = 0,
) -> Layout:
    """Put a free part into the stack on a zone; its id and ports stay.

    Raises EditError as `insert_item` does.
    """
    refuse_locked(layout, free_id)
    free = need_free(layout, free_id)
    item = Item(id=free.id, part=free.part, cell=cell_id, turn=turn, ports=free.ports)
    return _put_in(layout, without_free(layout, free_id), zone_id, side, layer_index, item)


def remove_layer(layout: Layout, layer_id: str) -> Layout:
    """Take a layer out of its stack with all that is in it; the layers above move down.

    Raises EditError when there is no such layer or when a lock forbids it.
    """
    stack, side, index = need_layer(layout, layer_id)
    layers = stack.side(side)
    left = stack.but(**{side: layers[:index] + layers[index + 1 :]})
    return keep_locked(layout, without_leftovers(with_stack(layout, left)))


def move_layer(layout: Layout, layer_id: str, index: int) -> Layout:
    """Move a layer to another place in the order of its side, counted from the plate.

    Raises EditError when there is no such layer or when a lock forbids it.
    """
    stack, side, was = need_layer(layout, layer_id)
    refuse_locked_stack(layout, stack)
    layers = list(stack.side(side))
    layers.insert(max(0, min(index, len(layers) - 1)), layers.pop(was))
    return keep_locked(layout, with_stack(layout, stack.but(**{side: tuple(layers)})))


def set_slide(layout: Layout, stack_id: str, u_mm: float, v_mm: float) -> Layout:
    """Set how far a stack is slid from the middle of its holes or slots (mm).

    Raises EditError when the stack or one of its items is locked.
    """
    stack = need_stack(layout, stack_id)
    refuse_locked_stack(layout, stack)
    slid = changed(stack, slide_u_mm=tidy(u_mm), slide_v_mm=tidy(v_mm))
    return keep_locked(layout, with_stack(layout, slid))


def set_stack_air(layout: Layout, stack_id: str, air: Literal["inward", "outward"]) -> Layout:
    """Set whether a stack blows into the enclosure or out of it.

    Raises EditError when the stack is locked.
    """
    stack = need_stack(layout, stack_id)
    refuse_locked_stack(layout, stack)
    return with_stack(layout, stack.but(air=air))


def need_layer(layout: Layout, layer_id: str) -> tuple[Stack, Side, int]:
    """Return the stack, the side and the index of a layer; EditError when there is none."""
    for stack in layout.stacks:
        for side in SIDES:
            for index, layer in enumerate(stack.side(side)):
                if layer.id == layer_id:
                    return stack, side, index
    raise EditError(f"there is no layer {layer_id} in this layout")


def need_zone(layout: Layout, zone_id: str) -> Zone:
    """Return a zone of the enclosure; EditError when there is none."""
    for zone in layout.enclosure.zones:
        if zone.id == zone_id:
            return zone
    raise EditError(f"{layout.enclosure.name} has no zone {zone_id}")


def stack_on(layout: Layout, zone_id: str) -> Stack | None:
    """Return the stack on a zone; None when it is empty."""
    return next((stack for stack in layout.stacks if stack.zone == zone_id), None)


def shares_layer(one: Part, other: Part) -> bool:
    """Whether two parts may stand in one layer: each takes one cell, and their kinds agree."""
    first, second = _layer_kind(one), _layer_kind(other)
    return first is not None and first == second


def _layer_kind(part: Part) -> str | None:
    if isinstance(part, Fan | Pump | Reservoir | PumpReservoir):
        return "one per cell"
    if isinstance(part, Gasket | Adapter) and len(part_cells(part)) == 1:
        return part.kind
    return None


def can_join(layout: Layout, stack: Stack, layer: Layer, part: Part, cell_id: str) -> bool:
    """Whether `part` fits into a layer: it may share it, and nothing there stands on the cell."""
    if not all(shares_layer(layout.part(item.part), part) for item in layer.items):
        return False
    taken = {item.cell for item in layer.items}
    if cell_id not in taken and any(len(part_cells(layout.part(i.part))) > 1 for i in layer.items):
        here = {item.id for item in layer.items}
        placed = (one for one in place_stack(layout, stack) if one.id in here)
        taken |= {seat.cell for one in placed for seat in one.seats if seat.cell is not None}
    return cell_id not in taken


def _put_in(
    before: Layout, layout: Layout, zone_id: str, side: Side, layer_index: int, item: Item
) -> Layout:
    """Put `item` into the stack on a zone; `before` tells which ids and locks count."""
    part = layout.part(item.part)
    _check_zone(layout, zone_id, side, part, item.cell)
    stack = stack_on(layout, zone_id)
    if stack is None:
        stack = Stack(id=new_id(before, "S"), zone=zone_id)
    refuse_locked_stack(layout, stack)
    layers = stack.side(side)
    index = max(0, min(layer_index, len(layers)))
    if index < len(layers) and can_join(layout, stack, layers[index], part, item.cell):
        joined = layers[index].but(items=(*layers[index].items, item))
        layers = (*layers[:index], joined, *layers[index + 1 :])
    else:
        layer = Layer(id=new_id(before, "L"), items=(item,))
        layers = (*layers[:index], layer, *layers[index:])
    grown = stack.but(**{side: layers})
    if len(part_cells(part)) > 1:
        grown = in_slots(layout, grown, was=stack)
    return keep_locked(before, without_leftovers(with_stack(layout, grown)))


def in_slots(layout: Layout, stack: Stack, was: Stack | None = None) -> Stack:
    """Return a stack slid into its slots as near as possible; as it is when an item is locked.

    With what it `was` before an edit, it is slid only where it would be farther off them than it
    was: an edit of what is in it does not mend its slide too.
    """
    if stack.is_fixed:
        return stack
    u, v = slide_into_slots(layout, stack) if was is None else slide_kept(layout, was, stack)
    if (u, v) == (stack.slide_u_mm, stack.slide_v_mm):
        return stack
    return stack.but(slide_u_mm=tidy(u), slide_v_mm=tidy(v))


def _check_zone(layout: Layout, zone_id: str, side: Side, part: Part, cell_id: str) -> None:
    zone, name = need_zone(layout, zone_id), zone_names(layout.enclosure)[zone_id]
    if zone.side(side) is None:
        raise EditError(f"zone {name} takes nothing on its {side} side")
    if all(cell.id != cell_id for cell in zone.cells):
        known = ", ".join(cell.id for cell in zone.cells)
        raise EditError(f"zone {name} has no cell {cell_id}; it has {known}")
    if not part_cells(part):
        raise EditError(f"{part.name} has no hole pattern for a stack; place it free in the room")
    if not zone_frame(layout, zone_id).present:
        raise EditError(f"what carries zone {name} is taken out; put it back first")
