"""The shifts along one axis at which two prisms share room, as open intervals.

Both parting and travel are questions about these intervals. The two prisms must overlap across
the direction by more than the length tolerance, so sliding contact forbids nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from geometry.measures.planar import plane_shifts, shares_area
from geometry.measures.prism import PLANE, Bounds, Prism, Rect, turned
from geometry.measures.strips import Span, shadow
from geometry.measures.tolerance import LENGTH_EPS_MM


def pair_shifts(p: Prism, q: Prism, axis: int) -> list[Span]:
    """Return the shifts of `p` along `axis` (mm) at which it shares room with `q`.

    Intervals may overlap each other.
    """
    pb, qb = p.bounds, q.bounds
    for k in (0, 1, 2):
        if k != axis and not holds_start(qb[k] - pb[k + 3], qb[k + 3] - pb[k]):
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


def holds_start(lo: float, hi: float) -> bool:
    """Whether an interval holds shift 0 deeper than the length tolerance."""
    return lo < -LENGTH_EPS_MM and hi > LENGTH_EPS_MM


Bounded = list[tuple[Prism, bool, Bounds]]
"""Prisms, whether each is a box, and their bounds."""


def bounded(prisms: Sequence[Prism]) -> Bounded:
    """Return prisms with what is asked of them again and again."""
    return [(p, isinstance(p.outline, Rect), p.bounds) for p in prisms]


class Surroundings:
    """The forbidden shifts of one solid against another around shift 0, worked out on demand.

    `lo` and `hi` are the ends of the forbidden interval around 0 on each axis, as far as known.
    They only move outwards, by intervals that overlap it by more than the length tolerance
    (those that only touch it leave a place where the solids are in contact on both sides and
    share no room). Only pairs that could move the end asked for are looked at closely.
    """

    __slots__ = ("_done", "_found", "_mine", "_theirs", "hi", "lo")

    def __init__(
        self,
        mine: Bounded,
        theirs: Bounded,
        lo: list[float],
        hi: list[float],
        bent: Sequence[tuple[Prism, Prism]],
    ) -> None:
        """Take the ends that box pairs give, and the other pairs whose bounds overlap."""
        self.lo = lo
        self.hi = hi
        self._mine = mine
        self._theirs = theirs
        self._found: tuple[list[Span], ...] = ([], [], [])
        self._done: set[tuple[int, int, int]] = set()
        for axis in (0, 1, 2):
            for p, q in bent:
                if hi[axis] == 0.0:
                    self._learn(axis, p, q)
            if hi[axis] == 0.0:
                return

    @classmethod
    def between(cls, a: Sequence[Prism], b: Sequence[Prism]) -> Surroundings:
        """Return those of solid `a` against solid `b`."""
        mine, theirs = bounded(a), bounded(b)
        lo, hi, eps = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0], LENGTH_EPS_MM
        bent = []
        for p, p_box, (px0, py0, pz0, px1, py1, pz1) in mine:
            # Bounds less the tolerance: most pairs are told apart by the first comparisons.
            x0, y0, z0 = px0 + eps, py0 + eps, pz0 + eps
            x1, y1, z1 = px1 - eps, py1 - eps, pz1 - eps
            for q, q_box, (qx0, qy0, qz0, qx1, qy1, qz1) in theirs:
                if qx0 >= x1 or qx1 <= x0 or qy0 >= y1 or qy1 <= y0 or qz0 >= z1 or qz1 <= z0:
                    continue
                if not (p_box and q_box):
                    bent.append((p, q))
                    continue
                least = (qx0 - px1, qy0 - py1, qz0 - pz1)
                most = (qx1 - px0, qy1 - py0, qz1 - pz0)
                for axis in (0, 1, 2):
                    if least[axis] < lo[axis]:
                        lo[axis] = least[axis]
                    if most[axis] > hi[axis]:
                        hi[axis] = most[axis]
        return cls(mine, theirs, lo, hi, bent)

    def holds_start(self) -> bool:
        """Whether shift 0 is forbidden on all axes."""
        return self.hi[0] > 0.0 and self.hi[1] > 0.0 and self.hi[2] > 0.0

    def push(self, axis: int, sign: int) -> bool:
        """Move the lower (-1) or upper (+1) end of an axis outwards; False when it is final."""
        at = self._further(axis, self.lo[axis], self.hi[axis], sign)
        if at is None:
            return False
        if sign > 0:
            self.hi[axis] = at
        else:
            self.lo[axis] = at
        return True

    def _further(self, axis: int, lo: float, hi: float, sign: int) -> float | None:
        eps = LENGTH_EPS_MM
        # An interval counts that reaches beyond `above` and starts below `below`.
        above, below = (hi, hi - eps) if sign > 0 else (lo + eps, lo)
        for span in self._found[axis]:
            if span[1] > above and span[0] < below:
                return span[1] if sign > 0 else span[0]
        j, k = PLANE[axis]
        for p, p_box, pb in self._mine:
            p0, p1 = pb[axis], pb[axis + 3]
            for q, q_box, qb in self._theirs:
                if (
                    qb[axis + 3] - p0 > above
                    and qb[axis] - p1 < below
                    and qb[j] < pb[j + 3] - eps
                    and qb[j + 3] > pb[j] + eps
                    and qb[k] < pb[k + 3] - eps
                    and qb[k + 3] > pb[k] + eps
                ):
                    if p_box and q_box:
                        return qb[axis + 3] - p0 if sign > 0 else qb[axis] - p1
                    if (axis, id(p), id(q)) not in self._done:
                        self._learn(axis, p, q)
                        return self.hi[axis] if sign > 0 else self.lo[axis]
        return None

    def _learn(self, axis: int, p: Prism, q: Prism) -> None:
        self._done.add((axis, id(p), id(q)))
        for lo, hi in pair_shifts(p, q, axis):
            self._found[axis].append((lo, hi))
            if holds_start(lo, hi):
                self.lo[axis] = min(lo, self.lo[axis])
                self.hi[axis] = max(hi, self.hi[axis])
