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
    for lo, hi in united(spans) if len(spans) > 1 else spans:
        if lo < -LENGTH_EPS_MM and hi > LENGTH_EPS_MM:
            return (lo, hi)
    return None


class Line:
    """The forbidden shifts of one solid against another along one axis, worked out on demand.

    Box pairs are known at once. Any other pair waits, known only by the interval of its bounds,
    until that could move an end that is asked for.
    """

    __slots__ = ("axis", "known", "waiting")

    def __init__(self, axis: int) -> None:
        self.axis = axis
        self.known: list[Span] = []
        self.waiting: list[tuple[float, float, Prism, Prism]] = []

    def around_start(self) -> Span | None:
        """Return the interval around shift 0 so far, None when shift 0 is free.

        Its ends can only move outwards, when `push` is called.
        """
        span = around_start(self.known)
        while span is None and self._learn(-LENGTH_EPS_MM, LENGTH_EPS_MM):
            span = around_start(self.known)
        return span

    def push(self, span: Span, sign: int) -> bool:
        """Work out one pair that could move the lower (-1) or upper (+1) end of `span`.

        Returns False when there is none, so that the end is final.
        """
        if sign > 0:
            return self._learn(span[1], span[1] - LENGTH_EPS_MM)
        return self._learn(span[0] + LENGTH_EPS_MM, span[0])

    def _learn(self, above: float, below: float) -> bool:
        """Work out a waiting pair that reaches above one shift and starts below another."""
        for k, (lo, hi, p, q) in enumerate(self.waiting):
            if hi > above and lo < below:
                del self.waiting[k]
                self.known.extend(pair_shifts(p, q, self.axis))
                return True
        return False


def lines(a: Sequence[Prism], b: Sequence[Prism]) -> tuple[Line, Line, Line]:
    """Return the forbidden shifts of solid `a` against solid `b` along x, y and z."""
    out = (Line(0), Line(1), Line(2))
    known_x, known_y, known_z = (line.known for line in out)
    theirs = [(q, q.is_box, q.bounds) for q in b]
    for p in a:
        p_box = p.is_box
        px0, py0, pz0, px1, py1, pz1 = p.bounds
        for q, q_box, (qx0, qy0, qz0, qx1, qy1, qz1) in theirs:
            # A pair counts along an axis when it overlaps on both others.
            x = (px1 if px1 < qx1 else qx1) - (px0 if px0 > qx0 else qx0) > LENGTH_EPS_MM
            y = (py1 if py1 < qy1 else qy1) - (py0 if py0 > qy0 else qy0) > LENGTH_EPS_MM
            if not (x or y):
                continue
            z = (pz1 if pz1 < qz1 else qz1) - (pz0 if pz0 > qz0 else qz0) > LENGTH_EPS_MM
            if p_box and q_box:
                if y and z:
                    known_x.append((qx0 - px1, qx1 - px0))
                if x and z:
                    known_y.append((qy0 - py1, qy1 - py0))
                if x and y:
                    known_z.append((qz0 - pz1, qz1 - pz0))
            else:
                if y and z:
                    out[0].waiting.append((qx0 - px1, qx1 - px0, p, q))
                if x and z:
                    out[1].waiting.append((qy0 - py1, qy1 - py0, p, q))
                if x and y:
                    out[2].waiting.append((qz0 - pz1, qz1 - pz0, p, q))
    return out
