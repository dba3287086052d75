"""The board as it was last painted whole, kept while something moves over it.

Painting a picture that is kept costs next to nothing, however much is drawn on it. What changes on
the board meanwhile is painted behind, tile by tile, and comes to sight all at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from PySide6.QtCore import QPointF, QRect, QRectF
from PySide6.QtGui import QPainter, QPixmap, QRegion
from PySide6.QtWidgets import QGraphicsView

from app.drawing.primitives import Group
from app.ui.board.items import Looks, Strip, runs_of, strips_of

TILE_PX = 96
EDGE_PX = 2
"""How far beyond its rectangle a smoothed edge may show."""


class StillBoard:
    """Two pictures of a view's board: one in sight, one in which the next is painted."""

    def __init__(self, view: QGraphicsView) -> None:
        self._view = view
        self._front: QPixmap | None = None
        self._back: QPixmap | None = None
        self._due: list[QRect] = []
        self._over: list[tuple[str, QRectF, list[Strip]]] = []
        self._made_from: list[Group] = []
        self.on = False
        """Whether the view shows the picture that is kept."""
        self.tiles = 0
        """How many tiles have been painted so far."""

    def start(self) -> None:
        """Keep the board as it is from now on."""
        if not self.on:
            self.on = True
            self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.NoViewportUpdate)
            self.drop()

    def stop(self) -> None:
        """Let the view paint the board itself again."""
        if self.on:
            self.on = False
            self.drop()
            self._over, self._made_from = [], []
            self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)

    def drop(self) -> None:
        """Paint all of it anew at the next paint, as after a zoom."""
        self._front = self._back = None
        self._due = []
        self._view.viewport().update()

    # what moves over it

    def show_over(self, groups: Sequence[Group], looks: Looks) -> None:
        """Show groups over the board in place of those before."""
        before = {one.key: (one, old) for one, old in zip(self._made_from, self._over, strict=True)}
        over = []
        for group in groups:
            known = before.pop(group.key, None)
            if known is not None and known[0] == group:
                over.append(known[1])
                continue
            strips = [strip for run in runs_of(group) for strip in strips_of(run, looks)]
            rect = QRectF()
            for path, pen, _ in strips:
                half = pen.widthF() / 2
                rect |= path.controlPointRect().adjusted(-half, -half, half, half)
            over.append((group.key, rect, strips))
            self._update(rect)
            if known is not None:
                self._update(known[1][1])
        for _, old in before.values():
            self._update(old[1])
        self._made_from, self._over = list(groups), over

    def _update(self, rect: QRectF) -> None:
        self._view.viewport().update(self._pixels(rect))

    def _pixels(self, rect: QRectF) -> QRect:
        """Return the pixels of the viewport that a rectangle on the board touches."""
        view = self._view.viewportTransform().mapRect(rect)
        return view.toAlignedRect().adjusted(-EDGE_PX, -EDGE_PX, EDGE_PX, EDGE_PX)

    # painting

    def paint(self, exposed: QRegion) -> None:
        """Paint the picture that is kept and what moves over it into the viewport."""
        if self._front is None:
            self._front = self._whole()
            self._back = self._front.copy()
        front = self._front
        ratio = front.devicePixelRatio()
        painter = QPainter(self._view.viewport())
        painter.setClipRegion(exposed)
        for rect in exposed:  # type: ignore[attr-defined]  # stubs lack it
            source = QRectF(rect.x() * ratio, rect.y() * ratio, 0, 0)
            source.setWidth(rect.width() * ratio)
            source.setHeight(rect.height() * ratio)
            painter.drawPixmap(QRectF(rect), front, source)
        painter.setRenderHints(self._view.renderHints())
        painter.setTransform(self._view.viewportTransform())
        for _, rect, strips in self._over:
            if not exposed.intersects(self._pixels(rect)):
                continue
            for path, pen, brush in strips:
                painter.setPen(pen)
                painter.setBrush(brush)
                painter.drawPath(path)
        painter.end()

    def _whole(self) -> QPixmap:
        size, ratio = self._view.viewport().size(), self._view.viewport().devicePixelRatioF()
        picture = QPixmap(size * ratio)
        picture.setDevicePixelRatio(ratio)
        picture.fill(self._view.viewport().palette().base().color())
        self._paint_into(picture, [self._view.viewport().rect()])
        return picture

    def _paint_into(self, picture: QPixmap, rects: Iterable[QRect]) -> None:
        painter = QPainter(picture)
        painter.setRenderHints(self._view.renderHints())
        for rect in rects:
            painter.setClipRect(rect)
            self._view.render(painter, QRectF(rect), rect)
        painter.end()

    def steps(self, touched: Sequence[QRectF]) -> Iterator[None]:
        """Paint behind what has changed on the board, a tile at a time; `turn` shows it."""
        if self._back is None:
            return
        port = self._view.viewport().rect()
        dirty = QRegion()
        for rect in touched:
            pixels = self._pixels(rect) & port
            if not pixels.isEmpty():
                dirty += pixels
        for top in range(0, port.height(), TILE_PX):
            for left in range(0, port.width(), TILE_PX):
                tile = QRect(left, top, TILE_PX, TILE_PX) & port
                part = (dirty & tile).boundingRect()
                if part.isEmpty():
                    continue
                if self._back is None:
                    return  # type: ignore[unreachable]  # dropped between steps
                self._paint_into(self._back, [part])
                self._due.append(part)
                self.tiles += 1
                yield

    def turn(self) -> None:
        """Bring what has been painted behind to sight."""
        if self._front is None or self._back is None or not self._due:
            self._due = []
            return
        ratio = self._front.devicePixelRatio()
        painter = QPainter(self._front)
        for rect in self._due:
            source = QRectF(QPointF(rect.topLeft()) * ratio, QRectF(rect).size() * ratio)
            painter.drawPixmap(QRectF(rect), self._back, source)
            self._view.viewport().update(rect)
        painter.end()
        self._due = []
