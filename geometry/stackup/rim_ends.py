"""Parts of a piece of a wall at the ends of openings along its axis.

In a leaning piece such an opening need not go through all of it: as a slot in a leaning front does
not from side to side. There the piece ends at the opening, and that part of it which lies behind
the end goes with that; all else stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING

from geometry.measures.prism import PLANE, Prism, turned
from geometry.measures.rings import inner_polygon
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.rim_parts import Cluster, Hole, Rim, clusters_of, outline_of, seen_along
from geometry.walls import BEYOND_MM

if TYPE_CHECKING:
    from shapely import Polygon


def clusters_with_ends(
    piece: Prism, near: Sequence[Hole], holes: Sequence[Hole]
) -> Iterator[Cluster]:
    """Yield the parts of a piece of a wall at the openings near to it, by places.

    Those are boxes, or cut along the axis of the piece.
    """
    clusters = tuple(clusters_of(piece, near, holes))
    boxes = piece.is_box and all(hole.prism.is_box for hole in near)
    ends = () if boxes else [hole for hole in near if _ends_at(piece, hole)]
    if not ends:
        yield from clusters
        return
    reach = sum(hole.reach_mm for hole in ends)
    whole = Cluster(piece.bounds, 0.0, lambda: (_whole(piece),))
    for one in clusters or (whole,):
        yield Cluster(one.bounds, one.reach_mm + reach, partial(_at_ends, one, ends))


def _ends_at(piece: Prism, hole: Hole) -> bool:
    """Whether a piece of which the outline is no box may end, along its axis, at an opening."""
    a, b, k = piece.bounds, hole.prism.bounds, piece.axis
    i, j = PLANE[k]
    return min(abs(a[k + 3] - b[k]), abs(a[k] - b[k + 3])) <= LENGTH_EPS_MM and all(
        min(a[n + 3], b[n + 3]) - max(a[n], b[n]) > LENGTH_EPS_MM for n in (i, j)
    )


def _whole(piece: Prism) -> Rim:
    return Rim(piece, (), lambda _, cut, __: cut, lambda moved: moved)


def _at_ends(cluster: Cluster, ends: Sequence[Hole]) -> Iterator[Rim]:
    """Yield parts of a piece, each with an end of one opening or with none."""
    import shapely

    for rim in cluster.rims:
        own = [hole for hole in ends if _ends_at(rim.prism, hole)]
        left = shapely.box(-BEYOND_MM, -BEYOND_MM, BEYOND_MM, BEYOND_MM)
        for hole in own:
            ring = seen_along(hole.prism, rim.prism.axis)
            yield from _ended(rim, left & ring, hole)
            left = left - ring
        if own:
            yield from _ended(rim, left, None)
        else:
            yield rim


def _ended(rim: Rim, where: Polygon, end: Hole | None) -> Iterator[Rim]:
    """Yield what of a part lies where an opening ends along its axis, or where none does."""
    import shapely

    whole = rim.prism

    def inside(moved: Prism, part: Polygon, drawn: Prism) -> Prism:
        if moved.is_box:
            moved = turned(moved, whole.axis)
        left = inner_polygon(moved.outline) & where
        if moved.axis != whole.axis or left.area <= LENGTH_EPS_MM:
            return drawn
        return Prism(whole.axis, outline_of(left, part), moved.lo, moved.hi)

    def ending(drawn: Prism, now: Prism, then: Prism) -> Prism:
        k, lo, hi = drawn.axis, drawn.lo, drawn.hi
        if abs(hi - now.bounds[k]) <= LENGTH_EPS_MM:
            hi = then.bounds[k]
        if abs(lo - now.bounds[k + 3]) <= LENGTH_EPS_MM:
            lo = then.bounds[k + 3]
        return Prism(k, drawn.outline, lo, hi) if lo < hi else drawn

    for part in shapely.get_parts(inner_polygon(whole.outline) & where):
        if part.area <= LENGTH_EPS_MM:
            continue
        drawn = Prism(whole.axis, outline_of(part, part), whole.lo, whole.hi)

        def recut(
            hole: Hole, cut: Prism, off_mm: float, drawn: Prism = drawn, part: Polygon = part
        ) -> Prism:
            if hole is end:
                return ending(drawn, hole.prism, cut)
            return inside(rim.recut(hole, cut, off_mm), part, drawn)

        def within(moved: Prism, drawn: Prism = drawn, part: Polygon = part) -> Prism:
            return inside(rim.within(moved), part, drawn)

        yield Rim(drawn, (*rim.holes, *([end] if end else [])), recut, within)
