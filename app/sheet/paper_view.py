"""One view of the enclosure in millimetres of paper, its enclosure's top left corner at (0, 0)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.frame import union_bounds
from app.drawing.primitives import XY, Bounds, Drawing, Group, Primitive, Text
from app.sheet.scaled import extent, scaled

if TYPE_CHECKING:
    from app.drawing.frame import ViewFrame
    from geometry.measures.pose import Vec
    from geometry.measures.prism import Bounds as Bounds3


@dataclass(frozen=True)
class PaperView:
    """A view and its scale: `factor` paper millimetres for one real millimetre."""

    frame: ViewFrame
    factor: float

    @property
    def size(self) -> XY:
        """Width and height of the enclosure on paper."""
        x0, y0, x1, y1 = self.frame.rect
        return ((x1 - x0) * self.factor, (y1 - y0) * self.factor)

    def at(self, world: Vec) -> XY:
        """Return where a world point shows on paper."""
        x, y = self.frame.to_board(world)
        return ((x - self.frame.rect[0]) * self.factor, (y - self.frame.rect[1]) * self.factor)

    def box(self, bounds: Bounds3) -> Bounds:
        """Return the rectangle that world bounds cover on paper."""
        a, b = self.at(bounds[:3]), self.at(bounds[3:])
        return (min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))

    def rectangle(self, on_board: Bounds) -> Bounds:
        """Return a rectangle of the board as it stands on paper."""
        x, y, _, _ = self.frame.rect
        x0, y0, x1, y1 = on_board
        k = self.factor
        return ((x0 - x) * k, (y0 - y) * k, (x1 - x) * k, (y1 - y) * k)

    def on_paper(self, primitive: Primitive) -> Primitive:
        """Return a primitive of the board as it stands on paper."""
        x0, y0, _, _ = self.frame.rect
        return scaled(primitive, self.factor, (-x0 * self.factor, -y0 * self.factor))


KEPT_KINDS = ("wall", "zone", "solid", "hidden", "keep-out", "cut", "marks")
"""Groups of the board that a sheet shows; dimensions, balloons and names are its own."""


def view_groups(board: Drawing, view: PaperView) -> tuple[Group, ...]:
    """Return what a view of the board shows, from the back to the front, without lettering.

    `board` is drawn for the view's scale (app.drawing.board.paper_drawing).
    """
    groups = []
    for group in board.groups:
        kind, _, rest = group.key.partition(":")
        if kind in KEPT_KINDS and rest.split(":")[0] == view.frame.name:
            shapes = [one for one in group.primitives if not isinstance(one, Text)]
            groups.append(Group(group.key, tuple(view.on_paper(one) for one in shapes)))
    return tuple(group for group in groups if group.primitives)


def core_box(view: PaperView, groups: tuple[Group, ...]) -> Bounds:
    """Return the rectangle round the enclosure and all that stands out of it."""
    every = [extent(one) for group in groups for one in group.primitives]
    return union_bounds([(0.0, 0.0, *view.size), *every])
