"""Where the linked views lie on the board, by ISO 5456-2, and how points go to and fro.

The side view is the principal view: seen from the access side (from -y), x to the right, z up.
The bottom view is seen from below, the end view from the front (from +x). Third angle: view from
below underneath, view from the right on the right. First angle: below above, right on the left.
Board coordinates are world millimetres; in the side view they are (x, -z), so rulers fit it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from app.drawing.primitives import XY, Bounds
from geometry.measures.pose import Vec, Way
from geometry.measures.prism import whole_bounds
from geometry.part_solids import shape_prism

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Self

    from catalog.shapes import Shape
    from geometry.layout import Layout
    from geometry.measures.prism import Bounds as Bounds3

ViewName = Literal["side", "bottom", "end"]
Projection = Literal["third-angle", "first-angle"]
HalfVec = tuple[float | None, float | None, float | None]
"""World coordinates of which the one along the line of sight is None."""

GAP_SHARE = 0.26
LEAST_GAP_MM = 70.0
MOST_GAP_MM = 180.0
FIRST_ANGLE_GAP = 1.4
"""On the left of the side view its height is dimensioned, so an end view there stands off more."""


@dataclass(frozen=True)
class BoardSettings:
    """What is put on the board. `gap_mm` is the room between views; by default by their size."""

    projection: Projection = "third-angle"
    end_view: bool = False
    gap_mm: float | None = None


@dataclass(frozen=True)
class ViewFrame:
    """One view: which world axes run to the right, down the page and towards the viewer.

    `shift` is the place of the world's origin on the board, `rect` that of the enclosure. The wall
    next to the viewer is cut away at `cut`, a nearness as `nearness` gives it.
    """

    name: ViewName
    title: str
    right: Way
    down: Way
    toward: Way
    shift: XY
    rect: Bounds
    cut: float

    def to_board(self, world: Vec) -> XY:
        """Return where a world point shows on the board."""
        return (
            self.shift[0] + self.right.sign * world[self.right.axis],
            self.shift[1] + self.down.sign * world[self.down.axis],
        )

    def to_world(self, at: XY) -> HalfVec:
        """Return the world coordinates of a board point; None along the line of sight."""
        out: list[float | None] = [None, None, None]
        out[self.right.axis] = self.right.sign * (at[0] - self.shift[0])
        out[self.down.axis] = self.down.sign * (at[1] - self.shift[1])
        return (out[0], out[1], out[2])

    def direction(self, way: Way) -> XY | None:
        """Return a world direction as a unit vector on the board; None along the sight."""
        if way.axis == self.right.axis:
            return (float(way.sign * self.right.sign), 0.0)
        if way.axis == self.down.axis:
            return (0.0, float(way.sign * self.down.sign))
        return None

    def nearness(self, bounds: Bounds3) -> tuple[float, float]:
        """Return how near to the viewer the far and the near face of some bounds are."""
        ends = sorted(self.toward.sign * bounds[self.toward.axis + k] for k in (0, 3))
        return (ends[0], ends[1])

    def box(self, bounds: Bounds3) -> Bounds:
        """Return the rectangle that world bounds cover on the board."""
        (x, y), right, down = self.shift, self.right, self.down
        x0, x1 = x + right.sign * bounds[right.axis], x + right.sign * bounds[right.axis + 3]
        y0, y1 = y + down.sign * bounds[down.axis], y + down.sign * bounds[down.axis + 3]
        if x1 < x0:
            x0, x1 = x1, x0
        return (x0, y0, x1, y1) if y0 <= y1 else (x0, y1, x1, y0)


_AXES: dict[ViewName, tuple[str, Way, Way, Way]] = {
    "side": ("SIDE VIEW", Way(0, 1), Way(2, -1), Way(1, -1)),
    "bottom": ("BOTTOM VIEW", Way(0, 1), Way(1, 1), Way(2, -1)),
    "end": ("END VIEW, FROM THE FRONT", Way(1, 1), Way(2, -1), Way(0, 1)),
}


@dataclass(frozen=True)
class BoardFrame:
    """The linked views of one enclosure."""

    views: tuple[ViewFrame, ...]
    gap_mm: float
    bounds: Bounds
    projection: Projection

    @classmethod
    def of(cls, layout: Layout, settings: BoardSettings | None = None) -> Self:
        """Lay the views of a layout's enclosure out; by default as the layout's settings say."""
        chosen = settings or BoardSettings(projection=layout.settings.projection)
        enclosure = layout.enclosure
        outside = [shape for solid in enclosure.outside for shape in solid.shapes]
        room = _bounds_of([*enclosure.outer, *enclosure.cavity, *outside])
        cavity = _bounds_of(enclosure.cavity)
        x0, y0, z0, x1, y1, z1 = room
        third = chosen.projection == "third-angle"
        gap = chosen.gap_mm
        if gap is None:
            widest = max(x1 - x0, y1 - y0, z1 - z0)
            gap = min(max(GAP_SHARE * widest, LEAST_GAP_MM), MOST_GAP_MM)
        shifts: dict[ViewName, XY] = {
            "side": (0.0, 0.0),
            "bottom": (0.0, gap - z0 - y0 if third else -z1 - gap - y1),
        }
        if chosen.end_view:
            shifts["end"] = (x1 + gap - y0 if third else x0 - FIRST_ANGLE_GAP * gap - y1, 0.0)
        views = tuple(_view(name, shift, room, cavity) for name, shift in shifts.items())
        return cls(views, gap, union_bounds([view.rect for view in views]), chosen.projection)

    def view(self, name: ViewName) -> ViewFrame:
        """Return a view by name; KeyError when it is not shown."""
        for view in self.views:
            if view.name == name:
                return view
        raise KeyError(name)

    def view_at(self, at: XY) -> ViewFrame | None:
        """Return the view under a board point: the nearest within half a gap, else None."""
        away, _, view = min(
            (_distance(at, view.rect), place, view) for place, view in enumerate(self.views)
        )
        return view if away <= self.gap_mm / 2 else None


def _view(name: ViewName, shift: XY, room: Bounds3, cavity: Bounds3) -> ViewFrame:
    title, right, down, toward = _AXES[name]
    blank = ViewFrame(name, title, right, down, toward, shift, (0.0, 0.0, 0.0, 0.0), 0.0)
    return replace(blank, rect=blank.box(room), cut=blank.nearness(cavity)[1])


def _bounds_of(shapes: Sequence[Shape]) -> Bounds3:
    return whole_bounds([shape_prism(shape) for shape in shapes])


def _distance(at: XY, rect: Bounds) -> float:
    dx = max(rect[0] - at[0], 0.0, at[0] - rect[2])
    dy = max(rect[1] - at[1], 0.0, at[1] - rect[3])
    return max(dx, dy)


def union_bounds(every: Sequence[Bounds]) -> Bounds:
    """Return the rectangle round some rectangles."""
    x0, y0, x1, y1 = every[0]
    # In plain comparisons: there are hundreds of them in each move of a drag.
    for a0, b0, a1, b1 in every:
        x0, y0 = (a0 if a0 < x0 else x0), (b0 if b0 < y0 else y0)
        x1, y1 = (a1 if a1 > x1 else x1), (b1 if b1 > y1 else y1)
    return (x0, y0, x1, y1)
