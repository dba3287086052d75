"""Hidden edges: what is left of an outline where something nearer stands before it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.primitives import XY, Ink, LineType, Path, Primitive
from app.drawing.silhouettes import Edge, Span, box_edges, overlaps, polygon_of
from geometry.measures.prism import Outline, Rect

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from shapely import Geometry

    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Shown

INSET_PX = 1.5
"""Hidden edges this near to the border of what hides them coincide with a visible edge."""

SHORTEST_PX = 4.0


@dataclass(frozen=True)
class Cover:
    """What one owner hides of another: its outlines before it.

    `over` are the stretches of edges that they cover, where all of both are rectangles.
    """

    outlines: tuple[Outline, ...]
    over: tuple[tuple[Edge, Span], ...] | None


Hiding = tuple[Outline, ...] | list[tuple[Edge, Span]]
"""What hides an owner's edges: stretches of them where all is rectangles, else outlines."""


def cover(shown: Shown, other: Shown, view: ViewFrame, drafting: Drafting) -> Cover | None:
    """Return what a nearer owner hides of another one; None where it hides nothing."""
    theirs, seen = other.seen(view), shown.seen(view)
    if not theirs.covers:
        return None
    around = seen.boxes
    outlines = tuple([
        face.outline for face in theirs.faces if any(overlaps(face.box, box) for box in around)
    ])  # fmt: skip
    if not outlines:
        return None
    if not seen.straight or not (
        theirs.straight or all(isinstance(outline, Rect) for outline in outlines)
    ):
        return Cover(outlines, None)
    return Cover(outlines, tuple(_over(seen.edges, outlines, INSET_PX * drafting.unit_mm)))


def hides_alike(one: Cover | None, other: Cover | None, *, straight: bool) -> bool:
    """Whether two covers hide the same; what is `straight` hangs on stretches of edges alone."""
    if one is None or other is None:
        return one is other
    return one.over == other.over if straight else one == other


def hiding_of(covers: Sequence[Cover]) -> Hiding:
    """Return what nearer owners hide together."""
    if all(one.over is not None for one in covers):
        return [span for one in covers for span in one.over or ()]
    # In an order of their own: which of them is nearer does not matter.
    outlines = {outline for one in covers for outline in one.outlines}
    return tuple(sorted(outlines, key=lambda outline: (outline.bounds(), repr(outline))))


def hidden_primitives(
    shown: Shown, nearer: tuple[Shown, ...], view: ViewFrame, drafting: Drafting
) -> tuple[Primitive, ...]:
    """Return the hidden edges of an owner as dashed narrow lines (ISO 128-2, 02.1)."""
    found = [cover(shown, other, view, drafting) for other in nearer]
    hiding = hiding_of([one for one in found if one is not None])
    return covered_primitives(shown, hiding, view, drafting)


def covered_primitives(
    shown: Shown, hiding: Hiding, view: ViewFrame, drafting: Drafting
) -> tuple[Primitive, ...]:
    """Return the same from what hides them."""
    if not hiding:
        return ()
    seen, inset = shown.seen(view), INSET_PX * drafting.unit_mm
    if isinstance(hiding, list):
        lines = _edge_lines(seen.edges, hiding, inset)
    else:
        lines = covered_edges(seen.outlines, hiding, inset)
    stroke = drafting.narrow(Ink.HIDDEN, LineType.DASHED)
    shortest = SHORTEST_PX * drafting.unit_mm
    return tuple([Path(points, stroke) for points, length in lines if length > shortest])


def covered_box_edges(
    own: Sequence[Outline], covers: Sequence[Outline], inset: float
) -> Iterator[tuple[tuple[XY, ...], float]]:
    """Yield the covered stretches of the edges of rectangles, each with its length."""
    edges = box_edges(own)
    return _edge_lines(edges, _over(edges, covers, inset), inset)


def _over(
    edges: Mapping[Edge, Sequence[Span]], covers: Sequence[Outline], inset: float
) -> Iterator[tuple[Edge, Span]]:
    """Yield the stretches of edges that lie under rectangles."""
    for x0, y0, x1, y1 in (cover.bounds() for cover in covers):
        box = (x0 + inset, y0 + inset, x1 - inset, y1 - inset)
        for edge, spans in edges.items():
            fixed, level = edge
            if box[fixed] < level < box[fixed + 2]:
                run = 1 - fixed
                for low, high in spans:
                    start, end = max(low, box[run]), min(high, box[run + 2])
                    if start < end:
                        yield edge, (start, end)


def _edge_lines(
    edges: Mapping[Edge, Sequence[Span]], over: Iterable[tuple[Edge, Span]], inset: float
) -> Iterator[tuple[tuple[XY, ...], float]]:
    """Yield the lines of which edges are covered, in the order of the edges."""
    by_edge: dict[Edge, list[Span]] = {}
    for edge, span in over:
        by_edge.setdefault(edge, []).append(span)
    for fixed, level in edges:
        # Covers that meet leave a seam of twice the inset between them.
        for low, high in _united(by_edge.get((fixed, level), []), 2.5 * inset):
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

    cover = _whole(covers).buffer(-inset, join_style="mitre")
    border = _whole(own).boundary
    found = shapely.line_merge(shapely.intersection(border, cover))
    for line in shapely.get_parts(found).tolist():
        if line.geom_type == "LineString":
            yield tuple(line.coords), line.length


def _whole(outlines: Sequence[Outline]) -> Geometry:
    import shapely

    if len(outlines) == 1:
        return polygon_of(outlines[0])
    return shapely.union_all([polygon_of(one) for one in outlines])
