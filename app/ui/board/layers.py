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
    out: list[QRect] = []
    for rect in rects:
        new = rect
        grows = True
        while grows:
            grows = False
            for k, one in enumerate(out):
                both = new | one
                if new.intersects(one) or _area(both) <= _area(new) + _area(one) + WASTE_DOTS:
                    new, grows = both, True
                    del out[k]
                    break
        out.append(new)
    return out


def _area(rect: QRect) -> int:
    return rect.width() * rect.height()
