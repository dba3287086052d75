"""What was cut off an obstacle: its initial outline, dimensioned and marked as cut.

Initial outlines prior to forming are narrow long-dashed double-dotted lines (ISO 128-2, 05.1). How
much went is dimensioned once, in the first view that shows it in true length (ISO 129-1).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.drawing.board_making import LEVEL_DIMENSION, LEVEL_KEEP_OUT, Making, Noted
from app.drawing.dimensions import Dimension, Figure, Measured, Room, dimension
from app.drawing.fontmetrics import text_width_mm
from app.drawing.frame import union_bounds
from app.drawing.labels import SPOTS, label_box
from app.drawing.memory import Same
from app.drawing.primitives import Bounds, Group, Ink, LineType, Text
from app.drawing.silhouettes import drawn, outline_in
from app.drawing.verdict_words import plain_figure
from geometry.cut_off import CutOff, cut_off

if TYPE_CHECKING:
    from collections.abc import Iterator

    from app.drawing.drafting import Drafting
    from app.drawing.frame import BoardFrame, ViewFrame
    from app.drawing.verdict_words import Write

BESIDE_CAPS = 2.4
"""Distance of the dimension line from what went, in capital heights."""


def cut_groups(making: Making, room: Room) -> tuple[Noted, ...]:
    """Return `cut:<view>:<obstacle>:<end>` and `cut-mark:...`, with what their figures take up.

    Figures keep to the `room`; one that has no place in it is left out.
    """
    layout = making.checked.scene.layout
    pieces = making.memory.get(
        "cuts",
        (Same(layout.enclosure), layout.states),
        lambda: cut_off(layout.enclosure, layout.states),
    )
    if not pieces:
        return ()
    noted: tuple[Noted, ...] = making.memory.get(
        "cut-groups",
        (Same(pieces), making.frame, making.drafting, room),
        lambda: tuple(_groups(pieces, making.frame, making.drafting, room)),
    )
    return noted


def _groups(
    pieces: tuple[CutOff, ...], frame: BoardFrame, drafting: Drafting, room: Room
) -> Iterator[Noted]:
    for piece in pieces:
        for view in frame.views:
            if not shows(piece, view):
                continue
            line = drafting.narrow(Ink.FIXED, LineType.DOUBLE_CHAIN)
            outlines = tuple(drawn(outline_in(view, one), line) for one in piece.prisms)
            end = "all" if piece.end is None else piece.end.name
            rest = f"{view.name}:{piece.obstacle}:{end}"
            yield Group(f"cut:{rest}", outlines, LEVEL_KEEP_OUT), ()
            if piece.end is None or view is dimensioned_in(piece, frame):
                mark = _mark(piece, view, drafting, room)
                if mark.box is not None:
                    room = room.without(mark.box)
                    yield Group(f"cut-mark:{rest}", mark.primitives, LEVEL_DIMENSION), (mark.box,)


def shows(piece: CutOff, view: ViewFrame) -> bool:
    """Whether what went is seen beside what is left, not before or behind it."""
    return bool(piece.prisms) and (piece.end is None or view.direction(piece.end) is not None)


def dimensioned_in(piece: CutOff, frame: BoardFrame) -> ViewFrame | None:
    """Return the view in which it is dimensioned how much went; None where all went."""
    if piece.end is None:
        return None
    return next((view for view in frame.views if shows(piece, view)), None)


def cut_text(piece: CutOff, size: Write = plain_figure) -> str:
    """Return what stands at what went: "4 cut off", or "cut out"."""
    return "cut out" if piece.end is None else f"{size(piece.off_mm)} cut off"


def _mark(piece: CutOff, view: ViewFrame, drafting: Drafting, room: Room) -> Dimension:
    box = union_bounds([view.box(one.bounds) for one in piece.prisms])
    if piece.end is None:
        text = _label(cut_text(piece, drafting.size), box, drafting, room)
        return Dimension((text,), label_box(text)) if text is not None else Dimension((), None)
    x0, y0, x1, y1 = box
    away = BESIDE_CAPS * drafting.cap_mm
    middle = ((view.rect[0] + view.rect[2]) / 2, (view.rect[1] + view.rect[3]) / 2)
    along = view.direction(piece.end)
    if along is not None and along[1] == 0.0:
        edge, away = (y0, -away) if (y0 + y1) / 2 > middle[1] else (y1, away)
        ends = ((x0, edge + away), (x1, edge + away))
        features = ((x0, edge), (x1, edge))
    else:
        edge, away = (x0, -away) if (x0 + x1) / 2 > middle[0] else (x1, away)
        ends = ((edge + away, y0), (edge + away, y1))
        features = ((edge, y0), (edge, y1))
    figure = Figure(cut_text(piece, drafting.size), halo=True)
    return dimension(Measured(*ends, features), figure, drafting, room=room)


def _label(text: str, box: Bounds, drafting: Drafting, room: Room) -> Text | None:
    """Return a text inside a rectangle, upright where only that fits; None without room."""
    cap = drafting.small_cap_mm
    wide, tall = box[2] - box[0], box[3] - box[1]
    width = text_width_mm(text, cap) + cap
    upright = width > wide and tall > wide
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    angle = 90.0 if upright else 0.0
    for sx, sy in SPOTS:
        at = (middle[0] + sx * wide, middle[1] + sy * tall)
        found = Text(at, text, cap, Ink.FIXED, "middle", "middle", angle, halo=True)
        if room.free(label_box(found)):
            return found
    return None
