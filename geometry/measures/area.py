"""The area that two groups of outlines share: exact for straight and for round sides.

The plane is swept across: between two breakpoints (strip ends, and crossings of any two sides)
the sides keep their order, so which of them bound the shared area is read off once, in the
middle, and each is integrated in closed form. A breakpoint that is missed by rounding, because
two sides all but touch, costs only the area between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice, pairwise
from math import asin, sqrt
from typing import NamedTuple

from geometry.measures.prism import Outline, Rect
from geometry.measures.strips import Strip, strips


class Side(NamedTuple):
    """One side of a strip as a curve v(t); `bulge` is -1 for a left arc, +1 for a right one."""

    t0: float
    t1: float
    v0: float
    v1: float
    c: float
    r: float
    bulge: int

    @property
    def is_level(self) -> bool:
        """Whether v is the same everywhere."""
        return self.v0 == self.v1 and not self.r

    def slope(self) -> float:
        """Return the slope of the straight part."""
        return (self.v1 - self.v0) / (self.t1 - self.t0) if self.v1 != self.v0 else 0.0

    def value(self, t: float) -> float:
        """Return v at `t`."""
        v = self.v0
        if self.v1 != v:
            v += self.slope() * (t - self.t0)
        if self.r:
            v += self.bulge * sqrt(max(0.0, self.r * self.r - (t - self.c) * (t - self.c)))
        return v

    def integral(self, t0: float, t1: float) -> float:
        """Return the area between the curve and v = 0 from `t0` to `t1`."""
        straight = (self.v0 + self.slope() * ((t0 + t1) / 2 - self.t0)) * (t1 - t0)
        if not self.r:
            return straight
        return straight + self.bulge * (
            _half_disc(t1 - self.c, self.r) - _half_disc(t0 - self.c, self.r)
        )


def _half_disc(x: float, r: float) -> float:
    """Integrate sqrt(r^2 - x^2) from 0 to x."""
    x = min(max(x, -r), r)
    return (x * sqrt(r * r - x * x) + r * r * asin(x / r)) / 2


def sides(strip: Strip) -> tuple[Side, Side]:
    """Return the left and the right side of a strip."""
    t0, t1, l0, l1, r0, r1, c, r = strip
    return Side(t0, t1, l0, l1, c, r, -1), Side(t0, t1, r0, r1, c, r, 1)


def crossings(one: Side, other: Side) -> list[float]:
    """Return the t at which two sides may cross, within the range that they share."""
    lo, hi = max(one.t0, other.t0), min(one.t1, other.t1)
    if lo >= hi:
        return []
    if one.r and other.r:
        found = _circles(one, other)
    elif one.r or other.r:
        found = _line_circle(*((other, one) if one.r else (one, other)))
    else:
        gap_lo, gap_hi = one.value(lo) - other.value(lo), one.value(hi) - other.value(hi)
        if gap_lo * gap_hi >= 0.0:
            return []
        found = [lo + (hi - lo) * gap_lo / (gap_lo - gap_hi)]
    return [t for t in found if lo < t < hi]


def _line_circle(line: Side, arc: Side) -> list[float]:
    m = line.slope()
    k = line.v0 + m * (arc.c - line.t0) - arc.v0
    # With x = t - c: (m x + k)^2 + x^2 = r^2
    a = 1.0 + m * m
    d = a * arc.r * arc.r - k * k
    if d < 0.0:
        return []
    root = sqrt(d)
    return [arc.c + (-m * k - root) / a, arc.c + (-m * k + root) / a]


def _circles(one: Side, other: Side) -> list[float]:
    dt, dv = other.c - one.c, other.v0 - one.v0
    apart2 = dt * dt + dv * dv
    if apart2 == 0.0:
        return []
    along = (apart2 + one.r * one.r - other.r * other.r) / (2 * apart2)
    h2 = one.r * one.r / apart2 - along * along
    if h2 < 0.0:
        return []
    h = sqrt(h2)
    return [one.c + along * dt - h * dv, one.c + along * dt + h * dv]


def shared_area(a: Sequence[Outline], b: Sequence[Outline]) -> float:
    """Return the area that the union of outlines `a` shares with the union of `b` (mm^2)."""
    rects_a = [o for o in a if isinstance(o, Rect)]
    rects_b = [o for o in b if isinstance(o, Rect)]
    if len(rects_a) == len(a) and len(rects_b) == len(b):
        return shared_rect_area(rects_a, rects_b)
    group_a = [sides(s) for o in a for s in strips(o, 0)]
    group_b = [sides(s) for o in b for s in strips(o, 0)]
    lo = max(min(s[0].t0 for s in group_a), min(s[0].t0 for s in group_b))
    hi = min(max(s[0].t1 for s in group_a), max(s[0].t1 for s in group_b))
    if lo >= hi:
        return 0.0
    group_a = [s for s in group_a if s[0].t0 < hi and s[0].t1 > lo]
    group_b = [s for s in group_b if s[0].t0 < hi and s[0].t1 > lo]
    every = sorted(side for pair in (*group_a, *group_b) for side in pair)
    cuts = {lo, hi}
    for k, one in enumerate(every, start=1):
        cuts.update(t for t in one[:2] if lo < t < hi)
        for other in islice(every, k, None):
            if other[0] >= one[1]:
                break
            if not (one.is_level and other.is_level):
                cuts.update(t for t in crossings(one, other) if lo < t < hi)
    return sum(_slice(group_a, group_b, t0, t1) for t0, t1 in pairwise(sorted(cuts)))


def _slice(
    group_a: list[tuple[Side, Side]], group_b: list[tuple[Side, Side]], t0: float, t1: float
) -> float:
    middle = (t0 + t1) / 2
    total = 0.0
    spans_b = _covered(group_b, middle)
    for a_lo, a_hi, a_left, a_right in _covered(group_a, middle):
        for b_lo, b_hi, b_left, b_right in spans_b:
            if min(a_hi, b_hi) > max(a_lo, b_lo):
                right = a_right if a_hi <= b_hi else b_right
                left = a_left if a_lo >= b_lo else b_left
                total += right.integral(t0, t1) - left.integral(t0, t1)
    return total


def _covered(group: list[tuple[Side, Side]], t: float) -> list[tuple[float, float, Side, Side]]:
    """Return the disjoint spans that a group covers at `t`, with the sides that bound them."""
    met = sorted(
        (
            (left.value(t), right.value(t), left, right)
            for left, right in group
            if left.t0 <= t <= left.t1
        ),
        key=lambda span: span[:2],
    )
    out: list[tuple[float, float, Side, Side]] = []
    for span in met:
        if out and span[0] <= out[-1][1]:
            if span[1] > out[-1][1]:
                out[-1] = (out[-1][0], span[1], out[-1][2], span[3])
        else:
            out.append(span)
    return out


def shared_rect_area(a: Sequence[Rect], b: Sequence[Rect]) -> float:
    """Return the area that the union of rectangles `a` shares with the union of `b` (mm^2)."""
    if len(a) == 1 and len(b) == 1:
        wide = min(a[0].a1, b[0].a1) - max(a[0].a0, b[0].a0)
        tall = min(a[0].b1, b[0].b1) - max(a[0].b0, b[0].b0)
        return wide * tall if wide > 0 and tall > 0 else 0.0
    cuts = sorted({v for o in (*a, *b) for v in (o.b0, o.b1)})
    total = 0.0
    for b0, b1 in pairwise(cuts):
        spans_a = _rect_spans(a, b0, b1)
        spans_b = _rect_spans(b, b0, b1)
        wide = sum(max(0.0, min(p[1], q[1]) - max(p[0], q[0])) for p in spans_a for q in spans_b)
        total += wide * (b1 - b0)
    return total


def _rect_spans(rects: Sequence[Rect], b0: float, b1: float) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for lo, hi in sorted((o.a0, o.a1) for o in rects if o.b0 <= b0 and o.b1 >= b1):
        if out and lo <= out[-1][1]:
            out[-1] = (out[-1][0], max(hi, out[-1][1]))
        else:
            out.append((lo, hi))
    return out
