"""Hidden edges: what is left of an outline where something nearer stands before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from app.drawing.primitives import XY, Ink, LineType, Path, Primitive
from app.drawing.silhouettes import overlaps, polygon_of
from geometry.measures.prism import Outline, Rect

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Shown

INSET_PX = 1.5
"""Hidden edges this near to the border of what hides them coincide with a visible edge."""

SHORTEST_PX = 4.0

Span = tuple[float, float]


def hidden_primitives(
    shown: Shown, nearer: tuple[Shown, ...], view: ViewFrame, drafting: Drafting
) -> tuple[Primitive, ...]:
    """Return the hidden edges of an owner as dashed narrow lines (ISO 128-2, 02.1)."""
    own = shown.seen(view).outlines
    around = [face.box for face in shown.seen(view).faces]
    covers = [
        face.outline
        for other in nearer
        for seen in (other.seen(view),)
        if seen.covers
        for face in seen.faces
        if any(overlaps(face.box, box) for box in around)
    ]
    if not covers:
        return ()
    inset = INSET_PX * drafting.unit_mm
    straight = all(isinstance(outline, Rect) for outline in (*own, *covers))
    lines = covered_box_edges(own, covers, inset) if straight else covered_edges(own, covers, inset)
    stroke = drafting.narrow(Ink.HIDDEN, LineType.DASHED)
    shortest = SHORTEST_PX * drafting.unit_mm
    return tuple(Path(points, stroke) for points, length in lines if length > shortest)


def covered_box_edges(
    own: Sequence[Outline], covers: Sequence[Outline], inset: float
) -> Iterator[tuple[tuple[XY, ...], float]]:
    """Yield the covered stretches of the edges of rectangles, each with its length."""
    edges: dict[tuple[int, float], list[Span]] = {}
    for x0, y0, x1, y1 in (outline.bounds() for outline in own):
        for x in (x0, x1):
            edges.setdefault((0, x), []).append((y0, y1))
        for y in (y0, y1):
            edges.setdefault((1, y), []).append((x0, x1))
    shrunk = [
        (x0 + inset, y0 + inset, x1 - inset, y1 - inset)
        for x0, y0, x1, y1 in (cover.bounds() for cover in covers)
    ]
    for (fixed, level), spans in edges.items():
        run = 1 - fixed
        over = [
            (max(low, cover[run]), min(high, cover[run + 2]))
            for low, high in spans
            for cover in shrunk
            if cover[fixed] < level < cover[fixed + 2]
        ]
        # Covers that meet leave a seam of twice the inset between them.
        for low, high in _united([span for span in over if span[0] < span[1]], 2.5 * inset):
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

    cover = shapely.union_all([polygon_of(one) for one in covers])
    cover = cover.buffer(-inset, join_style="mitre")
    border = shapely.union_all([polygon_of(one) for one in own]).boundary
    found = shapely.line_merge(shapely.intersection(border, cover))
    for line in shapely.get_parts(found).tolist():
        if line.geom_type == "LineString":
            yield tuple(line.coords), line.length
