"""Moving a whole stack: to another zone, or along its own to other cells."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain
from math import hypot
from typing import Literal

from catalog.enclosure import Zone
from catalog.model import Direction
from catalog.parts import Exchanger
from catalog.shapes import Cell, MountSize, mount_sizes
from geometry.edits.base import (
    EditError,
    keep_locked,
    name_of,
    need_stack,
    refuse_locked_stack,
    tidy,
    with_stack,
)
from geometry.edits.stacks import in_slots, need_zone, stack_on
from geometry.layout import Item, Layout, Side, Stack
from geometry.placement import Placed, place_stack, zone_frame
from geometry.references import SIDES
from geometry.seats import Seat
from geometry.slots import seat_fits
from geometry.zone_names import zone_names

Quarters = Literal[0, 1]
QUARTERS: tuple[Quarters, Quarters] = (0, 1)
"""A stack keeps its way round along u, and is turned a quarter where the cells run along v."""


def move_stack(
    layout: Layout,
    stack_id: str,
    zone_id: str,
    cell_id: str | None = None,
    *,
    stood: Stack | None = None,
) -> Layout:
    """Move a stack with all that is in it to another zone, or along its own; all ids stay.

    `cell_id` is where the cell comes to be that is the stack's first now; left out, the first at
    which all holes meet. The stack keeps its slide as far as the slots there allow, on its own zone
    one that is off them too, if it is no farther off there; and it is turned a quarter where only
    then its cells lie over those of the zone. `stood` is how it stood on that zone before: it comes
    to stand so again where it is what a move from there has made of it. Raises EditError when it is
    locked or does not seat there, and says why.
    """
    stack = need_stack(layout, stack_id)
    _refuse(layout, stack, zone_id, along=cell_id is not None)
    _refuse_for_now(layout, stack, zone_id)
    if stood is not None and _came_from(layout, stack, zone_id, stood):
        return keep_locked(layout, with_stack(layout, stood))
    for cell, moved in _places(layout, stack, need_zone(layout, zone_id)):
        if cell_id in (None, cell):
            return keep_locked(layout, with_stack(layout, moved))
    begin = "wherever it begins" if cell_id is None else f"begun at cell {cell_id}"
    raise EditError(_not_meeting(layout, stack, zone_id, begin))


def _came_from(layout: Layout, stack: Stack, zone_id: str, stood: Stack) -> bool:
    """Whether a stack is what moving it here from how it `stood` on a zone gives."""
    if (stood.id, stood.zone) != (stack.id, zone_id) or _parts(stood) != _parts(stack):
        return False
    here = need_zone(layout, stack.zone)
    return any(moved == stack for _, moved in _places(layout, stood, here))


def _parts(stack: Stack) -> dict[str, str]:
    return {item.id: item.part for item in _items(stack)}


def _items(stack: Stack) -> list[Item]:
    return [item for side in SIDES for layer in stack.side(side) for item in layer.items]


def slide_note(before: Layout, after: Layout, stack_id: str) -> str:
    """Return what an edit made of a stack's slide; empty when it is slid as far as it was."""
    old, new = need_stack(before, stack_id), need_stack(after, stack_id)
    was, now = _slide_words(before, old), _slide_words(after, new)
    if sorted(map(abs, _slide(old))) == sorted(map(abs, _slide(new))):
        return ""
    if old.zone == new.zone:
        name = _zone_name(after, new.zone)
        return f"the stack on {name} was slid {was} and is slid {now}, as far as its slots ask"
    return (
        f"the stack was slid {was} on {_zone_name(before, old.zone)} and is slid {now} on "
        f"{_zone_name(after, new.zone)}, as far as the holes and slots there allow"
    )


def _slide(stack: Stack) -> tuple[float, float]:
    return stack.slide_u_mm, stack.slide_v_mm


def _slide_words(layout: Layout, stack: Stack) -> str:
    """Return a slide along the axes of the room: "3.0 mm along +x", "not at all"."""
    zone = need_zone(layout, stack.zone)
    told = [
        f"{abs(mm):.1f} mm along {_towards(axis, mm)}"
        for axis, mm in zip((zone.u, zone.v), _slide(stack), strict=True)
        if mm
    ]
    return " and ".join(told) or "not at all"


