"""Edits on free parts: where they stand, which way, and what holds them."""

from __future__ import annotations

from catalog.enclosure import Zone
from catalog.model import Direction
from catalog.parts import Part
from catalog.shapes import Cell
from geometry.edits.base import (
    EditError,
    changed,
    checked,
    need_free,
    new_part_id,
    refuse_locked,
    tidy,
    with_copy,
    with_free,
)
from geometry.edits.body import body_bounds
from geometry.layout import FreePart, Held, Layout
from geometry.measures.pose import Vec
from geometry.measures.prism import box, place
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import place_free, zone_frame
from geometry.references import holder_ids
from geometry.zone_names import zone_names


def add_free(
    layout: Layout, part: Part, at_mm: Vec, x_to: Direction = "+x", z_to: Direction = "+z"
) -> tuple[Layout, str]:
    """Place a copy of `part` free in the room; return the layout and the part's id.

    `at_mm` is the middle of its seat face. Raises EditError when the place or the directions are
    out of range.
    """
    grown, copy = with_copy(layout, part)
    part_id = new_part_id(layout, part)
    at = tidy_point(at_mm)
    free = checked(FreePart, id=part_id, part=copy.id, at_mm=at, x_to=x_to, z_to=z_to)
    return with_free(grown, free), part_id


def move_free(layout: Layout, part_id: str, at_mm: Vec) -> Layout:
    """Move a free part so that the middle of its seat face stands at `at_mm`.

    Raises EditError when it is locked, in a stack, or moved out of range.
    """
    refuse_locked(layout, part_id)
    free = need_free(layout, part_id)
    return with_free(layout, changed(free, at_mm=tidy_point(at_mm)))


def set_pose(layout: Layout, part_id: str, at_mm: Vec, x_to: Direction, z_to: Direction) -> Layout:
    """Set place and directions of a free part at once.

    Raises EditError when it is locked, in a stack, or when both directions lie along one axis.
    """
    refuse_locked(layout, part_id)
    free = need_free(layout, part_id)
    return with_free(layout, changed(free, at_mm=tidy_point(at_mm), x_to=x_to, z_to=z_to))


def new_holes_note(free: FreePart) -> str:
    """Return what is to be said where a part is moved that is screwed into holes of its own."""
    return " (needs new holes)" if free.held.by == "holes" else ""


def set_held(layout: Layout, part_id: str, held: Held) -> Layout:
    """Say what holds a free part; cells of a zone that are not named are those that it stands over.

    Raises EditError when it is locked, or when what shall hold it is not in this layout.
    """
    refuse_locked(layout, part_id)
    free = need_free(layout, part_id)
    if held.on is not None and held.on not in holder_ids(layout):
        raise EditError(f"there is nothing called {held.on} in this layout that could hold it")
    if held.on == part_id:
        raise EditError(f"{part_id} cannot hold itself")
    zone = next((zone for zone in layout.enclosure.zones if zone.id == held.on), None)
    known = {cell.id for cell in zone.cells} if zone is not None else set()
    missing = [cell for cell in held.cells if cell not in known]
    if missing:
        names = zone_names(layout.enclosure)
        where = f"zone {names[zone.id]}" if zone is not None else f"{held.on or 'nothing'}"
        raise EditError(f"{where} has no cell {missing[0]}")
    if held.by == "zone cells" and zone is not None and not held.cells:
        held = held.but(cells=_cells_under(layout, free, zone))
    return with_free(layout, free.but(held=held))


def _cells_under(layout: Layout, free: FreePart, zone: Zone) -> tuple[str, ...]:
    """Return the cells of a zone whose frames the body of a part stands over."""
    frame = zone_frame(layout, zone.id)
    body = place(box(*body_bounds(layout.part(free.part))), place_free(layout, free).pose).bounds
    ends = (frame.pose.local(body[:3]), frame.pose.local(body[3:]))
    low, high = ([pick(a, b) for a, b in zip(*ends, strict=True)] for pick in (min, max))

    def over(cell: Cell) -> bool:
        half = max(mount.frame_mm for mount in cell.accepts) / 2
        return all(
            min(high[k], at + half) - max(low[k], at - half) > LENGTH_EPS_MM
            for k, at in enumerate((cell.u_mm, cell.v_mm))
        )

    return tuple(cell.id for cell in zone.cells if over(cell))


def tidy_point(at_mm: Vec) -> Vec:
    """Return a point to the length tolerance."""
    return (tidy(at_mm[0]), tidy(at_mm[1]), tidy(at_mm[2]))
