"""What the stack panel says and offers, worked out of the layout; no widget in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from app.ui.panels.part_texts import KIND_GROUPS
from app.ui.units import Unit, figure_text, length_text
from catalog.enclosure import Zone
from catalog.parts import Exchanger, Fan, Part, part_cells, top_cells
from catalog.shapes import Cell, cell_sizes
from geometry.checks.words import beside_text, cells_text
from geometry.depths import limited_beside, standing_out
from geometry.drop import drop_targets
from geometry.edits import insert_item, insert_row
from geometry.finding import Leftover, StackDepth, by_depth_left
from geometry.layout import Layout, Side, Stack
from geometry.scene import Scene


def leftover_text(depth: StackDepth, unit: Unit) -> str:
    """Return the stack's leftover depth, by how much it is too deep, or what it overlaps beside."""
    left, sideways = depth.least.mm, depth.least.sideways_mm
    if sideways is not None:
        return f"overlaps {length_text(sideways, unit)} sideways"
    if left < 0:
        return f"{length_text(-left, unit)} of depth missing"
    return f"leftover {length_text(left, unit)}"


def standing_text(scene: Scene, depth: StackDepth, unit: Unit) -> str:
    """Return what stands out beyond the last layer, up to the total; empty where nothing does."""
    out = standing_out(scene, depth)
    if out is None:
        return ""
    return f"{length_text(out.top_mm - out.base_mm, unit)} stands out: {out.name}"


def limit_text(scene: Scene, depth: StackDepth, unit: Unit) -> str:
    """Return what limits the depth and over what, and each cell's leftover where they differ."""
    least = depth.least
    text = f"limited by {least.limited_name}" if least.limited_by else "nothing is met inwards"
    if least.sideways_mm is not None:
        text = f"beside it stands {least.limited_name}"
    beside = limited_beside(scene, depth)
    if beside is not None:
        text += f"\n{beside_text(beside, lambda mm: length_text(mm, unit))}"
    by_cell: dict[str, Leftover] = {}
    for left in sorted(depth.cells, key=by_depth_left):
        by_cell.setdefault(left.cell, left)
    if len({round(left.mm, 3) for left in by_cell.values()}) > 1:
        cells = ", ".join(f"{cell}: {_left_text(by_cell[cell], unit)}" for cell in sorted(by_cell))
        frame = scene.frames[scene.layout.stack(depth.stack).zone]
        text += f"\nover cell {cells} ({cells_text(frame)})"
    return text


def _left_text(left: Leftover, unit: Unit) -> str:
    if left.sideways_mm is not None:
        return f"overlaps {length_text(left.sideways_mm, unit)} sideways"
    return length_text(left.mm, unit)


def slots_text(zone: Zone, unit: Unit) -> str:
    """Return how far the slots of all cells of a zone let a stack slide."""
    texts = []
    for axis, name in (("u", zone.u), ("v", zone.v)):
        low, high = cells_slot_range(zone, axis)
        if low == high == 0:
            texts.append(f"{name[1]}: round holes")
            continue
        ends = sorted((low, high)) if name[0] == "+" else sorted((-low, -high))
        low_text, high_text = (figure_text(end, unit, signed=True) for end in ends)
        texts.append(f"{name[1]}: slots {low_text} to {high_text} {unit.value}")
    return ",  ".join(texts)


def cells_slot_range(zone: Zone, axis: str) -> tuple[float, float]:
    """Return the slide along u or v that every cell of a zone allows (mm)."""
    slots = [cell.slot_u_mm if axis == "u" else cell.slot_v_mm for cell in zone.cells]
    return (max(low for low, _ in slots), min(high for _, high in slots))


def fans_for(layout: Layout, stack: Stack, side: Side, parts: Sequence[Part]) -> list[Fan]:
    """Return the fans that fit the exchanger of a stack's side; 25 mm ones first, then by size.

    Those of the layout count too: the library of this machine need not hold them.
    """
    cells: list[Cell] = []
    for layer in stack.side(side):
        for item in layer.items:
            part = layout.part(item.part)
            if isinstance(part, Exchanger):
                cells.extend(part.cells)
    holes = cell_sizes(cells)
    known = {part.id: part for part in (*layout.parts.values(), *parts)}
    fans = [
        part
        for part in known.values()
        if isinstance(part, Fan) and (part.frame_mm, part.pitch_mm) in holes
    ]
    return sorted(fans, key=lambda f: (f.thickness_mm != 25, f.frame_mm, f.thickness_mm))


def layer_candidates(
    zone: Zone, parts: Sequence[Part], stacked: Sequence[Part] = ()
) -> dict[str, list[Part]]:
    """Return the parts whose holes match a cell of a zone or of what is stacked, by group."""
    holes = cell_sizes((*zone.cells, *(cell for part in stacked for cell in top_cells(part))))
    found: dict[str, list[Part]] = {}
    for kind, title in KIND_GROUPS.items():
        fitting = [
            part
            for part in parts
            if part.kind == kind
            and len(part_cells(part)) <= len(zone.cells)
            and not holes.isdisjoint(cell_sizes(part_cells(part)))
        ]
        if fitting:
            found[title] = fitting
    return found


def add_layer_edit(scene: Scene, zone: Zone, side: Side, part: Part) -> Callable[[Layout], Layout]:
    """Return the edit that puts a part on top of a stack: a fan on every cell, else once.

    A part that only what is stacked there takes (an adapter) goes where its holes meet it.
    """
    stack = next((s for s in scene.layout.stacks if s.zone == zone.id), None)
    top = len(stack.side(side)) if stack is not None else 0
    if cell_sizes(zone.cells).isdisjoint(cell_sizes(part_cells(part))):
        places = {
            target.cell: target.turns[0]
            for target in drop_targets(scene, part)
            if target.fits
            and (target.zone, target.side, target.layer_index) == (zone.id, side, top)
        }
        if places:
            wanted = list(places.items()) if isinstance(part, Fan) else list(places.items())[:1]

            def on_stacked(layout: Layout) -> Layout:
                for cell, turn in wanted:
                    layout, _ = insert_item(layout, zone.id, side, top, part, cell, turn)
                return layout

            return on_stacked
    if isinstance(part, Fan):
        return lambda la: insert_row(la, zone.id, side, top, part)[0]
    cell = _first_cell(zone, part)
    return lambda la: insert_item(la, zone.id, side, top, part, cell)[0]


def _first_cell(zone: Zone, part: Part) -> str:
    mine = cell_sizes(part_cells(part))
    for cell in zone.cells:
        if not mine.isdisjoint(cell_sizes((cell,))):
            return cell.id
    return zone.cells[0].id
