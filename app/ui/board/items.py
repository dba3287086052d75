"""Drawing groups as Qt scene items; a group that is equal to the one before keeps its items."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSizeF
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsPathItem,
    QGraphicsRectItem,
    QGraphicsScene,
)

from app.drawing.paint_heights import stacked
from app.drawing.primitives import Group, Text
from app.drawing.theme import Theme
from app.ui.board.strips import Looks, Run, Strip, runs_of, strips_of

KEY_ROLE = 0
"""Where an item keeps its group's key (QGraphicsItem.data)."""


@dataclass(slots=True)
class _Shown:
    """A group with its items: the parent of all, and for each run of primitives its own."""

    group: Group
    parent: QGraphicsRectItem
    runs: list[Run]
    items: list[list[QGraphicsPathItem]]
    height: float | None = None

    def stand(self) -> None:
        """Let the parent, which shows nothing itself, stand where its items are.

        Where it stands it is looked at with all its items; were all of them in one corner, whatever
        is painted there would cost as much as the whole board.
        """
        first = next((item for items in self.items for item in items), None)
        if first is not None:
            self.parent.setRect(QRectF(first.boundingRect().center(), QSizeF(0.0, 0.0)))


class BoardItems:
    """Owns the items that show one drawing in a scene."""

    def __init__(self, scene: QGraphicsScene) -> None:
        self._scene = scene
        self._shown: dict[str, _Shown] = {}
        self._theme: Theme | None = None
        self._looks: Looks | None = None
        self.rebuilt = 0
        """How many groups have been built so far; few more of them when one part moves."""
        self.restacked = 0
        """How many groups have come to lie at another height so far."""

    def show(self, groups: Sequence[Group], theme: Theme) -> None:
        """Show groups in place of those before."""
        if theme is not self._theme or self._looks is None:
            self.clear()
            self._theme, self._looks = theme, Looks(theme)
        shown: dict[str, _Shown] = {}
        for group in groups:
            one = self._shown.pop(group.key, None)
            if one is None:
                one = self._build(group, self._looks)
            elif one.group is not group and one.group != group:
                self._rebuild(one, group, self._looks)
            one.group = group
            shown[group.key] = one
        self.clear()
        self._shown = shown
        self._stack()

    def _stack(self) -> None:
        """Let groups lie in the order in which they are drawn, by level first."""
        wanted = sorted(self._shown.values(), key=lambda one: one.group.level)
        heights = stacked([one.height for one in wanted])
        for one, height in zip(wanted, heights, strict=True):
            if one.height != height:
                one.height = height
                one.parent.setZValue(height)
                self.restacked += 1

    def clear(self) -> None:
        """Take all items out of the scene."""
        for one in self._shown.values():
            self._scene.removeItem(one.parent)
        self._shown = {}

    def shown_keys(self) -> tuple[str, ...]:
        """Return the keys of the groups shown, from the back to the front."""
        return tuple(self._shown)

    def group(self, key: str) -> Group | None:
        """Return a group that is shown; None when there is none by that key."""
        found = self._shown.get(key)
        return found.group if found is not None else None

    def rect(self, key: str) -> QRectF | None:
        """Return the rectangle round a group on the board; None when there is none by that key."""
        found = self._shown.get(key)
        return found.parent.childrenBoundingRect() if found is not None else None

    def keys_at(self, place: QPointF) -> Iterator[str]:
        """Yield the keys of the groups under a place on the board, from the front to the back."""
        seen: set[str] = set()
        for item in self._scene.items(place):
            top = item.parentItem() or item
            key = top.data(KEY_ROLE)
            if isinstance(key, str) and key not in seen:
                seen.add(key)
                yield key

    def _build(self, group: Group, looks: Looks) -> _Shown:
        parent = QGraphicsRectItem()
        parent.setPen(looks.no_pen)
        parent.setFlag(QGraphicsItem.GraphicsItemFlag.ItemHasNoContents)
        parent.setData(KEY_ROLE, group.key)
        shown = _Shown(group, parent, [], [])
        self._fill(shown, group, looks)
        self._scene.addItem(parent)
        return shown

    def _rebuild(self, shown: _Shown, group: Group, looks: Looks) -> None:
        """Bring the items of a group up to date; primitives that did not change keep theirs."""
        runs = runs_of(group)
        if len(runs) == len(shown.runs):
            strips = [
                None if run == old else tuple(strips_of(run, looks))
                for run, old in zip(runs, shown.runs, strict=True)
            ]
            fits = all(
                new is None or len(new) == len(items)
                for new, items in zip(strips, shown.items, strict=True)
            )
            if fits:
                for new, items in zip(strips, shown.items, strict=True):
                    for strip, item in zip(new or (), items, strict=False):
                        _dress(item, strip)
                shown.runs = runs
                shown.stand()
                self.rebuilt += 1
                return
        for items in shown.items:
            for item in items:
                self._scene.removeItem(item)
        self._fill(shown, group, looks)

    def _fill(self, shown: _Shown, group: Group, looks: Looks) -> None:
        shown.runs = runs_of(group)
        shown.items = []
        for run in shown.runs:
            items = []
            for strip in strips_of(run, looks):
                item = QGraphicsPathItem(shown.parent)
                if isinstance(run[0], Text):
                    # Round letters take longer to stroke and fill than to copy from a picture.
                    item.setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)
                _dress(item, strip)
                items.append(item)
            shown.items.append(items)
        shown.stand()
        self.rebuilt += 1


def _dress(item: QGraphicsPathItem, strip: Strip) -> None:
    path, pen, brush = strip
    item.setPath(path)
    item.setPen(pen)
    item.setBrush(brush)