def _towards(axis: Direction, mm: float) -> str:
    return f"{'+' if (axis[0] == '+') == (mm > 0) else '-'}{axis[1]}"


def why_not_moved(layout: Layout, stack_id: str, zone_id: str) -> str:
    """Return why a stack cannot be moved to a zone; empty when it can.

    What can never be comes before what can be mended.
    """
    try:
        move_stack(layout, stack_id, zone_id)
    except EditError as error:
        return str(error)
    return ""


def stack_places(layout: Layout, stack: Stack) -> Iterator[tuple[str, str]]:
    """Yield the zones and cells to which a stack may be moved, those where it is left out."""
    first = _first_cell(layout, stack)
    for zone in layout.enclosure.zones:
        try:
            _refuse(layout, stack, zone.id, along=True)
            _refuse_taken(layout, stack, zone.id)
        except EditError:
            continue
        for cell, _ in _places(layout, stack, zone):
            if (zone.id, cell) != (stack.zone, first):
                yield zone.id, cell


def _refuse(layout: Layout, stack: Stack, zone_id: str, *, along: bool) -> None:
    """Raise EditError for what forbids a zone to a stack for good, wherever it begins."""
    zone = need_zone(layout, zone_id)
    name = _zone_name(layout, zone_id)
    if zone_id == stack.zone and not along:
        raise EditError(f"{name} has the stack already")
    for side in SIDES:
        if stack.side(side) and zone.side(side) is None:
            raise EditError(f"{name} takes nothing on its {side} side")
    items = place_stack(layout, stack)
    needed, offered = len(_cells_used(items)), len(zone.cells)
    if needed > offered:
        cells = "cell" if offered == 1 else "cells"
        raise EditError(f"{name} has {offered} {cells}, the stack stands over {needed}")
    for one in items:
        for seat in one.seats:
            if seat.on == stack.zone and _pitches(zone.cells).isdisjoint(_pitches((seat,))):
                raise EditError(
                    f"{name_of(layout, one.id)} has holes {_pitch_text((seat,))} apart, {name} "
                    f"{_pitch_text(zone.cells)}"
                )


def _refuse_for_now(layout: Layout, stack: Stack, zone_id: str) -> None:
    """Raise EditError for what stands in the way of a move and can be mended.

    Where the stack would not seat there anyway, that is said instead: mending would be in vain.
    """
    try:
        _refuse_taken(layout, stack, zone_id)
        refuse_locked_stack(layout, stack)
    except EditError:
        if next(_places(layout, stack, need_zone(layout, zone_id)), None) is None:
            raise EditError(_not_meeting(layout, stack, zone_id, "wherever it begins")) from None
        raise


def _refuse_taken(layout: Layout, stack: Stack, zone_id: str) -> None:
    """Raise EditError when a zone has another stack, or is not there."""
    name = _zone_name(layout, zone_id)
    if not zone_frame(layout, zone_id).present:
        raise EditError(f"what carries {name} is taken out; put it back first")
    there = stack_on(layout, zone_id)
    if there is not None and there.id != stack.id:
        them = "that" if len(_items(there)) == 1 else "them"
        raise EditError(f"{name} is taken by {_told(layout, there)}; move or remove {them} first")


def _not_meeting(layout: Layout, stack: Stack, zone_id: str, begin: str) -> str:
    here, there = _zone_name(layout, stack.zone), _zone_name(layout, zone_id)
    return f"the holes of the stack on {here} and of {there} do not meet, {begin}"


def _told(layout: Layout, stack: Stack) -> str:
    """Name a stack by what is in it: its exchanger before its fans, and how much more."""
    items = _items(stack)
    named = min(items, key=lambda item: not isinstance(layout.part(item.part), Exchanger))
    more = len(items) - 1
    rest = f" and {more} more part{'' if more == 1 else 's'}" if more else ""
    return f"{name_of(layout, named.id)}{rest}"


def _zone_name(layout: Layout, zone_id: str) -> str:
    return f"zone {zone_names(layout.enclosure)[zone_id]}"


