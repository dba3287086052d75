"""What the keys do on the board: which thing comes next, and by how much a part is nudged."""

from __future__ import annotations

from PySide6.QtCore import Qt

from app.drawing.frame import ViewFrame
from app.ui.session import Session, sentence
from geometry.edits import EditError, nudge
from geometry.layout import Layout
from geometry.measures.pose import Vec

ARROWS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}
"""Steps across and down the page."""

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


def nudge_selected(
    session: Session, view: ViewFrame, arrow: tuple[int, int], step_mm: float
) -> str:
    """Move the selected part along an arrow in a view; return why not, empty when it is done.

    It is moved from where it stands in the document, whatever is previewed on the board.
    """
    part_id, layout = session.selected_part, session.settled.scene.layout
    if part_id is None:
        return ""
    vector = arrow_vector_mm(view, arrow, step_mm)
    stacked = all(free.id != part_id for free in layout.free)
    name = "Slide stack" if stacked else f"Move {part_id}"

    def edit(before: Layout) -> Layout:
        return nudge(before, part_id, vector)

    try:
        edit(layout)
    except EditError as error:
        return sentence(str(error))
    session.apply(name, edit, merge_key=f"nudge:{part_id}")
    return ""


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
