"""Hidden edges: what is left of an outline where something nearer stands before it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from app.drawing.primitives import XY, Bounds, Ink, LineType, Path, Primitive
from app.drawing.silhouettes import Edge, Span, meets_any, overlaps, polygon_of
from geometry.measures.prism import Outline, Rect, Round

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from shapely import Geometry

    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Face, Shown

INSET_PX = 1.5
"""Hidden edges this near to the border of what hides them coincide with a visible edge."""

SEAM = 2.5
"""Covers that meet leave a seam of twice the inset between them; this many insets are none."""

SHORTEST_PX = 4.0

KEPT = 64
"""So many joined outlines are kept: a board of the fullest shipped room asks for 30."""

Spans = dict[Edge, list[Span]]
"""Stretches by the edge on which they lie."""


@dataclass(frozen=True, slots=True)
class Cover:
    """What one owner hides of another: its faces before it.

    `over` are the stretches of edges that they cover, where all of both are rectangles.
    """

    faces: tuple[Face, ...]
    over: tuple[tuple[Edge, Span], ...] | None


@dataclass(frozen=True, eq=False, slots=True)
class Hidden:
    """The hidden edges of an owner, and what they were found from.

    `covers` tells of each owner which edges it hides. `rest` are those owners that stood still when
    they were found, `base` what they hide together: while the same ones go on moving, only what
    these hide is added to it. `by` is what hides the edges, joined: stretches, or outlines where
    not all are rectangles.
    """

    covers: Mapping[Shown, Cover | None]
    rest: frozenset[Shown]
    base: Spans
    by: Spans | tuple[Outline, ...]
    primitives: tuple[Primitive, ...]


def cover(shown: Shown, other: Shown, view: ViewFrame, drafting: Drafting) -> Cover | None:
    """Return what a nearer owner hides of another one; None where it hides nothing."""
    theirs, seen = other.seen(view), shown.seen(view)
    if not theirs.covers:
        return None
    around = seen.boxes
    faces = tuple([face for face in theirs.faces if meets_any(face.box, around)])
    if not faces:
        return None
    if not seen.straight or not (
        theirs.straight or all(isinstance(face.outline, Rect) for face in faces)
    ):
        return Cover(faces, None)
    inset = INSET_PX * drafting.unit_mm
    return Cover(faces, tuple(_over(seen.edges, [face.box for face in faces], inset)))


def hidden_edges(
    shown: Shown,
    nearer: tuple[Shown, ...],
    view: ViewFrame,
    drafting: Drafting,
    old: Hidden | None = None,
) -> Hidden:
    """Return the hidden edges of an owner behind nearer ones.

    `old` are those of the same owner before some of the nearer ones moved.
    """
    if old is None:
        at_once = _behind_boxes(shown, nearer, view, drafting)
        if at_once is not None:
            return at_once
    known = old.covers if old is not None else {}
    covers = {other: known.get(other) for other in nearer}
    fresh = [other for other in nearer if other not in known]
    for other in fresh:
        covers[other] = cover(shown, other, view, drafting)
    moved = [found for other in fresh if (found := covers[other]) is not None]
    every = [one for one in covers.values() if one is not None]
    rest, base = frozenset(nearer).difference(fresh), old.base if old is not None else {}
    by: Spans | tuple[Outline, ...]
    seam = SEAM * INSET_PX * drafting.unit_mm
    if all(one.over is not None for one in every):
        if old is None or rest != old.rest:
            base = joined({}, [one for other in rest if (one := covers[other]) is not None], seam)
        by = joined(base, moved, seam)
    else:
        rest, base = frozenset(), {}
        # In an order of their own: which of them is nearer does not matter.
        outlines = {face.outline for one in every for face in one.faces}
        by = tuple(sorted(outlines, key=_order))
    if old is not None and by == old.by:
        return Hidden(covers, rest, base, by, old.primitives)
    return Hidden(covers, rest, base, by, _dashed(shown, by, view, drafting))


def _order(outline: Outline) -> tuple[Bounds, tuple[tuple[XY, ...], ...]]:
    """Return by what outlines are put in order; equal for none that differ."""
    if isinstance(outline, Rect):
        return outline.bounds(), ()
    if isinstance(outline, Round):
        return outline.bounds(), (((outline.a0, outline.b0), (outline.a1, outline.b1)),)
    return outline.bounds(), (outline.shell, *outline.holes)


def _dashed(
    shown: Shown, by: Spans | tuple[Outline, ...], view: ViewFrame, drafting: Drafting
) -> tuple[Primitive, ...]:
    """Return hidden edges as dashed narrow lines (ISO 128-2, 02.1)."""
    if not by:
        return ()
    seen = shown.seen(view)
    lines = (
        _lines(seen.edges, by)
        if isinstance(by, dict)
        else covered_edges(seen.outlines, by, INSET_PX * drafting.unit_mm)
    )
    stroke = drafting.narrow(Ink.HIDDEN, LineType.DASHED)
    shortest = SHORTEST_PX * drafting.unit_mm
    return tuple([Path(points, stroke) for points, length in lines if length > shortest])


def _behind_boxes(
    shown: Shown, nearer: tuple[Shown, ...], view: ViewFrame, drafting: Drafting
) -> Hidden | None:
    """Return the hidden edges of an owner that moved itself, all edges and covers at a time.

    What each owner hides is not told apart, since it will be other with the next move. None where
    not all are rectangles.
    """
    seen = shown.seen(view)
    before = [theirs for other in nearer if (theirs := other.seen(view)).covers]
    if not seen.straight or any(
        not theirs.straight
        and any(
            not isinstance(face.outline, Rect) and meets_any(face.box, seen.boxes)
            for face in theirs.faces
        )
        for theirs in before
    ):
        return None
    boxes = [box for theirs in before for box in theirs.boxes if overlaps(box, seen.box)]
    if not boxes:
        return Hidden({}, frozenset(), {}, {}, ())
    inset = INSET_PX * drafting.unit_mm
    covers = np.array(boxes) + np.array((inset, inset, -inset, -inset))
    # Of each cover what lies across an upright edge and along it, then the same for a level one.
    across = np.array((covers[:, (0, 2)], covers[:, (1, 3)]))
    edges = [(edge, span) for edge, own in seen.edges.items() for span in own]
    fixed = [edge[0] for edge, _ in edges]
    crossing, along = across[fixed], across[::-1][fixed]
    level = np.array([edge[1] for edge, _ in edges])[:, None]
    ends = np.array([span for _, span in edges])
    low = np.maximum(ends[:, :1], along[..., 0])
    high = np.minimum(ends[:, 1:], along[..., 1])
    under = (crossing[..., 0] < level) & (level < crossing[..., 1]) & (low < high)
    rows = np.nonzero(under)[0].tolist()
    spans: Spans = {}
    for row, start, end in zip(rows, low[under].tolist(), high[under].tolist(), strict=True):
        spans.setdefault(edges[row][0], []).append((start, end))
    by = {edge: _united(own, SEAM * inset) for edge, own in spans.items()}
    return Hidden({}, frozenset(), {}, by, _dashed(shown, by, view, drafting))


def _over(
    edges: Mapping[Edge, Sequence[Span]], boxes: Sequence[Bounds], inset: float
) -> Iterator[tuple[Edge, Span]]:
    """Yield the stretches of edges that lie under rectangles."""
    for x0, y0, x1, y1 in boxes:
        box = (x0 + inset, y0 + inset, x1 - inset, y1 - inset)
        for edge, spans in edges.items():
            fixed, level = edge
            if box[fixed] < level < box[fixed + 2]:
                least, most = box[1 - fixed], box[3 - fixed]
                for low, high in spans:
                    start = low if low > least else least
                    end = high if high < most else most
                    if start < end:
                        yield edge, (start, end)


def joined(base: Spans, covers: Iterable[Cover], seam: float) -> Spans:
    """Return stretches with those that covers add, all that meet or nearly do joined."""
    added: Spans = {}
    for one in covers:
        for edge, span in one.over or ():
            if edge in added:
                added[edge].append(span)
            else:
                added[edge] = [span]
    if not added:
        return base
    out = dict(base)
    for edge, spans in added.items():
        out[edge] = _united([*base.get(edge, ()), *spans], seam)
    return out


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
    """Yield the covered stretches of the border of any outlines, each with its length."""
    import shapely

    cover = _shrunk(tuple(covers), inset)
    found = shapely.line_merge(shapely.intersection(_border(tuple(own)), cover))
    for line in shapely.get_parts(found).tolist():
        if line.geom_type == "LineString":
            yield tuple(line.coords), line.length


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
