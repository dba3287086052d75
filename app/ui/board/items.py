"""Drawing groups as Qt scene items; a group that is equal to the one before keeps its items."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from PySide6.QtCore import QPointF, QRectF, QSizeF
from PySide6.QtGui import QBrush, QPainterPath, QPen
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsPathItem,
    QGraphicsRectItem,
    QGraphicsScene,
)

from app.drawing.primitives import Drawing, Fill, Group, Primitive, Stroke, Text
from app.drawing.theme import Theme
from app.paint.shapes import (
    brush_of,
    halo_pen,
    hatch_path,
    hatch_pen,
    outline_path,
    pen_of,
    text_brush,
)
from app.ui.board.stacking import stacked

STEP_GROUPS = 64
"""After how many groups that stay as they are a step of showing a drawing ends."""

KEY_ROLE = 0
"""Where an item keeps its group's key (QGraphicsItem.data)."""


@dataclass(slots=True)
class _Shown:
    """A group with its items: the parent of all, and for each run of primitives its own."""

    group: Group
    parent: QGraphicsRectItem
    runs: list[tuple[Primitive, ...]]
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
        self.touched: list[QRectF] = []
        """Where something has changed, in millimetres; whoever paints it again clears the list."""
        self.restacked = 0
        """How many groups have come to lie at another height so far."""

    def show(self, drawing: Drawing, theme: Theme) -> None:
        """Show a drawing in place of the one before."""
        for _ in self.steps(drawing, theme):
            pass

    def steps(self, drawing: Drawing, theme: Theme) -> Iterator[None]:
        """Show a drawing in steps, between which something else can be done.

        What is left off on the way is made good by the next drawing. `touched` tells meanwhile
        where on the board something is other than before.
        """
        if theme is not self._theme or self._looks is None:
            self.clear()
            self._theme, self._looks = theme, Looks(theme)
        order: list[_Shown] = []
        for number, group in enumerate(drawing.groups):
            one, rebuilt = self._shown.get(group.key), self.rebuilt
            if one is None:
                one = self._shown[group.key] = self._build(group, self._looks)
            elif one.group is not group and one.group != group:
                self._rebuild(one, group, self._looks)
            one.group = group
            order.append(one)
            if self.rebuilt != rebuilt or number % STEP_GROUPS == 0:
                yield
        kept = {one.group.key: one for one in order}
        for key, gone in self._shown.items():
            if key not in kept:
                self._touch(gone)
                self._scene.removeItem(gone.parent)
        self._shown = kept
        yield
        self._stack()

    def _stack(self) -> None:
        """Let groups lie in the order in which they are drawn, by level first."""
        wanted = sorted(self._shown.values(), key=lambda one: one.group.level)
        heights = stacked([one.height for one in wanted])
        for one, height in zip(wanted, heights, strict=True):
            if one.height != height:
                if one.height is not None:
                    self._touch(one)
                one.height = height
                one.parent.setZValue(height)
                self.restacked += 1

    def _touch(self, one: _Shown) -> None:
        self.touched.extend(item.boundingRect() for items in one.items for item in items)

    def clear(self) -> None:
        """Take all items out of the scene."""
        for one in self._shown.values():
            self._touch(one)
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
                        self.touched.append(item.boundingRect())
                        _dress(item, strip)
                        self.touched.append(item.boundingRect())
                shown.runs = runs
                shown.stand()
                self.rebuilt += 1
                return
        self._touch(shown)
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
        self._touch(shown)
        self.rebuilt += 1


Strip = tuple[QPainterPath, QPen, QBrush]
"""A path to stroke and fill."""


class Looks:
    """The pens and brushes of one theme, each made once."""

    def __init__(self, theme: Theme) -> None:
        self.theme = theme
        self.no_pen, self.no_brush = pen_of(None, theme), brush_of(None, theme)
        self._pens: dict[Stroke | None, QPen] = {}
        self._brushes: dict[Fill | None, QBrush] = {}

    def pen(self, stroke: Stroke | None) -> QPen:
        """Return the pen of a stroke."""
        found = self._pens.get(stroke)
        if found is None:
            found = self._pens[stroke] = pen_of(stroke, self.theme)
        return found

    def brush(self, fill: Fill | None) -> QBrush:
        """Return the brush of a fill."""
        found = self._brushes.get(fill)
        if found is None:
            found = self._brushes[fill] = brush_of(fill, self.theme)
        return found


def _dress(item: QGraphicsPathItem, strip: Strip) -> None:
    path, pen, brush = strip
    item.setPath(path)
    item.setPen(pen)
    item.setBrush(brush)


def runs_of(group: Group) -> list[tuple[Primitive, ...]]:
    """Return a group's primitives in runs; lines in a row with the same stroke make one run."""
    runs: list[tuple[Primitive, ...]] = []
    for line, primitives in groupby(group.primitives, _line_of):
        if line is None:
            runs.extend((one,) for one in primitives)
        else:
            runs.append(tuple(primitives))
    return runs


def _line_of(primitive: Primitive) -> Stroke | None:
    """Return the stroke of what is a line and nothing else."""
    if isinstance(primitive, Text) or getattr(primitive, "fill", None) is not None:
        return None
    return primitive.stroke


def strips_of(run: tuple[Primitive, ...], looks: Looks) -> Iterator[Strip]:
    """Yield the strips that show a run: outline, then hatch; for text its halo, then its glyphs."""
    first = run[0]
    path = outline_path(first)
    if isinstance(first, Text):
        if first.halo:
            yield path, halo_pen(first, looks.theme), looks.no_brush
        yield path, looks.no_pen, text_brush(first, looks.theme)
        return
    for other in run[1:]:
        path.addPath(outline_path(other))
    fill = getattr(first, "fill", None)
    yield path, looks.pen(first.stroke), looks.brush(fill)
    if fill is not None and fill.hatch != "none":
        yield hatch_path(first), hatch_pen(fill, looks.theme), looks.no_brush  # type: ignore[arg-type]
