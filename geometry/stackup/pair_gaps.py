"""Gaps between single prisms as plain figures: continuous where they begin to share room."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, inf, sqrt

from geometry.measures.clearance import bounds_gap, prism_gap
from geometry.measures.overlap import parting_shift
from geometry.measures.planar import outline_gap, start_shifts
from geometry.measures.pose import Way
from geometry.measures.prism import Outline, Poly, Prism, Round, turned
from geometry.measures.shifts import pair_shifts
from geometry.measures.tolerance import LENGTH_EPS_MM

Axes = frozenset[int]

ALL_AXES: Axes = frozenset((0, 1, 2))

NEAR_MM = 5.0
"""Sides of boxes that overlap by more than deviations reach stay without influence on a gap."""


FEW_CORNERS = 16
"""So many corners are gone through one by one."""


@dataclass(frozen=True)
class PairMeasure:
    """A figure of two prisms, and the axes along which a change of either can change it.

    `bound` is less, by the bounds of the prisms alone. `way` is set where it is how far
    one goes along it.
    """

    mm: Callable[[Prism, Prism], float]
    axes: Callable[[Prism, Prism], Axes]
    bound: Callable[[Prism, Prism], float]
    way: Way | None = None


def pair_gap_mm(p: Prism, q: Prism) -> float:
    """Return the signed gap of two prisms (mm): clearance, or minus the parting shift."""
    if p.is_box and q.is_box:
        apart = _apart(p, q)
        gaps = [one for one in apart if one > 0.0]
        return sqrt(sum(one * one for one in gaps)) if gaps else max(apart)
    gap = _past_corners(p, q) or _past_corners(q, p) or prism_gap(p, q)
    if gap > 0.0:
        return gap
    shift = parting_shift([p], [q])
    return 0.0 if shift is None else -shift.mm


def _past_corners(p: Prism, q: Prism) -> float:
    """Return the gap of a round prism to one of few corners beside it; 0 where it is not that.

    Of what stands in a round opening hundreds are measured, quicker than through shapely.
    """
    a, b = p.outline, q.outline
    if not isinstance(a, Round) or not isinstance(b, Poly) or p.axis != q.axis:
        return 0.0
    if (a.a0, a.b0) != (a.a1, a.b1) or b.holes or len(b.shell) > FEW_CORNERS:
        return 0.0
    x, y = a.a0, a.b0
    least, inside = inf, False
    x0, y0 = b.shell[-1]
    for x1, y1 in b.shell:
        dx, dy = x1 - x0, y1 - y0
        long = dx * dx + dy * dy
        t = min(1.0, max(0.0, ((x - x0) * dx + (y - y0) * dy) / long)) if long else 0.0
        least = min(least, hypot(x0 + t * dx - x, y0 + t * dy - y))
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * dx / dy:
            inside = not inside
        x0, y0 = x1, y1
    if inside or least <= a.r:
        return 0.0
    along = max(q.lo - p.hi, p.lo - q.hi, 0.0)
    return hypot(least - a.r, along)


def corner_change_mm(p: Prism, q: Prism, moved_p: Prism, moved_q: Prism) -> float:
    """Return how a gap between two boxes changes, to first order, when they move (mm).

    The gap is the distance of two edges or corners, sqrt(x^2 + y^2), which shrinks the faster the
    more of it is gone already; so changes at the first rate, x/gap and y/gap, never add up to too
    little, while changes measured one by one would. The boxes have to be apart.
    """
    now = _apart(p, q)
    then = _apart(moved_p, moved_q)
    gap = sqrt(sum(mm * mm for mm in now if mm > 0.0))
    return sum((b - a) * a / gap for a, b in zip(now, then, strict=True) if a > 0.0)


def _apart(p: Prism, q: Prism) -> list[float]:
    """Return how far two prisms' bounds stand apart along each axis; negative: they overlap."""
    a, b = p.bounds, q.bounds
    return [max(b[k] - a[k + 3], a[k] - b[k + 3]) for k in (0, 1, 2)]


def _gap_axes(p: Prism, q: Prism) -> Axes:
    if p.is_box and q.is_box:
        return frozenset(k for k, mm in enumerate(_apart(p, q)) if mm > -NEAR_MM)
    across = _flat(p, q)
    return ALL_AXES if across is None else across


def _flat(p: Prism, q: Prism) -> Axes | None:
    """Return the one axis along which flat ends face each other; None where they do not."""
    if p.is_box:
        p = turned(p, q.axis)
    elif q.is_box:
        q = turned(q, p.axis)
    if p.axis != q.axis or not _share_area(p.outline, q.outline):
        return None
    return frozenset((p.axis,))


def _share_area(p: Outline, q: Outline) -> bool:
    """Whether two outlines share area; those that touch, in a point or with a side, do not."""
    return not outline_gap(p, q) and start_shifts(p, q, 0) is not None


def _gap_bound(p: Prism, q: Prism) -> float:
    return bounds_gap(p.bounds, q.bounds) or min(0.0, max(_apart(p, q)))


GAP = PairMeasure(pair_gap_mm, _gap_axes, _gap_bound)
"""The signed gap of two prisms."""


def ahead_mm(p: Prism, q: Prism, way: Way) -> float:
    """Return how far the nearest of `q` lies ahead of the farthest of `p` along `way` (mm)."""
    if way.sign > 0:
        return q.bounds[way.axis] - p.bounds[way.axis + 3]
    return p.bounds[way.axis] - q.bounds[way.axis + 3]


def out_along(axis: int) -> PairMeasure:
    """Return the measure of minus how far one prism goes along an axis to leave another."""

    def mm(p: Prism, q: Prism) -> float:
        return _apart(p, q)[axis]

    return PairMeasure(mm, lambda _, __: frozenset((axis,)), mm)


def travel_along(way: Way) -> PairMeasure:
    """Return the measure of how far one prism moves along `way` until it meets another (mm).

    Negative by how deep it stands in it; infinite where they never meet.
    """

    def mm(p: Prism, q: Prism) -> float:
        spans = pair_shifts(p, q, way.axis)
        ahead = [span if way.sign > 0 else (-span[1], -span[0]) for span in spans]
        return min((lo for lo, hi in ahead if hi > LENGTH_EPS_MM), default=inf)

    def axes(p: Prism, q: Prism) -> Axes:
        bent = {one.axis for one in (p, q) if not one.is_box}
        if not bent or bent == {way.axis}:
            return frozenset((way.axis,))
        return ALL_AXES - bent if len(bent) == 1 else ALL_AXES

    def bound(p: Prism, q: Prism) -> float:
        apart = _apart(p, q)
        ahead = ahead_mm(p, q, way)
        beside = any(apart[k] >= 0.0 for k in ALL_AXES - {way.axis})
        return inf if beside else ahead

    return PairMeasure(mm, axes, bound, way)
