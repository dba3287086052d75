"""What the room shared by two solids looks like in a view, for hatching."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import acos, ceil, pi, sin, sqrt
from typing import TYPE_CHECKING

from geometry.measures.area import Side, crossings, sides
from geometry.measures.prism import PLANE, Outline, Poly, Prism, Rect, Round, turned
from geometry.measures.strips import Strip, shadow, strips
from geometry.measures.volume import common_bounds

if TYPE_CHECKING:
    from shapely import Geometry, Polygon

DRAWN_ARC_MM = 0.01
"""How far a drawn polygon may fall inside a true arc; measures never use drawn polygons."""


def overlap_regions(a: Sequence[Prism], b: Sequence[Prism], axis: int) -> list[Polygon]:
    """Return the outline, seen along `axis`, of the room that two solids share.

    Polygons in the plane coordinates of `axis` (mm), without common area, empty when no room is
    shared. Exact for straight sides; arcs are drawn to within `DRAWN_ARC_MM`.
    """
    import shapely

    seen: list[Geometry] = []
    for p in a:
        for q in b:
            if common_bounds(p.bounds, q.bounds) is not None:
                seen.extend(_pair_regions(p, q, axis))
    whole = shapely.union_all(seen)
    parts = shapely.get_parts(whole)
    return [g for g in parts.tolist() if isinstance(g, shapely.Polygon) and g.area > 0.0]


def overlap_rects(a: Sequence[Prism], b: Sequence[Prism], axis: int) -> list[Rect] | None:
    """Return the same as rectangles, which may have common area; None where not all are.

    Boxes share boxes; what a box shares with a cylinder is a rectangle seen from the cylinder's
    side: as long as both are, and as wide as the part of its circle that lies in the box.
    """
    i, j = PLANE[axis]
    found: list[Rect] = []
    for p in a:
        for q in b:
            common = common_bounds(p.bounds, q.bounds)
            if common is None:
                continue
            low, high = list(common[:3]), list(common[3:])
            if not (p.is_box and q.is_box):
                one = q if p.is_box else p
                circle = one.outline
                if not (p.is_box or q.is_box) or one.axis == axis or not isinstance(circle, Round):
                    return None
                if (circle.a0, circle.b0) != (circle.a1, circle.b1):
                    return None
                wide = 3 - one.axis - axis
                centre = (circle.a0, circle.b0)
                own, other = (0, 1) if PLANE[one.axis][0] == wide else (1, 0)
                # The chord is longest on the level that is nearest to the centre.
                level = min(max(centre[other], low[axis]), high[axis])
                off = level - centre[other]
                if abs(off) >= circle.r:
                    continue
                half = sqrt(circle.r**2 - off**2)
                low[wide] = max(low[wide], centre[own] - half)
                high[wide] = min(high[wide], centre[own] + half)
                if low[wide] >= high[wide]:
                    continue
            found.append(Rect(low[i], low[j], high[i], high[j]))
    return found


def drawn(outline: Outline) -> Polygon:
    """Return an outline as a shapely polygon, arcs to within `DRAWN_ARC_MM`."""
    import shapely

    if isinstance(outline, Poly):
        return outline.polygon
    if isinstance(outline, Rect):
        return shapely.box(outline.a0, outline.b0, outline.a1, outline.b1)
    line = shapely.LineString(((outline.a0, outline.b0), (outline.a1, outline.b1)))
    return line.buffer(outline.r, quad_segs=_quarter_steps(outline.r))


def _quarter_steps(r: float) -> int:
    """Return into how many chords a quarter circle is cut to stay within `DRAWN_ARC_MM`."""
    return max(8, ceil(pi / 4 / acos(max(0.0, 1.0 - DRAWN_ARC_MM / r))))


def _pair_regions(p: Prism, q: Prism, axis: int) -> list[Geometry]:
    import shapely

    if p.is_box:
        p = turned(p, axis if q.is_box else q.axis)
    if q.is_box:
        q = turned(q, p.axis)
    if p.axis != q.axis:
        return _crossed_regions(p, q, axis)
    common = shapely.intersection(drawn(p.outline), drawn(q.outline))
    if p.axis == axis:
        return [common]
    lo, hi = max(p.lo, q.lo), min(p.hi, q.hi)
    wanted = 3 - p.axis - axis
    along = PLANE[p.axis].index(wanted)
    out = []
    for part in shapely.get_parts(common).tolist():
        if part.area > 0.0:
            b = part.bounds
            out.append(_rect(axis, wanted, b[along], b[along + 2], lo, hi))
    return out


def _rect(axis: int, first: int, a0: float, a1: float, b0: float, b1: float) -> Geometry:
    """Return a rectangle of a view: a0 to a1 on axis `first`, b0 to b1 on the other."""
    import shapely

    if PLANE[axis].index(first) == 0:
        return shapely.box(a0, b0, a1, b1)
    return shapely.box(b0, a0, b1, a1)


def _crossed_regions(p: Prism, q: Prism, axis: int) -> list[Geometry]:
    import shapely

    third = 3 - p.axis - q.axis
    if axis == q.axis:
        p, q = q, p
    if axis == p.axis:
        # Along p's own axis one sees p's outline, where q's interval and q's shadow cover it.
        spans = shadow(q.outline, PLANE[q.axis].index(third), p.lo, p.hi)
        covers = [_rect(axis, third, lo, hi, q.lo, q.hi) for lo, hi in spans]
        return [shapely.intersection(drawn(p.outline), cover) for cover in covers]
    # Along the third axis: at each level both sections are intervals; over a range where they
    # run straight, the rectangle that they span sweeps the hull of its first and last place.
    out: list[Geometry] = []
    for mine in strips(p.outline, PLANE[p.axis].index(q.axis)):
        for theirs in strips(q.outline, PLANE[q.axis].index(p.axis)):
            for t0, t1 in pairwise(_levels((mine, q), (theirs, p))):
                middle = (t0 + t1) / 2
                if min(_wide(mine, q, middle), _wide(theirs, p, middle)) <= 0.0:
                    continue
                corners = [
                    (x, z) if q.axis < p.axis else (z, x)
                    for t in (t0, t1)
                    for x in _clipped(mine, q, t)
                    for z in _clipped(theirs, p, t)
                ]
                out.append(shapely.MultiPoint(corners).convex_hull)
    return out


def _clipped(strip: Strip, other: Prism, t: float) -> tuple[float, float]:
    """Return the ends of a strip's section at `t`, held within the other's interval."""
    return (
        min(max(strip.left(t), other.lo), other.hi),
        min(max(strip.right(t), other.lo), other.hi),
    )


def _wide(strip: Strip, other: Prism, t: float) -> float:
    lo, hi = _clipped(strip, other, t)
    return hi - lo


def _levels(*pairs: tuple[Strip, Prism]) -> list[float]:
    """Return the levels between which both strips, held within intervals, run straight."""
    t0 = max(strip.t0 for strip, _ in pairs)
    t1 = min(strip.t1 for strip, _ in pairs)
    if t0 >= t1:
        return []
    cuts = {t0, t1}
    for strip, other in pairs:
        for limit in (other.lo, other.hi):
            level = Side(t0, t1, limit, limit, 0.0, 0.0, 1)
            for side in sides(strip):
                cuts.update(crossings(side, level))
        if strip.r:
            steps = 2 * _quarter_steps(strip.r)
            angles = (pi * (k / steps - 0.5) for k in range(steps + 1))
            arc = (strip.c + strip.r * sin(angle) for angle in angles)
            cuts.update(t for t in arc if t0 < t < t1)
    return sorted(cuts)
