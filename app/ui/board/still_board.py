"""The board while something moves over it, painted from its groups without the scene's items.

What lies at the back, the enclosure and the bodies of parts, is kept in a picture of its own, so
that the lines and short texts drawn over them can change without them. In each picture only what
has changed is painted anew, a few rectangles at a time: Qt strokes a line at a fraction of the cost
under a clip of one rectangle than under one of many.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from operator import attrgetter

from PySide6.QtCore import QPointF, QRect, QRectF
from PySide6.QtGui import QPainter, QPixmap, QRegion, QTransform
from PySide6.QtWidgets import QGraphicsView

from app.drawing.making import LEVEL_HIDDEN, LEVEL_SOLID
from app.drawing.primitives import Group, Text
from app.ui.board.strips import Looks, Strip, runs_of, strips_of
from app.ui.board.text_images import TextImages, text_rect

WASTE_PX = 4_000
"""So many pixels more are painted sooner than a rectangle more."""

EDGE_PX = 2
"""How far beyond its rectangle a smoothed edge may show."""


class _Ready:
    """A group made ready to paint, with the pixels that it touches."""

    __slots__ = ("group", "level", "marks", "pixels", "rect", "x0", "x1", "y0", "y1")

    def __init__(self, group: Group, looks: Looks, to_pixels: QTransform) -> None:
        self.group, self.level = group, group.level
        self.marks: list[Strip | Text] = []
        rect = QRectF()
        for run in runs_of(group):
            first = run[0]
            if isinstance(first, Text):
                self.marks.append(first)
                rect |= text_rect(first)
                continue
            for strip in strips_of(run, looks):
                self.marks.append(strip)
                half = strip[1].widthF() / 2
                rect |= strip[0].controlPointRect().adjusted(-half, -half, half, half)
        self.rect = rect
        aligned = to_pixels.mapRect(rect).toAlignedRect()
        self.pixels = aligned.adjusted(-EDGE_PX, -EDGE_PX, EDGE_PX, EDGE_PX)
        self.x0, self.x1 = self.pixels.left(), self.pixels.right()
        self.y0, self.y1 = self.pixels.top(), self.pixels.bottom()


class StillBoard:
    """Paints groups into the viewport of a view in the place of its scene."""

    def __init__(self, view: QGraphicsView) -> None:
        self._view = view
        self._groups: tuple[Group, ...] = ()
        self._ready: dict[str, _Ready] = {}
        self._back: list[_Ready] = []
        self._front: list[_Ready] = []
        self._over: dict[str, _Ready] = {}
        self._over_groups: tuple[Group, ...] = ()
        self._looks: Looks | None = None
        self._texts: TextImages | None = None
        self._paper = self._backs = self._whole = QPixmap()
        self._back_due: list[QRect] = []
        self._due: list[QRect] = []
        """Where the pictures are no longer right."""
        self.on = False
        """Whether it stands in for the scene."""
        self.rebuilt = 0
        """How many groups have been made ready so far; few more of them when one part moves."""

    def start(self) -> None:
        """Stand in for the scene from now on."""
        if not self.on:
            self.on = True
            self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.NoViewportUpdate)

    def stop(self) -> None:
        """Let the view paint its scene again."""
        if self.on:
            self.on = False
            self.drop()
            self._groups = self._over_groups = ()
            self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)

    def drop(self) -> None:
        """Make all of it ready anew at the next paint, as after a zoom."""
        self._ready, self._over, self._back, self._front = {}, {}, [], []
        self._paper = self._backs = self._whole = QPixmap()
        self._back_due, self._due = [], []
        self._texts = None
        self._view.viewport().update()

    # what is shown

    def group(self, key: str) -> Group | None:
        """Return a group that is shown; None when there is none by that key."""
        found = self._over.get(key) or self._ready.get(key)
        return found.group if found is not None else None

    def rect(self, key: str) -> QRectF | None:
        """Return the rectangle round a group on the board; None when there is none by that key."""
        found = self._over.get(key) or self._ready.get(key)
        return found.rect if found is not None else None

    def shown_keys(self) -> tuple[str, ...]:
        """Return the keys of the groups shown, from the back to the front."""
        return tuple(one.group.key for one in (*self._back, *self._front, *self._over.values()))

    def show(self, groups: Sequence[Group], looks: Looks) -> None:
        """Show the groups of a board in place of those before.

        A body that has been made anew is painted anew even where it is equal to the one before:
        it may have come to stand before another one.
        """
        if looks is not self._looks:
            self.drop()
            self._looks = looks
        self._groups = tuple(groups)
        before, self._ready = self._ready, self._shown(groups, self._ready)
        for key, gone in before.items():
            if key not in self._ready:
                self._touch(gone)
        every = sorted(self._ready.values(), key=attrgetter("level"))
        at = sum(one.level < LEVEL_HIDDEN for one in every)
        self._back, self._front = every[:at], every[at:]

    def show_over(self, groups: Sequence[Group], looks: Looks) -> None:
        """Show groups over the board in place of those before."""
        self._looks, self._over_groups = looks, tuple(groups)
        before, self._over = self._over, self._shown(groups, self._over)
        for key, gone in before.items():
            if key not in self._over:
                self._touch(gone)
        self._due = gathered(self._due)
        for rect in self._due:
            self._view.viewport().update(rect)

    def _shown(self, groups: Iterable[Group], before: dict[str, _Ready]) -> dict[str, _Ready]:
        assert self._looks is not None
        to_pixels = self._view.viewportTransform()
        ready: dict[str, _Ready] = {}
        for group in groups:
            one = before.get(group.key)
            if one is None or one.group is not group:
                if one is not None and group.level != LEVEL_SOLID and one.group == group:
                    one.group = group
                else:
                    if one is not None:
                        self._touch(one)
                    one = _Ready(group, self._looks, to_pixels)
                    self.rebuilt += 1
                    self._touch(one)
            ready[group.key] = one
        return ready

    def _touch(self, one: _Ready) -> None:
        self._due.append(one.pixels)
        if one.level < LEVEL_HIDDEN:
            self._back_due.append(one.pixels)

    # painting

    def paint(self, exposed: QRegion) -> None:
        """Paint what is shown into the viewport, as far as it is exposed."""
        if self._looks is None:
            return
        if self._whole.isNull():
            self._begin(self._looks)
        port = self._view.viewport()
        for rect in gathered(self._back_due):
            self._repaint(self._backs, self._paper, rect & port.rect(), self._back)
        for rect in gathered(self._due):
            over = (*self._front, *self._over.values())
            self._repaint(self._whole, self._backs, rect & port.rect(), over)
        self._back_due, self._due = [], []
        painter = QPainter(port)
        for rect in exposed:  # type: ignore[attr-defined]  # stubs lack it
            _copy(self._whole, painter, rect)
        painter.end()

    def _begin(self, looks: Looks) -> None:
        """Paint the paper; all that lies on it is due."""
        port, to_pixels = self._view.viewport(), self._view.viewportTransform()
        ratio = port.devicePixelRatioF()
        self._texts = TextImages(looks, to_pixels * QTransform.fromScale(ratio, ratio), ratio)
        self.show(self._groups, looks)
        self.show_over(self._over_groups, looks)
        self._paper = QPixmap(port.size() * ratio)
        self._paper.setDevicePixelRatio(ratio)
        painter = QPainter(self._paper)
        painter.setTransform(to_pixels)
        seen = to_pixels.inverted()[0].mapRect(QRectF(port.rect()))
        self._view.drawBackground(painter, seen)
        painter.end()
        self._backs, self._whole = self._paper.copy(), self._paper.copy()
        self._back_due = self._due = [port.rect()]

    def _repaint(
        self, picture: QPixmap, ground: QPixmap, where: QRect, every: Iterable[_Ready]
    ) -> None:
        """Paint a part of a picture anew: its ground, and groups over it."""
        painter = QPainter(picture)
        _copy(ground, painter, where)
        painter.setClipRect(where)
        painter.setRenderHints(self._view.renderHints())
        painter.setTransform(self._view.viewportTransform())
        self._paint(every, painter, where)
        painter.end()

    def _paint(self, every: Iterable[_Ready], painter: QPainter, where: QRect) -> None:
        texts = self._texts
        assert texts is not None
        to_pixels = painter.worldTransform()
        x0, x1, y0, y1 = where.left(), where.right(), where.top(), where.bottom()
        for one in every:
            if one.x0 > x1 or one.x1 < x0 or one.y0 > y1 or one.y1 < y0:
                continue
            for mark in one.marks:
                if isinstance(mark, Text):
                    painter.resetTransform()
                    texts.paint(mark, painter)
                    painter.setTransform(to_pixels)
                else:
                    path, pen, brush = mark
                    painter.setPen(pen)
                    painter.setBrush(brush)
                    painter.drawPath(path)


def _copy(picture: QPixmap, painter: QPainter, rect: QRect) -> None:
    """Copy a rectangle of a picture to the same place."""
    ratio = picture.devicePixelRatio()
    corner = QPointF(rect.topLeft()) * ratio
    source = QRectF(corner.x(), corner.y(), rect.width() * ratio, rect.height() * ratio)
    painter.drawPixmap(QRectF(rect), picture, source)


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
                if new.intersects(one) or _area(both) <= _area(new) + _area(one) + WASTE_PX:
                    new, grows = both, True
                    del out[k]
                    break
        out.append(new)
    return out


def _area(rect: QRect) -> int:
    return rect.width() * rect.height()
