"""Edits on whatever an id names, stacked or free: nudge, duplicate, remove."""

from __future__ import annotations

from geometry.edits.base import (
    EditError,
    find_spot,
    keep_locked,
    name_of,
    need_free,
    new_part_id,
    refuse_locked,
    refuse_locked_stack,
    with_free,
    with_item,
    with_stack,
    without_free,
    without_item,
    without_leftovers,
)
from geometry.edits.body import body_bounds
from geometry.edits.free import move_free, tidy_point
from geometry.edits.stacks import can_join, insert_item, remove_layer, set_slide
from geometry.layout import FreePart, Held, Item, Layout
from geometry.measures.pose import Vec
from geometry.measures.prism import box, place
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.part_solids import shape_prism
from geometry.placement import place_free, zone_frame
from geometry.zone_names import zone_names


def nudge(layout: Layout, placed_id: str, vector_mm: Vec) -> Layout:
    """Move a free part by a vector, or slide the stack of a stacked part along it (mm).

    A stack slides along its plate only; the share of the vector off the plate is left out.
    Raises EditError when nothing of it lies along the plate, or when a lock forbids it.
    """
    spot = find_spot(layout, placed_id)
    if spot is None:
        free = need_free(layout, placed_id)
        at = free.at_mm
        moved = (at[0] + vector_mm[0], at[1] + vector_mm[1], at[2] + vector_mm[2])
        return move_free(layout, placed_id, moved)
    refuse_locked(layout, placed_id)
    frame = zone_frame(layout, spot.stack.zone)
    du, dv = (w.sign * vector_mm[w.axis] for w in (frame.pose.x, frame.pose.y))
    if max(abs(du), abs(dv)) <= LENGTH_EPS_MM:
        zone = zone_names(layout.enclosure)[frame.zone.id]
        raise EditError(
            f"{name_of(layout, placed_id)} is bolted to zone {zone} and slides along it only; "
            "lift it out to move it away"
        )
    stack = spot.stack
    return set_slide(layout, stack.id, stack.slide_u_mm + du, stack.slide_v_mm + dv)


def remove(layout: Layout, placed_id: str) -> Layout:
    """Take out a placed part, a layer or a whole stack, and the copies that nothing uses then.

    Raises EditError when nothing goes by that id, or when a lock forbids it.
    """
    for stack in layout.stacks:
        if stack.id == placed_id:
            refuse_locked_stack(layout, stack)
            gone = with_stack(layout, stack.but(inner=(), outer=()))
            return keep_locked(layout, without_leftovers(gone))
        if placed_id in (layer.id for layer in (*stack.inner, *stack.outer)):
            return remove_layer(layout, placed_id)
    refuse_locked(layout, placed_id)
    spot = find_spot(layout, placed_id)
    if spot is not None:
        return keep_locked(layout, without_leftovers(without_item(layout, spot)))
    need_free(layout, placed_id)
    return without_leftovers(without_free(layout, placed_id))


def duplicate(layout: Layout, placed_id: str) -> tuple[Layout, str]:
    """Place a second copy of a placed part; return the layout and the copy's id.

    A stacked part that takes one cell goes to the next free cell of its layer, and where there is
    none, like one that spans cells, into a layer of its own on top of it. A free part goes beside
    itself. The copy is not locked. Raises EditError when a lock forbids it.
    """
    spot = find_spot(layout, placed_id)
    if spot is None:
        return _duplicate_free(layout, need_free(layout, placed_id))
    part = layout.part(spot.item.part)
    zone = zone_frame(layout, spot.stack.zone).zone
    free_cells = (
        cell.id for cell in zone.cells if can_join(layout, spot.stack, spot.layer, part, cell.id)
    )
    cell = next(free_cells, None)
    index = spot.layer_index if cell is not None else spot.layer_index + 1
    item = spot.item
    made, new = insert_item(layout, zone.id, spot.side, index, part, cell or item.cell, item.turn)
    like = _like(item, new, cell or item.cell)
    where = find_spot(made, new)
    assert where is not None
    return with_item(made, where, like), new


def _like(item: Item, new: str, cell: str) -> Item:
    return item.but(id=new, cell=cell, locked=False)


def _duplicate_free(layout: Layout, free: FreePart) -> tuple[Layout, str]:
    new = new_part_id(layout, layout.part(free.part))
    for by in _sideways(layout, free):
        at = tidy_point((free.at_mm[0] + by[0], free.at_mm[1] + by[1], free.at_mm[2] + by[2]))
        copy = free.but(id=new, at_mm=at, held=Held(), locked=False)
        if _in_cavity_bounds(layout, copy):
            return with_free(layout, copy), new
    by = next(iter(_sideways(layout, free)))
    at = tidy_point((free.at_mm[0] + by[0], free.at_mm[1] + by[1], free.at_mm[2] + by[2]))
    return with_free(layout, free.but(id=new, at_mm=at, held=Held(), locked=False)), new


def _sideways(layout: Layout, free: FreePart) -> list[Vec]:
    """Return the shifts to either side, one body and one margin away: along x, z, then y."""
    least, most = _bounds(layout, free)
    shifts: list[Vec] = []
    for axis in (0, 2, 1):
        away = most[axis] - least[axis] + layout.settings.margin_mm
        for sign in (1.0, -1.0):
            by = [0.0, 0.0, 0.0]
            by[axis] = sign * away
            shifts.append((by[0], by[1], by[2]))
    return shifts


def _in_cavity_bounds(layout: Layout, free: FreePart) -> bool:
    least, most = _bounds(layout, free)
    cavity = [shape_prism(shape).bounds for shape in layout.enclosure.cavity]
    return all(
        least[k] >= min(b[k] for b in cavity) - LENGTH_EPS_MM
        and most[k] <= max(b[k + 3] for b in cavity) + LENGTH_EPS_MM
        for k in range(3)
    )


def _bounds(layout: Layout, free: FreePart) -> tuple[Vec, Vec]:
    """Return least and greatest world coordinates of a free part's body."""
    least, most = body_bounds(layout.part(free.part))
    b = place(box(least, most), place_free(layout, free).pose).bounds
    return (b[0], b[1], b[2]), (b[3], b[4], b[5])
