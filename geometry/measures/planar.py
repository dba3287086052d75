"""Outline against outline in one plane: nearest points, and the shifts at which both share area.

Rectangles, circles and stadiums are rectangles (perhaps without area) grown by a radius, so the
difference of two of them is one too, and everything about such a pair is closed form. Polygons
go by strips (exact) and, for distances, by shapely.
"""

from __future__ import annotations

from math import hypot, sqrt
from typing import TYPE_CHECKING, NamedTuple

from geometry.measures.golden import least_at
from geometry.measures.prism import Outline, Poly, Rect, Round
from geometry.measures.strips import Span, Strip, strips
from geometry.measures.tolerance import LENGTH_EPS_MM

if TYPE_CHECKING:
    from shapely import Geometry

Spot = tuple[float, float]
"""A point of the plane (mm)."""


class Core(NamedTuple):
    """A rectangle that, grown by `r` all round, is an outline or a difference of outlines."""

    a0: float
    b0: float
    a1: float
    b1: float
    r: float


class Nearest(NamedTuple):
    """The least distance of two outlines and where it is, on the first and on the second."""

    mm: float
    p: Spot
    q: Spot


def core(outline: Rect | Round) -> Core:
    """Return the rectangle and radius of a rectangle, circle or stadium."""
    if isinstance(outline, Rect):
        return Core(outline.a0, outline.b0, outline.a1, outline.b1, 0.0)
    return Core(
        min(outline.a0, outline.a1),
        min(outline.b0, outline.b1),
        max(outline.a0, outline.a1),
        max(outline.b0, outline.b1),
        outline.r,
    )


def difference(p: Rect | Round, q: Rect | Round) -> Core:
    """Return all vectors from a point of `p` to a point of `q`."""
    cp, cq = core(p), core(q)
    return Core(cq.a0 - cp.a1, cq.b0 - cp.b1, cq.a1 - cp.a0, cq.b1 - cp.b0, cp.r + cq.r)


def plane_shifts(p: Outline, q: Outline, along: int) -> list[Span]:
    """Return the shifts of `p` along one plane coordinate at which it shares area with `q`.

    Spans may overlap each other. Those thinner than the length tolerance are left out. Rounds
    without a polygon are sooner done by their cores (`cores.core_span`).
    """
    if isinstance(p, Rect) and isinstance(q, Poly) and len(q.strips(along)) > _MANY:
        return _block_shifts(p, q, along)
    if isinstance(q, Rect) and isinstance(p, Poly) and len(p.strips(along)) > _MANY:
        return [(-hi, -lo) for lo, hi in _block_shifts(q, p, along)]
    return _strip_shifts(strips(p, along), strips(q, along))


def start_shifts(p: Outline, q: Outline, along: int) -> Span | None:
    """Return some shifts of `p` that hold 0 and at all of which it shares area with `q`.

    None when there are none. They need not be all that hold 0: it is the first pair of strips
    found that says so. Deeper than the length tolerance, here as everywhere.
    """
    a0, b0, a1, b1 = p.bounds()
    left, right, first, last = (a0, a1, b0, b1) if along == 0 else (b0, b1, a0, a1)
    own = strips(p, along)
    for theirs in strips(q, along):
        t0, t1, l0, l1, r0, r1, _, r = theirs
        if t0 >= last:
            break
        # What keeps beside the bounds of `p` needs no closer look.
        if t1 <= first or not (r or ((l0 < right or l1 < right) and (r0 > left or r1 > left))):
            continue
        for mine in own:
            span = _steps(mine, theirs)
            if span is not None and span[0] < -LENGTH_EPS_MM and span[1] > LENGTH_EPS_MM:
                return span
    return None


def _strip_shifts(own: tuple[Strip, ...], other: tuple[Strip, ...]) -> list[Span]:
    """Return the shifts at which strips share area, pair by pair."""
    out = []
    first, last = own[0].t0, max(strip.t1 for strip in own)
    for theirs in other:
        if theirs.t1 <= first:
            continue
        if theirs.t0 >= last:
            break
        for mine in own:
            if mine.t0 >= theirs.t1:
                break
            span = _steps(mine, theirs)
            if span is not None:
                out.append(span)
    return out


def _steps(mine: Strip, theirs: Strip) -> Span | None:
    """Return the shifts at which two strips share area, None when they pass each other."""
    t0 = mine.t0 if mine.t0 > theirs.t0 else theirs.t0
    t1 = mine.t1 if mine.t1 < theirs.t1 else theirs.t1
    if t1 - t0 <= LENGTH_EPS_MM:
        return None
    if mine.r or theirs.r:
        lo, _ = least_step(mine, theirs, t0, t1)
        hi, _ = most_step(mine, theirs, t0, t1)
    else:
        lo, hi = _straight_steps(mine, theirs, t0, t1)
    return (lo, hi) if hi - lo > LENGTH_EPS_MM else None


