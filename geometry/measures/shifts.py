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
        for p, q in bent:
            if self.holds_start():
                return
            self._learn_start(p, q)

    @classmethod
    def between(cls, mine: Bounded, theirs: Bounded) -> Surroundings:
        """Return those of one solid against another."""
        touching = []
        for p, _, (px0, py0, pz0, px1, py1, pz1) in mine:
            for q, _, (qx0, qy0, qz0, qx1, qy1, qz1) in theirs:
                if (
                    qx0 < px1 and qx1 > px0 and qy0 < py1 and qy1 > py0 and qz0 < pz1 and qz1 > pz0
                ):  # fmt: skip
                    touching.append((p, q))
        return cls.of_touching(mine, theirs, touching)

    @classmethod
    def of_touching(
        cls, mine: Bounded, theirs: Bounded, touching: Sequence[tuple[Prism, Prism]]
    ) -> Surroundings:
        """Return those of two solids of which all pairs of prisms are known whose bounds meet."""
        lo, hi, eps = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0], LENGTH_EPS_MM
        bent = []
        for p, q in touching:
            px0, py0, pz0, px1, py1, pz1 = p.bounds
            qx0, qy0, qz0, qx1, qy1, qz1 = q.bounds
            x0, y0, z0, x1, y1, z1 = (
                qx0 - px1,
                qy0 - py1,
                qz0 - pz1,
                qx1 - px0,
                qy1 - py0,
                qz1 - pz0,
            )
            if max(x0, y0, z0) >= -eps or min(x1, y1, z1) <= eps:
                continue
            if not (p.is_box and q.is_box):
                bent.append((p, q))
                continue
            lo[0], hi[0] = min(lo[0], x0), max(hi[0], x1)
            lo[1], hi[1] = min(lo[1], y0), max(hi[1], y1)
            lo[2], hi[2] = min(lo[2], z0), max(hi[2], z1)
        return cls(mine, theirs, lo, hi, bent)

    def holds_start(self) -> bool:
        """Whether shift 0 is forbidden on all axes."""
        return self.hi[0] > 0.0 and self.hi[1] > 0.0 and self.hi[2] > 0.0

    def ends(self) -> tuple[float, float, float, float, float, float]:
        """Return how far it is to both ends on each axis as far as known: -x, +x, -y and so on."""
        lo, hi = self.lo, self.hi
        return (-lo[0], hi[0], -lo[1], hi[1], -lo[2], hi[2])

    def push(self, end: int) -> bool:
        """Move one of the six ends outwards, or learn about it; False when it is final."""
        axis, upper = divmod(end, 2)
        lo, hi, eps = self.lo[axis], self.hi[axis], LENGTH_EPS_MM
        # An interval counts that reaches beyond `above` and starts below `below`.
        above, below = (hi, hi - eps) if upper else (lo + eps, lo)
        for span in self._found[axis]:
            if span[1] > above and span[0] < below:
                self._move(axis, upper, *span)
                return True
        j, k = PLANE[axis]
        for p, p_box, pb in self._mine:
            p0, p1 = pb[axis], pb[axis + 3]
            j0, j1, k0, k1 = pb[j] + eps, pb[j + 3] - eps, pb[k] + eps, pb[k + 3] - eps
            for q, q_box, qb in self._theirs:
                if (
                    qb[axis + 3] - p0 > above
                    and qb[axis] - p1 < below
                    and qb[j] < j1
                    and qb[j + 3] > j0
                    and qb[k] < k1
                    and qb[k + 3] > k0
                ):
                    if p_box and q_box:
                        self._move(axis, upper, qb[axis] - p1, qb[axis + 3] - p0)
                        return True
                    if (axis, id(p), id(q)) not in self._done:
                        self._learn(axis, p, q, pair_shifts(p, q, axis))
                        return True
        return False

    def _move(self, axis: int, upper: int, lo: float, hi: float) -> None:
        if upper:
            self.hi[axis] = hi
        else:
            self.lo[axis] = lo

    def _learn_start(self, p: Prism, q: Prism) -> None:
        """Learn about two prisms axis by axis, as long as they may turn out to share room."""
        # Two of one axis share room when they do so in its plane: that axis is told at the end.
        level = q.axis if p.is_box or p.axis == q.axis else p.axis if q.is_box else None
        for axis in (0, 1, 2) if level is None else PLANE[level]:
            spans = pair_shifts(p, q, axis)
            self._learn(axis, p, q, spans)
            if not any(holds_start(lo, hi) for lo, hi in spans):
                return
        if level is not None:
            pb, qb = p.bounds, q.bounds
            self._learn(level, p, q, [(qb[level] - pb[level + 3], qb[level + 3] - pb[level])])

    def _learn(self, axis: int, p: Prism, q: Prism, spans: Sequence[Span]) -> None:
        self._done.add((axis, id(p), id(q)))
        for lo, hi in spans:
            self._found[axis].append((lo, hi))
            if holds_start(lo, hi):
                self.lo[axis] = min(lo, self.lo[axis])
                self.hi[axis] = max(hi, self.hi[axis])
