"""Pictures of the board that lie one over the other, each painted anew only where it changed.

All of it is measured in the dots of the screen: a scale such as 1.25 has pixels end within a dot,
where what is painted in pieces would not meet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import QRect
from PySide6.QtGui import QPainter, QPixmap

WASTE_DOTS = 4_000
"""So many dots more are painted sooner than a rectangle more."""

Paint = Callable[[QPainter, QRect], None]
"""Paints what lies on a layer, within a rectangle."""


class Layers:
    """Pictures of one size, the lowest first, each of which holds all that lies under it.

    `paints` say what each adds; nothing lies under the first. What is due on a layer is due on
    those over it. Rectangles are painted one at a time: Qt strokes a line at a fraction of the cost
    under a clip of one rectangle than under one of many.
    """

    def __init__(self, around: QRect, paints: Iterable[Paint]) -> None:
        self._around, self._paints = around, tuple(paints)
        self._pictures = [QPixmap(around.size()) for _ in self._paints]
        self._due: list[list[QRect]] = [[around] for _ in self._paints]

    def touch(self, layer: int, rect: QRect) -> None:
        """Note that something else lies within a rectangle of a layer."""
        self._due[layer].append(rect)

    def due(self) -> list[QRect]:
        """Return where the topmost picture is no longer right."""
        return gathered(rect for due in self._due for rect in due)

    def painted(self) -> QPixmap:
        """Return the topmost picture, brought up to date."""
        due: list[QRect] = []
        under: QPixmap | None = None
        for paint, picture, own in zip(self._paints, self._pictures, self._due, strict=True):
            due = gathered([*due, *own])
            own.clear()
            for rect in due:
                self._repaint(picture, under, rect & self._around, paint)
            under = picture
        return self._pictures[-1]

    def _repaint(self, picture: QPixmap, under: QPixmap | None, rect: QRect, paint: Paint) -> None:
        painter = QPainter(picture)
        if under is not None:
            painter.drawPixmap(rect, under, rect)
        painter.setClipRect(rect)
        paint(painter, rect)
        painter.end()


def gathered(rects: Iterable[QRect]) -> list[QRect]:
    """Return few rectangles that cover the given ones and little else, none meeting another."""
    out: list[_Span] = []
    for rect in rects:
        # In plain numbers: there are hundreds of them in a move.
        x0, y0, x1, y1 = rect.x(), rect.y(), rect.x() + rect.width(), rect.y() + rect.height()
        area = (x1 - x0) * (y1 - y0)
        k = 0
        while k < len(out):
            a0, b0, a1, b1, own = out[k]
            c0, d0 = (a0 if a0 < x0 else x0), (b0 if b0 < y0 else y0)
            c1, d1 = (a1 if a1 > x1 else x1), (b1 if b1 > y1 else y1)
            both = (c1 - c0) * (d1 - d0)
            meets = a0 < x1 and x0 < a1 and b0 < y1 and y0 < b1
            if meets or both <= area + own + WASTE_DOTS:
                x0, y0, x1, y1, area = c0, d0, c1, d1, both
                del out[k]
                # What has grown may meet one that it did not meet before.
                k = 0
            else:
                k += 1
        out.append((x0, y0, x1, y1, area))
    return [QRect(x0, y0, x1 - x0, y1 - y0) for x0, y0, x1, y1, _ in out]


_Span = tuple[int, int, int, int, int]
"""A rectangle from its first dots to those after its last, and its area."""