_MANY = 24
"""So many strips are worth an array."""


def _block_shifts(block: Rect, poly: Poly, along: int) -> list[Span]:
    """Return the shifts at which a rectangle shares area with a polygon of many strips.

    Spans that overlap by more than the length tolerance are united, since there may be hundreds.
    """
    import numpy as np

    if along == 0:
        left, right, first, last = block.a0, block.a1, block.b0, block.b1
    else:
        left, right, first, last = block.b0, block.b1, block.a0, block.a1
    rows = poly.strip_rows(along)
    rows = rows[np.minimum(rows[:, 1], last) - np.maximum(rows[:, 0], first) > LENGTH_EPS_MM]
    t0, t1, l0, l1, r0, r1, _, _ = rows.T
    cuts = [(np.clip(cut, t0, t1) - t0) / (t1 - t0) for cut in (first, last)]
    lo = np.minimum(*(l0 + (l1 - l0) * share for share in cuts)) - right
    hi = np.maximum(*(r0 + (r1 - r0) * share for share in cuts)) - left
    wide = np.flatnonzero(hi - lo > LENGTH_EPS_MM)
    wide = wide[lo[wide].argsort()]
    lo, hi = lo[wide], hi[wide]
    if not len(lo):
        return []
    reached = np.maximum.accumulate(hi)
    starts = np.concatenate(([0], np.flatnonzero(lo[1:] >= reached[:-1] - LENGTH_EPS_MM) + 1))
    ends = np.concatenate((starts[1:] - 1, [len(lo) - 1]))
    return list(zip(lo[starts].tolist(), reached[ends].tolist(), strict=True))


def _straight_steps(mine: Strip, theirs: Strip, t0: float, t1: float) -> Span:
    """Return the shifts at which two straight strips meet between t0 and t1."""
    p0, p1, pl0, pl1, pr0, pr1, _, _ = mine
    q0, q1, ql0, ql1, qr0, qr1, _, _ = theirs
    if p0 != t0 or p1 != t1:
        s0, s1 = (t0 - p0) / (p1 - p0), (t1 - p0) / (p1 - p0)
        pl0, pl1 = pl0 + (pl1 - pl0) * s0, pl0 + (pl1 - pl0) * s1
        pr0, pr1 = pr0 + (pr1 - pr0) * s0, pr0 + (pr1 - pr0) * s1
    if q0 != t0 or q1 != t1:
        s0, s1 = (t0 - q0) / (q1 - q0), (t1 - q0) / (q1 - q0)
        ql0, ql1 = ql0 + (ql1 - ql0) * s0, ql0 + (ql1 - ql0) * s1
        qr0, qr1 = qr0 + (qr1 - qr0) * s0, qr0 + (qr1 - qr0) * s1
    return min(ql0 - pr0, ql1 - pr1), max(qr0 - pl0, qr1 - pl1)


def most_step(mine: Strip, theirs: Strip, t0: float, t1: float) -> tuple[float, float]:
    """Return the greatest shift at which two strips still meet between t0 and t1, and its t.

    It is the greatest value of (their right side - my left side), a concave function of t.
    """
    v0 = theirs.straight_right(t0) - mine.straight_left(t0)
    v1 = theirs.straight_right(t1) - mine.straight_left(t1)
    t = _peak(mine, theirs, t0, t1, (v1 - v0) / (t1 - t0))
    return theirs.right(t) - mine.left(t), t


def least_step(mine: Strip, theirs: Strip, t0: float, t1: float) -> tuple[float, float]:
    """Return the least shift at which two strips start to meet between t0 and t1, and its t.

    It is the least value of (their left side - my right side), a convex function of t.
    """
    v0 = theirs.straight_left(t0) - mine.straight_right(t0)
    v1 = theirs.straight_left(t1) - mine.straight_right(t1)
    t = _peak(mine, theirs, t0, t1, -(v1 - v0) / (t1 - t0))
    return theirs.left(t) - mine.right(t), t


def _peak(mine: Strip, theirs: Strip, t0: float, t1: float, slope: float) -> float:
    """Return the t in [t0, t1] at which slope * t + both bulges is greatest."""
    if mine.r and theirs.r:
        # Both arcs have level centres, so the slope is 0; the bulges' slopes cancel where the
        # radii to t are parallel.
        t = (theirs.c * mine.r + mine.c * theirs.r) / (mine.r + theirs.r)
    elif mine.r or theirs.r:
        arc = mine if mine.r else theirs
        t = arc.c + arc.r * slope / sqrt(1.0 + slope * slope)
    elif slope == 0.0:
        return (t0 + t1) / 2
    else:
        return t1 if slope > 0 else t0
    return min(max(t, t0), t1)


