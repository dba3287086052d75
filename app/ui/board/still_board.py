"""The board while something moves over it, painted from its groups without the scene's items.

The bodies of parts, the lines drawn over them, and the annotations with what follows the pointer
lie on layers of their own, so that a leader which crosses the board costs its own line, not all
that it crosses.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from functools import reduce
from operator import attrgetter, or_

from PySide6.QtCore import QRect, QRectF
from PySide6.QtGui import QBrush, QPainter, QPen, QPixmap, QRegion, QTransform
from PySide6.QtWidgets import QGraphicsView

from app.drawing.making import LEVEL_HIDDEN, LEVEL_SELECTED, LEVEL_SOLID
from app.drawing.primitives import Group, Text
from app.ui.board.layers import Layers
from app.ui.board.strips import Looks, Strip, runs_of, strips_of
from app.ui.board.text_images import Stamp, TextImages, text_rect

EDGE_DOTS = 2
"""How far beyond its rectangle a smoothed edge may show."""

PAPER, BODIES, LINES, NOTES = 0, 1, 2, 3
"""The layers: paper; bodies and zones; hidden edges, keep-outs and names; annotations and notes."""


class _Ready:
    """A group made ready to paint, with the dots that it touches and the layer on which it is."""

    __slots__ = (
        "dots", "group", "layer", "level", "marks", "rect", "unstamped", "x0", "x1", "y0", "y1",
    )  # fmt: skip

    def __init__(self, group: Group, looks: Looks, to_dots: QTransform) -> None:
        self.group, self.level = group, group.level
        self.layer = (
            BODIES if self.level < LEVEL_HIDDEN else LINES if self.level < LEVEL_SELECTED else NOTES
        )
        self.marks: list[Strip | Stamp] = []
        self.unstamped: list[Strip | Text] = []
        rects: list[QRectF] = []
        for run in runs_of(group):
            first = run[0]
            if isinstance(first, Text):
                self.unstamped.append(first)
                rects.append(text_rect(first))
                continue
            for strip in strips_of(run, looks):
                self.unstamped.append(strip)
                half = strip[1].widthF() / 2
                rects.append(strip[0].controlPointRect().adjusted(-half, -half, half, half))
        self.rect = reduce(or_, rects, QRectF())
        aligned = to_dots.mapRect(self.rect).toAlignedRect()
        self.dots = aligned.adjusted(-EDGE_DOTS, -EDGE_DOTS, EDGE_DOTS, EDGE_DOTS)
        self.x0, self.x1 = self.dots.left(), self.dots.right()
        self.y0, self.y1 = self.dots.top(), self.dots.bottom()


class StillBoard:
    """Paints groups into the viewport of a view in the place of its scene."""

    def __init__(self, view: QGraphicsView) -> None:
        self._view = view
        self._groups: tuple[Group, ...] = ()
        self._over_groups: tuple[Group, ...] = ()
        self._ready: dict[str, _Ready] = {}
        self._over: dict[str, _Ready] = {}
        self._on: dict[int, list[_Ready]] = {BODIES: [], LINES: [], NOTES: []}
        """What lies on each layer, from the back to the front."""
        self._looks: Looks | None = None
        self._layers: Layers | None = None
        self._texts: TextImages | None = None
        self.on = False
        """Whether it stands in for the scene."""
        self.rebuilt = 0
        """How many groups have been made ready so far; few more of them when one part moves."""

    def start(self) -> None:
        """Stand in for the scene from now on."""
        if not self.on:
            self.on = True
            self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.NoViewportUpdate)
            self.drop()

    def stop(self) -> None:
        """Let the view paint its scene again."""
        if self.on:
            self.on = False
            self.drop()
            self._groups = self._over_groups = ()
            self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)

    def drop(self) -> None:
        """Make all of it ready anew at the next paint, as after a zoom."""
        self._ready, self._over = {}, {}
        self._on = {BODIES: [], LINES: [], NOTES: []}
        self._layers = self._texts = None
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
        every = [one for layer in self._on.values() for one in layer]
        return tuple(one.group.key for one in (*every, *self._over.values()))

    def show(self, groups: Sequence[Group], looks: Looks) -> None:
        """Show the groups of a board in place of those before.

        A body that has been made anew is painted anew even where it is equal to the one before:
        it may have come to stand before another one.
        """
        if looks is not self._looks:
            self.drop()
            self._looks = looks
        self._groups = tuple(groups)
        self._ready = self._shown(groups, self._ready)
        every = sorted(self._ready.values(), key=attrgetter("level"))
        lines, notes = (
            bisect_left(every, level, key=attrgetter("level"))
            for level in (LEVEL_HIDDEN, LEVEL_SELECTED)
        )
        self._on = {BODIES: every[:lines], LINES: every[lines:notes], NOTES: every[notes:]}

    def show_over(self, groups: Sequence[Group], looks: Looks) -> None:
        """Show groups over the board in place of those before."""
        self._looks, self._over_groups = looks, tuple(groups)
        self._over = self._shown(groups, self._over)
        if self._layers is not None:
            to_pixels = self._to_pixels()
            for rect in self._layers.due():
                self._view.viewport().update(to_pixels.mapRect(QRectF(rect)).toAlignedRect())

    def _shown(self, groups: Sequence[Group], before: dict[str, _Ready]) -> dict[str, _Ready]:
        assert self._looks is not None
        to_dots = self._to_dots()
        keys = [group.key for group in groups]
        every = list(map(before.get, keys))
        for place, (group, old) in enumerate(zip(groups, every, strict=True)):
            if old is not None and old.group is group:
                continue
            if old is not None and group.level != LEVEL_SOLID and old.group == group:
                old.group = group
                continue
            new = every[place] = _Ready(group, self._looks, to_dots)
            self.rebuilt += 1
            for one in (old, new):
                if one is not None:
                    self._touch(one)
        ready = {key: one for key, one in zip(keys, every, strict=True) if one is not None}
        for key in before.keys() - ready.keys():
            self._touch(before[key])
        return ready

    def _touch(self, one: _Ready) -> None:
        if self._layers is not None:
            self._layers.touch(one.layer, one.dots)

    # painting

    def paint(self, exposed: QRegion) -> None:
        """Paint what is shown into the viewport, as far as it is exposed."""
        picture = self.picture()
        if picture is None:
            return
        to_dots, ratio = self._to_pixels().inverted()[0], self._ratio
        painter = QPainter(self._view.viewport())
        painter.scale(1 / ratio, 1 / ratio)
        for rect in exposed:  # type: ignore[attr-defined]  # stubs lack it
            dots = to_dots.mapRect(QRectF(rect)).toAlignedRect()
            painter.drawPixmap(dots, picture, dots)
        painter.end()

    def picture(self) -> QPixmap | None:
        """Return what is shown, dot for dot; None as long as that is nothing.

        Painted piece by piece as it changed, it looks as if painted at once.
        """
        if self._looks is None:
            return None
        if self._layers is None:
            self._layers = self._begun(self._looks)
        return self._layers.painted()

    @property
    def _ratio(self) -> float:
        """How many dots of the screen a pixel is wide."""
        return self._view.viewport().devicePixelRatioF()

    def _to_pixels(self) -> QTransform:
        """Return the way from dots to the viewport's pixels."""
        return QTransform.fromScale(1 / self._ratio, 1 / self._ratio)

    def _to_dots(self) -> QTransform:
        """Return the way from the board to dots."""
        return self._view.viewportTransform() * QTransform.fromScale(self._ratio, self._ratio)

    def _begun(self, looks: Looks) -> Layers:
        """Return the layers of a board of which nothing is painted yet."""
        port = QRectF(self._view.viewport().rect())
        self._texts = TextImages(looks, self._to_dots())
        self.show(self._groups, looks)
        self.show_over(self._over_groups, looks)
        paints = (
            self._paint_paper,
            lambda painter, rect: self._paint(self._on[BODIES], painter, rect),
            lambda painter, rect: self._paint(self._on[LINES], painter, rect),
            lambda painter, rect: self._paint(
                (*self._on[NOTES], *self._over.values()), painter, rect
            ),
        )
        return Layers(self._to_pixels().inverted()[0].mapRect(port).toAlignedRect(), paints)

    def _paint_paper(self, painter: QPainter, rect: QRect) -> None:
        to_dots = self._to_dots()
        painter.setTransform(to_dots)
        self._view.drawBackground(painter, to_dots.inverted()[0].mapRect(QRectF(rect)))

    def _paint(self, every: Iterable[_Ready], painter: QPainter, where: QRect) -> None:
        texts, to_dots = self._texts, self._to_dots()
        pen: QPen | None = None
        brush: QBrush | None = None
        assert texts is not None
        painter.setRenderHints(self._view.renderHints())
        painter.setTransform(to_dots)
        x0, x1, y0, y1 = where.left(), where.right(), where.top(), where.bottom()
        for one in every:
            if one.x0 > x1 or one.x1 < x0 or one.y0 > y1 or one.y1 < y0:
                continue
            if one.unstamped:
                one.marks = [texts.stamp(m) if isinstance(m, Text) else m for m in one.unstamped]
                one.unstamped = []
            for mark in one.marks:
                if len(mark) == 3:
                    path, own_pen, own_brush = mark
                    if own_pen is not pen:
                        pen = own_pen
                        painter.setPen(pen)
                    if own_brush is not brush:
                        brush = own_brush
                        painter.setBrush(brush)
                    painter.drawPath(path)
                else:
                    painter.resetTransform()
                    painter.drawPixmap(*mark)
                    painter.setTransform(to_dots)
