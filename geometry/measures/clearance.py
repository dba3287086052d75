"""Clearance: the least distance between two solids, and where it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

from geometry.measures.cores import common_axis, core_gap
from geometry.measures.fold import crossed_nearest
from geometry.measures.overlap import parting_shift
from geometry.measures.planar import nearest, outline_gap
from geometry.measures.pose import Vec
from geometry.measures.prism import PLANE, Bounds, Prism, turned, view


@dataclass(frozen=True, slots=True)
class Clearance:
    """The least distance in mm, and a world point on each solid that has it.

    0 with one common point when the solids touch or share room. Infinite, with no points, when
    they are farther apart than was asked for.
    """

    mm: float
    point_a: Vec | None = None
    point_b: Vec | None = None


def clearance(a: Sequence[Prism], b: Sequence[Prism], limit_mm: float = inf) -> Clearance:
    """Return the least distance between two solids; infinite when it exceeds `limit_mm`.

    Exact for prisms of one axis and for boxes, and for polygons of different axes. Round against
    another axis's prism is iterated, to within 1e-6 mm.
    """
    pairs = []
    for p in a:
        for q in b:
            least = bounds_gap(p.bounds, q.bounds)
            if least <= limit_mm:
                pairs.append((least, p, q))
    pairs.sort(key=lambda pair: pair[0])
    best = Clearance(inf)
    for least, p, q in pairs:
        if least >= best.mm:
            break
        found = prism_clearance(p, q)
        if found.mm < best.mm:
            best = found
    return best if best.mm <= limit_mm else Clearance(inf)


def signed_gap_mm(a: Sequence[Prism], b: Sequence[Prism]) -> float:
    """Return the clearance when apart, minus the parting shift when room is shared (mm)."""
    shift = parting_shift(a, b)
    return clearance(a, b).mm if shift is None else -shift.mm


def bounds_gap(p: Bounds, q: Bounds) -> float:
    """Return the distance of two bounding blocks: never more than that of what they hold."""
    p0, p1, p2, p3, p4, p5 = p
    q0, q1, q2, q3, q4, q5 = q
    x = q0 - p3 if q0 > p3 else p0 - q3 if p0 > q3 else 0.0
    y = q1 - p4 if q1 > p4 else p1 - q4 if p1 > q4 else 0.0
    z = q2 - p5 if q2 > p5 else p2 - q5 if p2 > q5 else 0.0
    return sqrt(x * x + y * y + z * z)


def prism_clearance(p: Prism, q: Prism) -> Clearance:
    """Return the least distance of two prisms."""
    if p.is_box and q.is_box:
        return _box_clearance(p.bounds, q.bounds)
    if p.is_box:
        p = turned(p, q.axis)
    elif q.is_box:
        q = turned(q, p.axis)
    if p.axis != q.axis:
        return Clearance(*crossed_nearest(p, q))
    flat = nearest(p.outline, q.outline)
    p_end, q_end = _ends(p.lo, p.hi, q.lo, q.hi)
    mm = sqrt(flat.mm * flat.mm + (q_end - p_end) ** 2)
    i, j = PLANE[p.axis]
    points = []
    for spot, end in ((flat.p, p_end), (flat.q, q_end)):
        at = [end, end, end]
        at[i], at[j] = spot
        points.append((at[0], at[1], at[2]))
    return Clearance(mm, points[0], points[1])


def prism_gap(p: Prism, q: Prism) -> float:
    """Return the least distance of two prisms without the points that have it (mm)."""
    axis = common_axis(p, q)
    if axis is None:
        return crossed_nearest(p, q)[0]
    if p.core is not None and q.core is not None:
        return core_gap(p.core, q.core, axis)
    flat = outline_gap(view(p, axis), view(q, axis))
    along = max(q.bounds[axis] - p.bounds[axis + 3], p.bounds[axis] - q.bounds[axis + 3])
    return sqrt(flat * flat + along * along) if along > 0.0 else flat


def _box_clearance(p: Bounds, q: Bounds) -> Clearance:
    ends = [_ends(p[k], p[k + 3], q[k], q[k + 3]) for k in (0, 1, 2)]
    point_a = (ends[0][0], ends[1][0], ends[2][0])
    point_b = (ends[0][1], ends[1][1], ends[2][1])
    return Clearance(bounds_gap(p, q), point_a, point_b)


def _ends(p0: float, p1: float, q0: float, q1: float) -> tuple[float, float]:
    """Return the nearest places of two intervals, the middle of what they share if any."""
    if q0 > p1:
        return p1, q0
    if p0 > q1:
        return p0, q1
    middle = (max(p0, q0) + min(p1, q1)) / 2
    return middle, middle
