"""Drawing groups as Qt scene items; a group that is equal to the one before keeps its items."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPen
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsPathItem,
    QGraphicsRectItem,
    QGraphicsScene,
)

from app.drawing.primitives import Drawing, Group, Primitive, Text
from app.drawing.theme import Theme
from app.paint.shapes import brush_of, halo_pen, hatch_path, hatch_pen, outline_path, pen_of

KEY_ROLE = 0
"""Where an item keeps its group's key (QGraphicsItem.data)."""

LEVEL_STEP = 10_000
"""Groups of one level keep their order below this number."""


class BoardItems:
    """Owns the items that show one drawing in a scene."""

    def __init__(self, scene: QGraphicsScene) -> None:
        self._scene = scene
        self._shown: dict[str, tuple[Group, QGraphicsItem]] = {}
        self._theme: Theme | None = None
        self.rebuilt = 0
        """How many groups have been built so far; few more of them when one part moves."""

    def show(self, drawing: Drawing, theme: Theme) -> None:
        """Show a drawing in place of the one before."""
        if theme is not self._theme:
            self.clear()
            self._theme = theme
        kept: dict[str, tuple[Group, QGraphicsItem]] = {}
        for order, group in enumerate(drawing.groups):
            old = self._shown.pop(group.key, None)
            if old is not None and (old[0] is group or old[0] == group):
                item = old[1]
            else:
                if old is not None:
                    self._scene.removeItem(old[1])
                item = self._build(group, theme)
                self.rebuilt += 1
            item.setZValue(group.level * LEVEL_STEP + order)
            kept[group.key] = (group, item)
        for _, gone in self._shown.values():
            self._scene.removeItem(gone)
        self._shown = kept

    def clear(self) -> None:
        """Take all items out of the scene."""
        for _, item in self._shown.values():
            self._scene.removeItem(item)
        self._shown = {}

    def keys(self) -> tuple[str, ...]:
        """Return the keys of the groups shown, from the back to the front."""
        return tuple(self._shown)

    def group(self, key: str) -> Group | None:
        """Return a group that is shown; None when there is none by that key."""
        found = self._shown.get(key)
        return found[0] if found is not None else None

    def rect(self, key: str) -> QRectF | None:
        """Return the rectangle round a group on the board; None when there is none by that key."""
        found = self._shown.get(key)
        return found[1].childrenBoundingRect() if found is not None else None

    def keys_at(self, place: QPointF) -> Iterator[str]:
        """Yield the keys of the groups under a place on the board, from the front to the back."""
        seen: set[str] = set()
        for item in self._scene.items(place):
            top = item.parentItem() or item
            key = top.data(KEY_ROLE)
            if isinstance(key, str) and key not in seen:
                seen.add(key)
                yield key

    def _build(self, group: Group, theme: Theme) -> QGraphicsItem:
        parent = QGraphicsRectItem()
        parent.setFlag(QGraphicsItem.GraphicsItemFlag.ItemHasNoContents)
        parent.setData(KEY_ROLE, group.key)
        for primitive in group.primitives:
            for item in primitive_items(primitive, theme):
                item.setParentItem(parent)
        self._scene.addItem(parent)
        return parent


def primitive_items(primitive: Primitive, theme: Theme) -> Iterator[QGraphicsPathItem]:
    """Yield the path items that show one primitive: tint, hatch and outline; for text its halo."""
    path = outline_path(primitive)
    if isinstance(primitive, Text):
        if primitive.halo:
            under = QGraphicsPathItem(path)
            under.setPen(halo_pen(primitive, theme))
            yield under
        item = QGraphicsPathItem(path)
        item.setPen(QPen(Qt.PenStyle.NoPen))
        item.setBrush(QBrush(QColor(theme.stroke(primitive.ink))))
        yield item
        return
    fill = getattr(primitive, "fill", None)
    item = QGraphicsPathItem(path)
    item.setPen(pen_of(primitive.stroke, theme))
    item.setBrush(brush_of(fill, theme))
    yield item
    if fill is not None and fill.hatch != "none":
        lines = QGraphicsPathItem(hatch_path(primitive))  # type: ignore[arg-type]
        lines.setPen(hatch_pen(fill, theme))
        yield lines
