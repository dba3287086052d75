"""Hidden edges: what is left of an outline where something nearer stands before it.

Where all outlines are rectangles, edges are held against what stands before them by numbers. Other
outlines are cut by numbers where they fill rectangles that lie apart, as an exchanger with its
tanks and port ends does, else by shapely.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import islice, pairwise, starmap
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from app.drawing.primitives import XY, Bounds, Ink, LineType, Path, Primitive
from app.drawing.silhouettes import Edge, Span, meets_any, polygon_of, whole_rects
from geometry.measures.prism import Outline, Rect, Round

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from shapely import Geometry

    from app.drawing.drafting import Drafting
    from app.drawing.owners import Seen
    from app.drawing.rectangle_meetings import Standing

INSET_PX = 1.5
"""Hidden edges this near to the border of what hides them coincide with a visible edge."""

SEAM = 2.5
"""Covers that meet leave a seam of twice the inset between them; this many insets are none."""

SHORTEST_PX = 4.0

KEPT = 64
"""So many joined outlines are kept: a board of the fullest shipped room asks for 30."""

_STRAIGHT = attrgetter("straight")

Spans = dict[Edge, list[Span]]
"""Stretches by the edge on which they lie."""

By = Spans | tuple[Outline, ...]
"""What hides edges, joined: stretches of them, or outlines where not all are rectangles."""


class Hidden(NamedTuple):
    """The hidden edges of an owner, and what hides them."""

    by: By
    primitives: tuple[Primitive, ...]


def hidden_edges(
    stands: Standing,
    places: Sequence[int],
    near: Sequence[Sequence[Bounds]],
    old: Sequence[Hidden | None],
    drafting: Drafting,
) -> list[Hidden]:
    """Return the hidden edges of the owners at some places.

    `near` are the rectangles round what hides each and comes near it, `old` the hidden edges that
    the same owners had: where the same hides them still, they are kept.
    """
    inset = INSET_PX * drafting.unit_mm
    found: list[Hidden] = []
    for place, boxes, was in zip(places, near, old, strict=True):
        seen, over = stands.seen[place], stands.over[place]
        # Of what is no rectangle nothing comes before any of the owner's own: no edge is hidden.
        straight = seen.straight and (
            all(map(_STRAIGHT, over))
            or not any(_behind_uneven(seen, other) for other in over if not other.straight)
        )
        by: By = _spans(seen, boxes, inset) if straight else _outlines_over(seen, over)
        if was is not None and was.by == by:
            found.append(was)
        else:
            found.append(Hidden(by, _dashed(seen, by, drafting)))
    return found


def _behind_uneven(seen: Seen, other: Seen) -> bool:
    """Whether anything but a rectangle of an owner stands before another one."""
    return any(
        not isinstance(face.outline, Rect) and meets_any(face.box, seen.boxes)
        for face in other.faces
    )


def _outlines_over(seen: Seen, over: Sequence[Seen]) -> tuple[Outline, ...]:
    """Return the outlines before an owner, in an order of their own.

    Which of them is nearer does not matter.
    """
    around = seen.boxes
    outlines = {
        face.outline for other in over for face in other.faces if meets_any(face.box, around)
    }
    return tuple(sorted(outlines, key=_order))


def _spans(seen: Seen, near: Sequence[Bounds], inset: float) -> Spans:
    """Return which stretches of the edges of an owner are hidden by the rectangles near it.

    Few rectangles come near one owner, so numbers one by one cost less than numpy's tables.
    """
    spans: Spans = {}
    covers = [(a0 + inset, b0 + inset, a1 - inset, b1 - inset) for a0, b0, a1, b1 in near]
    for x0, y0, x1, y1 in seen.boxes:
        for a0, b0, a1, b1 in covers:
            low, high = (b0 if y0 < b0 else y0), (b1 if b1 < y1 else y1)
            if low < high:
                if a0 < x0 < a1:
                    spans.setdefault((0, x0), []).append((low, high))
                if a0 < x1 < a1:
                    spans.setdefault((0, x1), []).append((low, high))
            low, high = (a0 if x0 < a0 else x0), (a1 if a1 < x1 else x1)
            if low < high:
                if b0 < y0 < b1:
                    spans.setdefault((1, y0), []).append((low, high))
                if b0 < y1 < b1:
                    spans.setdefault((1, y1), []).append((low, high))
    for edge, some in spans.items():
        if len(some) > 1:
            spans[edge] = _united(some, SEAM * inset)
    return spans


def _order(outline: Outline) -> tuple[Bounds, tuple[tuple[XY, ...], ...]]:
    """Return by what outlines are put in order; equal for none that differ."""
    if isinstance(outline, Rect):
        return outline.bounds(), ()
    if isinstance(outline, Round):
        return outline.bounds(), (((outline.a0, outline.b0), (outline.a1, outline.b1)),)
    return outline.bounds(), (outline.shell, *outline.holes)


def _dashed(seen: Seen, by: By, drafting: Drafting) -> tuple[Primitive, ...]:
    """Return hidden edges as dashed narrow lines (ISO 128-2, 02.1)."""
    if not by:
        return ()
    lines = (
        _lines(seen.edges, by)
        if isinstance(by, dict)
        else covered_edges(seen.outlines, by, INSET_PX * drafting.unit_mm)
    )
    stroke = drafting.narrow(Ink.HIDDEN, LineType.DASHED)
    shortest = SHORTEST_PX * drafting.unit_mm
    return tuple([Path(points, stroke) for points, length in lines if length > shortest])


def _lines(
    edges: Mapping[Edge, Sequence[Span]], over: Spans
) -> Iterator[tuple[tuple[XY, ...], float]]:
    """Yield the lines of which edges are covered, in the order of the edges."""
    for edge in edges:
        fixed, level = edge
        for low, high in over.get(edge, ()):
            ends = ((level, low), (level, high)) if fixed == 0 else ((low, level), (high, level))
            yield ends, high - low


def _united(spans: list[Span], seam: float) -> list[Span]:
    out: list[Span] = []
    for low, high in sorted(spans):
        if out and low <= out[-1][1] + seam:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out


def covered_edges(
    own: Sequence[Outline], covers: Sequence[Outline], inset: float
) -> Iterator[tuple[tuple[XY, ...], float]]:
    """Return the covered stretches of the border of any outlines, each with its length."""
    whole, over = whole_rects(own), whole_rects(covers)
    if whole is not None and len(whole) == 1 and over is not None:
        lines = _under_rects(whole[0], over, inset)
        # The border of outlines joined to one has a corner wherever two of them meet.
        if len(own) == 1 or not lines:
            return iter(lines)
    return under_shapes(own, covers, inset)


def _under_rects(
    rect: Bounds, covers: Iterable[Bounds], inset: float
) -> list[tuple[tuple[XY, ...], float]]:
    """Return the stretches of the border of a rectangle under others, which do not touch."""
    return [
        (tuple(line), sum(starmap(math.dist, pairwise(line))))
        for x0, y0, x1, y1 in covers
        for line in _within(rect, (x0 + inset, y0 + inset, x1 - inset, y1 - inset))
    ]


def _within(rect: Bounds, cover: Bounds) -> list[list[XY]]:
    """Return the stretches of the border of a rectangle that lie in another, round its corners."""
    (x0, y0, x1, y1), (a0, b0, a1, b1) = rect, cover
    left, right, low, high = max(x0, a0), min(x1, a1), max(y0, b0), min(y1, b1)
    if left > right or low > high:
        return []
    sides = (
        (low < high and right == x1, (x1, low), (x1, high)),
        (left < right and high == y1, (right, y1), (left, y1)),
        (low < high and left == x0, (x0, high), (x0, low)),
        (left < right and low == y0, (left, y0), (right, y0)),
    )
    lines: list[list[XY]] = []
    for there, begin, end in sides:
        if there and lines and lines[-1][-1] == begin:
            lines[-1].append(end)
        elif there:
            lines.append([begin, end])
    if len(lines) > 1 and lines[-1][-1] == lines[0][0]:
        lines[0][:1] = lines.pop()
    return lines


def under_shapes(
    own: Sequence[Outline], covers: Sequence[Outline], inset: float
) -> Iterator[tuple[tuple[XY, ...], float]]:
    """Yield the covered stretches of the border of any outlines, by shapely."""
    import shapely

    cover = _shrunk(tuple(covers), inset)
    found = shapely.line_merge(shapely.intersection(_border(tuple(own)), cover))
    parts = shapely.get_parts(found)
    lines = parts[shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING]
    points = iter(map(tuple, shapely.get_coordinates(lines).tolist()))
    counts, lengths = shapely.get_num_coordinates(lines), shapely.length(lines)
    for count, length in zip(counts.tolist(), lengths.tolist(), strict=True):
        yield tuple(islice(points, count)), length


@lru_cache(maxsize=KEPT)
def _shrunk(outlines: tuple[Outline, ...], inset: float) -> Geometry:
    """Return what is within the border of outlines, taken together, by so much."""
    return _whole(outlines).buffer(-inset, join_style="mitre")


@lru_cache(maxsize=KEPT)
def _border(outlines: tuple[Outline, ...]) -> Geometry:
    """Return the border of what outlines fill together."""
    return _whole(outlines).boundary


def _whole(outlines: Sequence[Outline]) -> Geometry:
    import shapely

    if len(outlines) == 1:
        return polygon_of(outlines[0])
    return shapely.union_all([polygon_of(one) for one in outlines])
