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

Span = tuple[int, int, int, int]
"""A rectangle from its first column and row to those after its last: there are hundreds of them in
a move, and numbers compare faster than `QRect`s."""


class PictureLayers:
    """Pictures of one size, the lowest first, each of which holds all that lies under it.

    `paints` say what each adds; nothing lies under the first. What is due on a layer is due on
    those over it. Rectangles are painted one at a time: Qt strokes a line at a fraction of the cost
    under a clip of one rectangle than under one of many.
    """

    def __init__(self, around: QRect, paints: Iterable[Paint]) -> None:
        self._around, self._paints = around, tuple(paints)
        self._pictures = [QPixmap(around.size()) for _ in self._paints]
        self._touched: list[list[Span]] = [[span_of(around)] for _ in self._paints]
        self._due: list[list[QRect]] | None = None
        """What is to be painted on each layer, once that has been asked for."""

    def touch(self, layer: int, span: Span) -> None:
        """Note that something else lies within a rectangle of a layer."""
        self._touched[layer].append(span)
        self._due = None

    def due(self) -> list[QRect]:
        """Return where the topmost picture is no longer right."""
        return self._gathered()[-1]

    def painted(self) -> QPixmap:
        """Return the topmost picture, brought up to date."""
        under: QPixmap | None = None
        for paint, picture, due in zip(self._paints, self._pictures, self._gathered(), strict=True):
            for rect in due:
                self._repaint(picture, under, rect & self._around, paint)
            under = picture
        for touched in self._touched:
            touched.clear()
        self._due = [[] for _ in self._paints]
        return self._pictures[-1]

    def _gathered(self) -> list[list[QRect]]:
        if self._due is None:
            self._due = []
            spans: list[Span] = []
            for touched in self._touched:
                spans = gathered([*spans, *touched])
                self._due.append([QRect(x0, y0, x1 - x0, y1 - y0) for x0, y0, x1, y1 in spans])
        return self._due

    def _repaint(self, picture: QPixmap, under: QPixmap | None, rect: QRect, paint: Paint) -> None:
        painter = QPainter(picture)
        if under is not None:
            painter.drawPixmap(rect, under, rect)
        painter.setClipRect(rect)
        paint(painter, rect)
        painter.end()


def span_of(rect: QRect) -> Span:
    """Return a rectangle as numbers."""
    ends: Span = rect.getCoords()  # type: ignore[assignment]  # the stub tells of no tuple
    return ends[0], ends[1], ends[2] + 1, ends[3] + 1


def gathered(spans: Iterable[Span]) -> list[Span]:
    """Return few rectangles that cover the given ones and little else, none meeting another."""
    out: list[tuple[int, int, int, int, int]] = []
    """Each with its area."""
    for span in dict.fromkeys(spans):
        x0, y0, x1, y1 = span
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
    return [(x0, y0, x1, y1) for x0, y0, x1, y1, _ in out]
