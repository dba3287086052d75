"""The shifts along one axis at which two prisms share room, as open intervals.

Both parting and travel are questions about these intervals. The two prisms must overlap across
the direction by more than the length tolerance, so sliding contact forbids nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from geometry.planar import plane_shifts, shares_area
from geometry.prism import PLANE, Prism, turned
from geometry.strips import Span, shadow
from geometry.tolerance import LENGTH_EPS_MM


def pair_shifts(p: Prism, q: Prism, axis: int) -> list[Span]:
    """Return the shifts of `p` along `axis` (mm) at which it shares room with `q`.

    Intervals may overlap each other; unite them with `united`.
    """
    pb, qb = p.bounds, q.bounds
    for k in (0, 1, 2):
        if k != axis and min(pb[k + 3], qb[k + 3]) - max(pb[k], qb[k]) <= LENGTH_EPS_MM:
            return []
    if p.is_box and q.is_box:
        return [(qb[axis] - pb[axis + 3], qb[axis + 3] - pb[axis])]
    if p.is_box:
        p = turned(p, q.axis)
    elif q.is_box:
        q = turned(q, p.axis)
    if p.axis != q.axis:
        return _crossed_shifts(p, q, axis)
    if axis == p.axis:
        return [(q.lo - p.hi, q.hi - p.lo)] if shares_area(p.outline, q.outline) else []
    return plane_shifts(p.outline, q.outline, PLANE[p.axis].index(axis))


def _crossed_shifts(p: Prism, q: Prism, axis: int) -> list[Span]:
    if axis == q.axis:
        return [(-hi, -lo) for lo, hi in _crossed_shifts(q, p, axis)]
    third = 3 - p.axis - q.axis
    p_third = shadow(p.outline, PLANE[p.axis].index(third), q.lo, q.hi)
    if axis == third:
        q_third = shadow(q.outline, PLANE[q.axis].index(third), p.lo, p.hi)
        return [(q0 - p1, q1 - p0) for p0, p1 in p_third for q0, q1 in q_third]
    out = []
    for t0, t1 in p_third:
        for lo, hi in shadow(q.outline, PLANE[q.axis].index(axis), t0, t1):
            out.append((lo - p.hi, hi - p.lo))
    return out


def united(spans: list[Span]) -> list[Span]:
    """Unite intervals that overlap by more than the length tolerance.

    Those that only touch stay apart: at their common end the solids are in contact on both
    sides and share no room.
    """
    out: list[Span] = []
    for lo, hi in sorted(spans):
        if out and lo < out[-1][1] - LENGTH_EPS_MM:
            if hi > out[-1][1]:
                out[-1] = (out[-1][0], hi)
        else:
            out.append((lo, hi))
    return out


def around_start(spans: list[Span]) -> Span | None:
    """Return the united interval that holds shift 0 deeper than the length tolerance, if any."""
    for lo, hi in united(spans):
        if lo < -LENGTH_EPS_MM and hi > LENGTH_EPS_MM:
            return (lo, hi)
    return None


def solid_shifts(a: Sequence[Prism], b: Sequence[Prism], axis: int) -> list[Span]:
    """Return the shifts of solid `a` along `axis` at which it shares room with solid `b`."""
    out: list[Span] = []
    for p in a:
        for q in b:
            out.extend(pair_shifts(p, q, axis))
    return out
