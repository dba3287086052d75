"""Prisms as one sees them in a view: their outlines on the board."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

from app.drawing.primitives import XY, Bounds, Circle, Fill, Path, Primitive, Region, Stroke
from geometry.measures.prism import PLANE, Outline, Poly, Rect, Round

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import Geometry, Polygon

    from app.drawing.frame import ViewFrame
    from geometry.measures.pose import Vec
    from geometry.measures.prism import Prism

Edge = tuple[int, float]
"""An upright edge at x (0, x), or a level one at y (1, y)."""
Span = tuple[float, float]

QUARTER_STEPS = 12
"""Corners in which a quarter circle is drawn where a curve has to be a polygon."""


def outline_in(view: ViewFrame, prism: Prism) -> Outline:
    """Return the outline of a prism on the board (board coordinates, y down)."""
    if prism.axis != view.toward.axis:
        return Rect(*view.box(prism.bounds))
    outline = prism.outline
    if isinstance(outline, Rect):
        return Rect(*view.box(prism.bounds))
    i, j = PLANE[prism.axis]

    def at(a: float, b: float) -> XY:
        world = [0.0, 0.0, 0.0]
        world[i], world[j] = a, b
        point: Vec = (world[0], world[1], world[2])
        return view.to_board(point)

    if isinstance(outline, Round):
        return Round(*at(outline.a0, outline.b0), *at(outline.a1, outline.b1), outline.r)
    return Poly(
        tuple(at(a, b) for a, b in outline.shell),
        tuple(tuple(at(a, b) for a, b in ring) for ring in outline.holes),
    )


def drawn(outline: Outline, stroke: Stroke | None, fill: Fill | None = None) -> Primitive:
    """Return an outline on the board as a primitive."""
    if isinstance(outline, Rect):
        return rectangle(outline.bounds(), stroke, fill)
    if isinstance(outline, Round):
        if (outline.a0, outline.b0) == (outline.a1, outline.b1):
            return Circle((outline.a0, outline.b0), outline.r, stroke, fill)
        return Path(stadium_points(outline), stroke, closed=True, fill=fill)
    if outline.holes:
        return Region((outline.shell, *outline.holes), stroke, fill)
    return Path(outline.shell, stroke, closed=True, fill=fill)


def rectangle(rect: Bounds, stroke: Stroke | None, fill: Fill | None = None) -> Path:
    """Return an upright rectangle."""
    x0, y0, x1, y1 = rect
    return Path(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), stroke, closed=True, fill=fill)


def stadium_points(outline: Round) -> tuple[XY, ...]:
    """Return a stadium as a polygon with drawn-out ends."""
    ends = ((outline.a0, outline.b0), (outline.a1, outline.b1))
    along = math.atan2(outline.b1 - outline.b0, outline.a1 - outline.a0)
    points = []
    for end, turn in ((ends[1], along - math.pi / 2), (ends[0], along + math.pi / 2)):
        for step in range(2 * QUARTER_STEPS + 1):
            angle = turn + math.pi / 2 * step / QUARTER_STEPS
            points.append(
                (end[0] + outline.r * math.cos(angle), end[1] + outline.r * math.sin(angle))
            )
    return tuple(points)


@lru_cache(maxsize=4096)
def polygon_of(outline: Outline) -> Polygon:
    """Return an outline as a shapely polygon, for hidden lines and places of labels only."""
    import shapely

    if isinstance(outline, Rect):
        return shapely.box(*outline.bounds())
    if isinstance(outline, Round):
        if (outline.a0, outline.b0) == (outline.a1, outline.b1):
            centre = shapely.Point(outline.a0, outline.b0)
            return centre.buffer(outline.r, quad_segs=QUARTER_STEPS)
        return shapely.Polygon(stadium_points(outline))
    return shapely.Polygon(outline.shell, outline.holes)


def regions_of(
    shape: Geometry, stroke: Stroke | None, fill: Fill | None = None
) -> tuple[Region, ...]:
    """Return the polygons of a shapely geometry as primitives; lines and points are left out."""
    import shapely

    parts = shapely.get_parts(shape)
    return tuple(
        Region(
            tuple(tuple(map(tuple, ring.coords[:-1])) for ring in (part.exterior, *part.interiors)),
            stroke,
            fill,
        )
        for part in parts
        if part.geom_type == "Polygon" and not part.is_empty
    )


def overlaps(a: Bounds, b: Bounds) -> bool:
    """Whether two rectangles share more than a border."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def meets_any(box: Bounds, around: Sequence[Bounds]) -> bool:
    """Whether a rectangle shares more than a border with any of others."""
    x0, y0, x1, y1 = box
    for a0, b0, a1, b1 in around:  # noqa: SIM110 - `any` costs twice as much, thousands of times
        if x0 < a1 and a0 < x1 and y0 < b1 and b0 < y1:
            return True
    return False


def those_meeting(box: Bounds, others: Iterable[Bounds]) -> tuple[Bounds, ...]:
    """Return the rectangles that share more than a border with another one."""
    x0, y0, x1, y1 = box
    return tuple([
        other
        for other in others
        if x0 < other[2] and other[0] < x1 and y0 < other[3] and other[1] < y1
    ])  # fmt: skip


def inside(box: Bounds, outer: Bounds) -> bool:
    """Whether a rectangle lies in another one."""
    return outer[0] <= box[0] and outer[1] <= box[1] and box[2] <= outer[2] and box[3] <= outer[3]


def box_edges(outlines: Sequence[Outline]) -> dict[Edge, list[Span]]:
    """Return the edges of rectangles, each with the stretches in which one runs along it."""
    edges: dict[Edge, list[Span]] = {}
    for x0, y0, x1, y1 in (outline.bounds() for outline in outlines):
        for x in (x0, x1):
            edges.setdefault((0, x), []).append((y0, y1))
        for y in (y0, y1):
            edges.setdefault((1, y), []).append((x0, x1))
    return edges


def whole_rects(outlines: Iterable[Outline]) -> tuple[Bounds, ...] | None:
    """Return rectangles, no two of which touch, that fill together what outlines fill.

    None where there are no such rectangles. Outlines of another shape are left out where they lie
    in a rectangle, as a port end does in its tank.
    """
    every = tuple(outlines)
    out: list[Bounds] = []
    for rect in (one.bounds() for one in every if isinstance(one, Rect)):
        grown, k = rect, 0
        while k < len(out):
            joined = _joined(grown, out[k])
            if joined is None:
                k += 1
            else:
                del out[k]
                # What has grown may join one that it did not join before.
                grown, k = joined, 0
        out.append(grown)
    for k, one in enumerate(out):
        if any(_touch(one, other) for other in out[:k]):
            return None
    if any(
        not isinstance(one, Rect) and not any(inside(one.bounds(), rect) for rect in out)
        for one in every
    ):
        return None
    return tuple(out)


def _joined(a: Bounds, b: Bounds) -> Bounds | None:
    """Return the rectangle that two fill together; None where they fill none."""
    if inside(a, b):
        return b
    if inside(b, a):
        return a
    if not _touch(a, b):
        return None
    if (a[0], a[2]) == (b[0], b[2]):
        return (a[0], min(a[1], b[1]), a[2], max(a[3], b[3]))
    if (a[1], a[3]) == (b[1], b[3]):
        return (min(a[0], b[0]), a[1], max(a[2], b[2]), a[3])
    return None


def _touch(a: Bounds, b: Bounds) -> bool:
    """Whether two rectangles share a border or more."""
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]
