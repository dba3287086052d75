"""The board while something moves over it, painted from its groups without the scene's items.

The bodies of parts, the lines drawn over them, marks and dimensions, and balloons with what follows
the pointer lie on layers of their own, so that a leader which crosses the board costs its own line,
not all that it crosses.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from itertools import pairwise
from operator import attrgetter

from PySide6.QtCore import QRect, QRectF
from PySide6.QtGui import QBrush, QPainter, QPen, QPixmap, QRegion, QTransform
from PySide6.QtWidgets import QGraphicsView

from app.drawing.board_making import LEVEL_SOLID
from app.drawing.primitives import Group
from app.ui.board.picture_layers import PictureLayers, span_of
from app.ui.board.ready_groups import (
    BODIES,
    EDGE_DOTS,
    FIGURES,
    LINES,
    NOTES,
    ReadyGroup,
    ToDots,
)
from app.ui.board.strips import Looks
from app.ui.board.text_images import LetterHalos, TextImages

_KEY, _LEVEL, _LAYER = (attrgetter(name) for name in ("key", "level", "layer"))


class StillBoard:
    """Paints groups into the viewport of a view in the place of its scene."""

    def __init__(self, view: QGraphicsView) -> None:
        self._view = view
        self._groups: tuple[Group, ...] = ()
        self._over_groups: tuple[Group, ...] = ()
        self._ready: dict[str, ReadyGroup] = {}
        self._past: list[object] = []
        """What was ready before, which is freed when there is time for it."""
        self._over: dict[str, ReadyGroup] = {}
        self._on: dict[int, list[ReadyGroup]] = {BODIES: [], LINES: [], FIGURES: [], NOTES: []}
        """What lies on each layer, from the back to the front."""
        self._looks: Looks | None = None
        self._layers: PictureLayers | None = None
        self._texts: TextImages | None = None
        self._halos: LetterHalos | None = None
        """Kept from one drag to the next: the same letters are wanted again."""
        self._dots: QTransform | None = None
        """The way from the board to dots for which groups are ready."""
        self._hints = view.renderHints()
        """Asked for once a drag: Qt's answer becomes an enum, which takes longer than a line."""
        self.on = False
        """Whether it stands in for the scene."""
        self.rebuilt = 0
        """How many groups have been made ready so far; few more of them when one part moves."""

    def start(self) -> None:
        """Stand in for the scene from now on; what was ready in the last drag still is."""
        if not self.on:
            self.on = True
            self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.NoViewportUpdate)
            if self._dots != self._way_to_dots():
                self.drop()
            self._view.viewport().update()

    def stop(self) -> None:
        """Let the view paint its scene again."""
        if self.on:
            self.on = False
            self._over, self._over_groups, self._groups = {}, (), ()
            self._layers = self._texts = None
            self._view.viewport().update()
            self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)

    def drop(self) -> None:
        """Make all of it ready anew at the next paint, as after a zoom."""
        self._ready, self._over = {}, {}
        self._on = {BODIES: [], LINES: [], FIGURES: [], NOTES: []}
        self._layers = self._texts = self._dots = None
        self._view.viewport().update()

    def let_go(self) -> None:
        """Free what was ready before, which takes a while, when there is time for it."""
        self._past = []

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
        self._past += (self._ready, self._on)
        self._groups = tuple(groups)
        self._ready = self._shown(groups, self._ready)
        every = sorted(self._ready.values(), key=_LEVEL)
        ends = [bisect_right(every, layer, key=_LAYER) for layer in self._on]
        self._on = {
            layer: every[start:end]
            for layer, (start, end) in zip(self._on, pairwise((0, *ends)), strict=True)
        }

    def show_over(self, groups: Sequence[Group], looks: Looks) -> None:
        """Show groups over the board in place of those before."""
        self._looks, self._over_groups = looks, tuple(groups)
        self._over = self._shown(groups, self._over)
        if self._layers is not None:
            to_pixels = self._to_pixels()
            for rect in self._layers.due():
                self._view.viewport().update(to_pixels.mapRect(QRectF(rect)).toAlignedRect())

    def _shown(
        self, groups: Sequence[Group], before: dict[str, ReadyGroup]
    ) -> dict[str, ReadyGroup]:
        keys, way = list(map(_KEY, groups)), self._numbers()
        olds = map(before.get, keys)
        every = [
            one if one is not None and one.group is group else self._renewed(group, one, way)
            for group, one in zip(groups, olds, strict=True)
        ]
        ready = dict(zip(keys, every, strict=True))
        for key in before.keys() - ready.keys():
            self._touch(before[key])
        return ready

    def _renewed(self, group: Group, old: ReadyGroup | None, way: ToDots) -> ReadyGroup:
        """Return a group that was made anew ready to paint."""
        assert self._looks is not None
        if old is not None and old.group == group:
            old.group = group
            if group.level == LEVEL_SOLID:
                self._touch(old)
            return old
        new = ReadyGroup(group, self._looks, way)
        self.rebuilt += 1
        if old is not None:
            self._touch(old)
        self._touch(new)
        return new

    def _touch(self, one: ReadyGroup) -> None:
        if self._layers is not None:
            self._layers.touch(one.layer, one.span)

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
        """Return the way from the board to dots, as it was when the first group was made ready."""
        if self._dots is None:
            self._dots = self._way_to_dots()
        return self._dots

    def _numbers(self) -> ToDots:
        """Return the way from the board to dots as numbers."""
        to_dots = self._to_dots()
        return to_dots.m11(), to_dots.dx(), to_dots.dy()

    def _way_to_dots(self) -> QTransform:
        to_dot = QTransform.fromScale(self._ratio, self._ratio)
        return self._view.viewportTransform() * to_dot

    def _to_board(self) -> QTransform:
        """Return the way from dots to the board."""
        return self._to_dots().inverted()[0]

    def _begun(self, looks: Looks) -> PictureLayers:
        """Return the layers of a board of which nothing is painted yet."""
        port, self._hints = QRectF(self._view.viewport().rect()), self._view.renderHints()
        self._texts = TextImages(looks, self._to_dots(), self._halos)
        self._halos = self._texts.halos
        self.show(self._groups, looks)
        self.show_over(self._over_groups, looks)
        paints = (
            self._paint_paper,
            lambda painter, rect: self._paint(self._on[BODIES], painter, rect),
            lambda painter, rect: self._paint(self._on[LINES], painter, rect),
            lambda painter, rect: self._paint(self._on[FIGURES], painter, rect),
            lambda painter, rect: self._paint(
                (*self._on[NOTES], *self._over.values()), painter, rect
            ),
        )
        return PictureLayers(self._to_pixels().inverted()[0].mapRect(port).toAlignedRect(), paints)

    def _paint_paper(self, painter: QPainter, rect: QRect) -> None:
        painter.setTransform(self._to_dots())
        self._view.drawBackground(painter, self._to_board().mapRect(QRectF(rect)))

    def _paint(self, every: Iterable[ReadyGroup], painter: QPainter, where: QRect) -> None:
        texts, to_dots = self._texts, self._to_dots()
        pen: QPen | None = None
        brush: QBrush | None = None
        stamping = False
        assert texts is not None
        painter.setRenderHints(self._hints)
        painter.setTransform(to_dots)
        left, top, right, bottom = span_of(where)
        # Qt strokes what lies outside of the clip before it leaves it out.
        scale, dx, dy = self._numbers()
        least_x, least_y = (left - EDGE_DOTS - dx) / scale, (top - EDGE_DOTS - dy) / scale
        most_x, most_y = (right + EDGE_DOTS - dx) / scale, (bottom + EDGE_DOTS - dy) / scale
        for one in every:
            a0, b0, a1, b1 = one.span
            if a0 >= right or a1 <= left or b0 >= bottom or b1 <= top:
                continue
            for (x0, y0, x1, y1), mark in one.marks(texts):
                if x0 > most_x or x1 < least_x or y0 > most_y or y1 < least_y:
                    continue
                if len(mark) == 2:
                    if not stamping:
                        painter.resetTransform()
                        stamping = True
                    painter.drawPixmap(*mark)
                    continue
                if stamping:
                    painter.setTransform(to_dots)
                    stamping = False
                path, own_pen, own_brush = mark
                if own_pen is not pen:
                    pen = own_pen
                    painter.setPen(pen)
                if own_brush is not brush:
                    brush = own_brush
                    painter.setBrush(brush)
                painter.drawPath(path)