def _pitches(things: Iterable[Cell | Seat]) -> frozenset[MountSize]:
    mounts = (one.accepts if isinstance(one, Cell) else one.mount for one in things)
    return mount_sizes(chain.from_iterable(mounts))


def _pitch_text(things: Iterable[Cell | Seat]) -> str:
    pitches = sorted({pitch for _, pitch in _pitches(things)}, reverse=True)
    return f"{' or '.join(f'{pitch:g}' for pitch in pitches)} mm"


def _places(layout: Layout, stack: Stack, zone: Zone) -> Iterator[tuple[str, Stack]]:
    """Yield the cells at which a stack may begin on a zone, each with the stack as it is there."""
    found: set[str] = set()
    for quarters in QUARTERS:
        for start in zone.cells:
            moved = _moved(layout, stack, zone, start, quarters)
            if moved is not None and start.id not in found:
                found.add(start.id)
                yield start.id, moved


def _moved(
    layout: Layout, stack: Stack, zone: Zone, start: Cell, quarters: Quarters
) -> Stack | None:
    """Return a stack as it is on a zone from one cell on; None where it does not seat."""
    before = place_stack(layout, stack)
    cells = _cells_there(layout, stack, zone, start, quarters)
    if cells is None:
        return None
    over = {one.id: [seat.cell for seat in one.seats if seat.cell is not None] for one in before}

    def there(item: Item, side: Side) -> Item:
        if not quarters:
            return item.but(cell=cells[item.cell].id)
        mine = [cells[cell] for cell in (item.cell, *over[item.id])]
        first = min(mine, key=lambda cell: (round(cell.u_mm, 3), round(cell.v_mm, 3)))
        turned = item.turn + (1 if side == "inner" else -1)
        return item.but(cell=first.id, turn=turned % 4)

    sides = {
        side: tuple(
            layer.but(items=tuple(there(item, side) for item in layer.items))
            for layer in stack.side(side)
        )
        for side in SIDES
    }
    u, v = _slide(stack)
    if quarters:
        u, v = tidy(-v), u
    carried = stack.but(zone=zone.id, slide_u_mm=u, slide_v_mm=v, **sides)
    moved = in_slots(layout, carried)
    after = place_stack(layout, moved)
    if any(seat.on == zone.id and not seat_fits(one, seat) for one in after for seat in one.seats):
        return None
    if not _misfits(after) <= _misfits(before):
        return None
    along = zone.id == stack.zone and not quarters
    return in_slots(layout, carried, was=stack) if along else moved


def _misfits(items: Iterable[Placed]) -> set[tuple[str, str]]:
    return {(o.id, seat.own_cell) for o in items for seat in o.seats if not seat_fits(o, seat)}


def _cells_there(
    layout: Layout, stack: Stack, zone: Zone, start: Cell, quarters: Quarters
) -> Mapping[str, Cell] | None:
    """Return the cell of a zone for each that a stack uses now, its first being `start`.

    None where one of them would come to lie over none, or two over one.
    """
    old = {cell.id: cell for cell in need_zone(layout, stack.zone).cells}
    first = old[_first_cell(layout, stack)]
    found: dict[str, Cell] = {}
    for used in _cells_used(place_stack(layout, stack)):
        u, v = old[used].u_mm - first.u_mm, old[used].v_mm - first.v_mm
        if quarters:
            u, v = -v, u
        at = (start.u_mm + u, start.v_mm + v)

        def away(cell: Cell, at: tuple[float, float] = at) -> float:
            return hypot(cell.u_mm - at[0], cell.v_mm - at[1])

        nearest = min(zone.cells, key=away)
        if away(nearest) >= max(mount.frame_mm for mount in nearest.accepts) / 2:
            return None
        found[used] = nearest
    return found if len({cell.id for cell in found.values()}) == len(found) else None


def _cells_used(items: Iterable[Placed]) -> set[str]:
    """Return the zone cells over which something of a stack stands."""
    used = {seat.cell for one in items for seat in one.seats if seat.cell is not None}
    return used | {one.use.cell for one in items if isinstance(one.use, Item)}


def _first_cell(layout: Layout, stack: Stack) -> str:
    used = _cells_used(place_stack(layout, stack))
    return next(cell.id for cell in need_zone(layout, stack.zone).cells if cell.id in used)
