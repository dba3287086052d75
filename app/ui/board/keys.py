"""What the keys do on the board: which thing comes next, and by how much a part is nudged."""

from __future__ import annotations

from PySide6.QtCore import Qt

from app.drawing.frame import ViewFrame
from app.ui.session import Edit, Session
from geometry.edits import nudge
from geometry.layout import Layout
from geometry.measures.pose import Vec

FINE_MM, USUAL_MM, COARSE_MM = 0.1, 1.0, 10.0


def nudge_step_mm(modifiers: Qt.KeyboardModifier) -> float:
    """Return how far an arrow key moves: 1 mm, with Ctrl 0.1 mm, with Shift 10 mm."""
    if modifiers & Qt.KeyboardModifier.ControlModifier:
        return FINE_MM
    return COARSE_MM if modifiers & Qt.KeyboardModifier.ShiftModifier else USUAL_MM


def arrow_vector_mm(view: ViewFrame, arrow: tuple[int, int], step_mm: float) -> Vec:
    """Return the step in the enclosure that an arrow means in a view (mm)."""
    by = [0.0, 0.0, 0.0]
    by[view.right.axis] += view.right.sign * arrow[0] * step_mm
    by[view.down.axis] += view.down.sign * arrow[1] * step_mm
    return (by[0], by[1], by[2])


def nudge_edit(
    layout: Layout, part_id: str, view: ViewFrame, arrow: tuple[int, int], step_mm: float
) -> tuple[str, Edit]:
    """Return the edit that moves a part along an arrow in a view, and its name."""
    vector = arrow_vector_mm(view, arrow, step_mm)
    stacked = all(free.id != part_id for free in layout.free)
    name = "Slide stack" if stacked else f"Move {part_id}"
    return name, lambda la: nudge(la, part_id, vector)


def next_thing(session: Session, forwards: bool) -> str | None:
    """Return the part or empty zone after the selected one; None past the last (or first)."""
    layout = session.layout
    taken = {stack.zone for stack in layout.stacks}
    empty = [zone.id for zone in layout.enclosure.zones if zone.id not in taken]
    things = [*session.checked.scene.placed, *empty]
    if not forwards:
        things.reverse()
    if session.selected not in things:
        return things[0] if things else None
    place = things.index(session.selected) + 1
    return things[place] if place < len(things) else None