def shared_spot(p: Outline, q: Outline) -> Spot:
    """Return a point in the middle of the widest part of what two outlines share.

    Raises ValueError when they share nothing.
    """
    if isinstance(p, Rect) and isinstance(q, Rect):
        a0, a1, b0, b1 = max(p.a0, q.a0), min(p.a1, q.a1), max(p.b0, q.b0), min(p.b1, q.b1)
        if a0 < a1 and b0 < b1:
            return ((a0 + a1) / 2, (b0 + b1) / 2)
    best, spot = 0.0, None
    for mine in strips(p, 0):
        for theirs in strips(q, 0):
            t0, t1 = max(mine.t0, theirs.t0), min(mine.t1, theirs.t1)
            if t1 <= t0:
                continue

            def narrowness(s: float, mine: Strip = mine, theirs: Strip = theirs) -> float:
                t = max(mine.t0, theirs.t0) + s
                return max(mine.left(t), theirs.left(t)) - min(mine.right(t), theirs.right(t))

            if mine.level and theirs.level and not (mine.r and theirs.r):
                # Widest at the middle of the one arc, or as wide all over: then in the middle.
                arc = mine if mine.r else theirs
                over = min(max(arc.c - t0, 0.0), t1 - t0)
                s = min(((t1 - t0) / 2, over), key=narrowness)
                width = narrowness(s)
            else:
                s, width = least_at(narrowness, t1 - t0)
            if width < best:
                t = t0 + s
                left = max(mine.left(t), theirs.left(t))
                best, spot = width, (left - width / 2, t)
    if spot is None:
        raise ValueError("the outlines share no area")
    return spot


def nearest(p: Outline, q: Outline) -> Nearest:
    """Return the least distance of two outlines and a pair of points that have it.

    0 and one common point when they touch or share area.
    """
    if isinstance(p, Poly) or isinstance(q, Poly):
        return _nearest_poly(p, q)
    cp, cq = core(p), core(q)
    pa, qa = _nearest_ends(cp.a0, cp.a1, cq.a0, cq.a1)
    pb, qb = _nearest_ends(cp.b0, cp.b1, cq.b0, cq.b1)
    return _trimmed((pa, pb), (qa, qb), cp.r, cq.r)


def _nearest_ends(p0: float, p1: float, q0: float, q1: float) -> tuple[float, float]:
    if q0 > p1:
        return p1, q0
    if p0 > q1:
        return p0, q1
    middle = (max(p0, q0) + min(p1, q1)) / 2
    return middle, middle


def _trimmed(p: Spot, q: Spot, p_r: float, q_r: float) -> Nearest:
    """Take the radii off the distance of two cores' nearest points."""
    da, db = q[0] - p[0], q[1] - p[1]
    apart = hypot(da, db)
    gap = apart - p_r - q_r
    if apart == 0.0:
        return Nearest(0.0, p, p)
    ua, ub = da / apart, db / apart
    if gap <= 0.0:
        step = min(max((apart + p_r - q_r) / 2, 0.0), apart)
        common = (p[0] + ua * step, p[1] + ub * step)
        return Nearest(0.0, common, common)
    return Nearest(gap, (p[0] + ua * p_r, p[1] + ub * p_r), (q[0] - ua * q_r, q[1] - ub * q_r))


def outline_gap(p: Outline, q: Outline) -> float:
    """Return the least distance of two outlines, without the points that have it."""
    if isinstance(p, Poly) or isinstance(q, Poly):
        import shapely

        (p_shape, p_r), (q_shape, q_r) = _shape(p), _shape(q)
        return max(0.0, float(shapely.distance(p_shape, q_shape)) - p_r - q_r)
    d = difference(p, q)
    a, b = max(d.a0, -d.a1, 0.0), max(d.b0, -d.b1, 0.0)
    return max(0.0, sqrt(a * a + b * b) - d.r)


def _nearest_poly(p: Outline, q: Outline) -> Nearest:
    import shapely

    (p_shape, p_r), (q_shape, q_r) = _shape(p), _shape(q)
    line = shapely.get_coordinates(shapely.shortest_line(p_shape, q_shape))
    start, end = (float(line[0, 0]), float(line[0, 1])), (float(line[1, 0]), float(line[1, 1]))
    return _trimmed(start, end, p_r, q_r)


def _shape(outline: Outline) -> tuple[Geometry, float]:
    """Return a shapely geometry and the radius by which it must be grown."""
    import shapely

    if isinstance(outline, Poly):
        return outline.polygon, 0.0
    if isinstance(outline, Rect):
        return shapely.box(outline.a0, outline.b0, outline.a1, outline.b1), 0.0
    ends = (outline.a0, outline.b0), (outline.a1, outline.b1)
    if ends[0] == ends[1]:
        return shapely.Point(ends[0]), outline.r
    return shapely.LineString(ends), outline.r
