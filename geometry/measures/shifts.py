"""The shifts along one axis at which two prisms share room, as open intervals.

Both parting and travel are questions about these intervals. The two prisms must overlap across
the direction by more than the length tolerance, so sliding contact forbids nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from geometry.measures.cores import common_axis, core_span
from geometry.measures.planar import plane_shifts, start_shifts
from geometry.measures.prism import PLANE, Bounds, Prism, Rect, view
from geometry.measures.strips import Span, shadow
from geometry.measures.tolerance import LENGTH_EPS_MM


def pair_shifts(p: Prism, q: Prism, axis: int) -> list[Span]:
    """Return the shifts of `p` along `axis` (mm) at which it shares room with `q`.

    Intervals may overlap each other.
    """
    pb, qb = p.bounds, q.bounds
    for k in PLANE[axis]:
        if not holds_start(qb[k] - pb[k + 3], qb[k + 3] - pb[k]):
            return []
    if p.is_box and q.is_box:
        return [(qb[axis] - pb[axis + 3], qb[axis + 3] - pb[axis])]
    common = common_axis(p, q)
    if common is None:
        return _crossed_shifts(p, q, axis)
    if axis == common:
        shared = all(start_span(p, q, k, common) is not None for k in PLANE[common])
        return [(qb[axis] - pb[axis + 3], qb[axis + 3] - pb[axis])] if shared else []
    if p.core is not None and q.core is not None:
        span = core_span(p.core, q.core, axis, 3 - axis - common)
        return [] if span is None else [span]
    return plane_shifts(view(p, common), view(q, common), PLANE[common].index(axis))


def start_span(p: Prism, q: Prism, axis: int, common: int) -> Span | None:
    """Return shifts of `p` along `axis` that hold 0 and at which it shares room with `q`.

    Both are pushed along `common`, and overlap along it; `axis` is another. None when 0 is no
    such shift; what is returned may be less than all that join up with 0.
    """
    if p.core is None or q.core is None:
        return start_shifts(view(p, common), view(q, common), PLANE[common].index(axis))
    span = core_span(p.core, q.core, axis, 3 - axis - common)
    return span if span is not None and holds_start(*span) else None


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

    `ends` are how far it is out of the forbidden interval around 0, as far as known, to -x, +x,
    -y and so on. They only move outwards, by intervals that overlap it by more than the length
    tolerance (those that only touch it leave a place where the solids are in contact on both
    sides and share no room). Only pairs that could move the end asked for are looked at closely.
    """

    __slots__ = ("_done", "_found", "_mine", "_theirs", "ends")

    def __init__(
        self,
        mine: Bounded,
        theirs: Bounded,
        ends: list[float],
        bent: Sequence[tuple[Prism, Prism]],
    ) -> None:
        """Take the ends that box pairs give, and the other pairs whose bounds overlap."""
        self.ends = ends
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
        ends, eps = [0.0] * 6, LENGTH_EPS_MM
        bent = []
        for p, p_box, (px0, py0, pz0, px1, py1, pz1) in mine:
            for q, q_box, (qx0, qy0, qz0, qx1, qy1, qz1) in theirs:
                if (
                    (x0 := px1 - qx0) > eps and (x1 := qx1 - px0) > eps
                    and (y0 := py1 - qy0) > eps and (y1 := qy1 - py0) > eps
                    and (z0 := pz1 - qz0) > eps and (z1 := qz1 - pz0) > eps
                ):  # fmt: skip
                    if p_box and q_box:
                        found = (x0, x1, y0, y1, z0, z1)
                        ends = [a if a > b else b for a, b in zip(ends, found, strict=True)]
                    else:
                        bent.append((p, q))
        return cls(mine, theirs, ends, bent)

    def holds_start(self) -> bool:
        """Whether shift 0 is forbidden on all axes."""
        return self.ends[1] > 0.0 and self.ends[3] > 0.0 and self.ends[5] > 0.0

    def nearest_end(self) -> int | None:
        """Return which of the six ends is the nearest, worked out to the last; None if 0 is free.

        Of those equally near it is the first that this finds.
        """
        if not self.holds_start():
            return None
        # Ends only move outwards, so only the nearest ones need be worked out to the last.
        while True:
            nearest = self.ends.index(min(self.ends))
            if not self.push(nearest):
                return nearest

    def push(self, end: int) -> bool:
        """Move one of the six ends outwards, or learn about it; False when it is final."""
        axis, upper, eps = end >> 1, end & 1, LENGTH_EPS_MM
        # An interval counts that reaches beyond `above` and starts below `below`.
        if upper:
            above = self.ends[end]
            below = above - eps
        else:
            below = -self.ends[end]
            above = below + eps
        for lo, hi in self._found[axis]:
            if hi > above and lo < below:
                self.ends[end] = hi if upper else -lo
                return True
        j, k = PLANE[axis]
        for p, p_box, pb in self._mine:
            p0, p1 = pb[axis], pb[axis + 3]
            j0, j1, k0, k1 = pb[j], pb[j + 3], pb[k], pb[k + 3]
            for q, q_box, qb in self._theirs:
                if (
                    qb[axis + 3] - p0 > above
                    and qb[axis] - p1 < below
                    and j1 - qb[j] > eps
                    and qb[j + 3] - j0 > eps
                    and k1 - qb[k] > eps
                    and qb[k + 3] - k0 > eps
                ):
                    if p_box and q_box:
                        self.ends[end] = qb[axis + 3] - p0 if upper else p1 - qb[axis]
                        return True
                    if (axis, id(p), id(q)) not in self._done:
                        self._learn(axis, p, q, pair_shifts(p, q, axis))
                        return True
        return False

    def _learn_start(self, p: Prism, q: Prism) -> None:
        """Learn about two prisms whose bounds overlap, as far as it takes to see if they share."""
        common = common_axis(p, q)
        if common is None:
            for axis in (0, 1, 2):
                spans = pair_shifts(p, q, axis)
                self._learn(axis, p, q, spans)
                if not any(holds_start(lo, hi) for lo, hi in spans):
                    return
            return
        i, j = PLANE[common]
        one = start_span(p, q, i, common)
        other = None if one is None else start_span(p, q, j, common)
        if one is None or other is None:
            return
        self._widen(i, *one)
        self._widen(j, *other)
        pb, qb = p.bounds, q.bounds
        self._learn(common, p, q, [(qb[common] - pb[common + 3], qb[common + 3] - pb[common])])

    def _learn(self, axis: int, p: Prism, q: Prism, spans: Sequence[Span]) -> None:
        self._done.add((axis, id(p), id(q)))
        for lo, hi in spans:
            self._found[axis].append((lo, hi))
            if holds_start(lo, hi):
                self._widen(axis, lo, hi)

    def _widen(self, axis: int, lo: float, hi: float) -> None:
        self.ends[2 * axis] = max(self.ends[2 * axis], -lo)
        self.ends[2 * axis + 1] = max(self.ends[2 * axis + 1], hi)
