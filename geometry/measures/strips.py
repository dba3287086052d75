"""Outlines cut into strips between two straight or two round sides: the exact form of an outline.

A strip spans `t0` to `t1` on one plane coordinate; at every t it holds the interval from its
left to its right side on the other (the coordinate "along"). Strips are convex and those of one
outline do not overlap, so lengths, areas and shifts are sums or unions over strips. All in mm.
"""

from __future__ import annotations

from itertools import pairwise
from math import sqrt
from typing import NamedTuple

from geometry.measures.prism import Outline, PlaneMap, Poly, Rect, Round
from geometry.measures.tolerance import LENGTH_EPS_MM

Span = tuple[float, float]
"""An open interval (mm)."""


class Strip(NamedTuple):
    """Left and right sides run straight from (t0, l0) to (t1, l1) and from (t0, r0) to (t1, r1).

    When `r` is not 0 both sides bulge outwards by sqrt(r^2 - (t - c)^2), and l0 = l1, r0 = r1
    are the arcs' centres.
    """

    t0: float
    t1: float
    l0: float
    l1: float
    r0: float
    r1: float
    c: float = 0.0
    r: float = 0.0

    @property
    def level(self) -> bool:
        """Whether its sides, but for a bulge, are level."""
        return self.l0 == self.l1 and self.r0 == self.r1

    def bulge(self, t: float) -> float:
        """Return how far the sides stand out at `t`."""
        if not self.r:
            return 0.0
        return sqrt(max(0.0, self.r * self.r - (t - self.c) * (t - self.c)))

    def left(self, t: float) -> float:
        """Return the left side at `t`."""
        return self.straight_left(t) - self.bulge(t) if self.r else self.straight_left(t)

    def right(self, t: float) -> float:
        """Return the right side at `t`."""
        return self.straight_right(t) + self.bulge(t) if self.r else self.straight_right(t)

    def straight_left(self, t: float) -> float:
        """Return the left side at `t` without its bulge."""
        return _line(self.t0, self.t1, self.l0, self.l1, t)

    def straight_right(self, t: float) -> float:
        """Return the right side at `t` without its bulge."""
        return _line(self.t0, self.t1, self.r0, self.r1, t)


class Reach(NamedTuple):
    """How far a strip reaches along, and at which t it does so."""

    lo: float
    t_lo: float
    hi: float
    t_hi: float


def _line(t0: float, t1: float, v0: float, v1: float, t: float) -> float:
    if v0 == v1 or t <= t0:
        return v0
    if t >= t1:
        return v1
    return v0 + (v1 - v0) * ((t - t0) / (t1 - t0))


def strips(outline: Outline, along: int) -> tuple[Strip, ...]:
    """Return the strips of an outline whose sides are given on plane coordinate `along` (0, 1)."""
    if isinstance(outline, Rect):
        if along == 0:
            return (Strip(outline.b0, outline.b1, outline.a0, outline.a0, outline.a1, outline.a1),)
        return (Strip(outline.a0, outline.a1, outline.b0, outline.b0, outline.b1, outline.b1),)
    if isinstance(outline, Round):
        return _round_strips(outline, along)
    return outline.strips(along)


def _round_strips(outline: Round, along: int) -> tuple[Strip, ...]:
    lo, hi = (outline.a0, outline.a1) if along == 0 else (outline.b0, outline.b1)
    s0, s1 = (outline.b0, outline.b1) if along == 0 else (outline.a0, outline.a1)
    r = outline.r
    if s0 == s1:
        return (Strip(s0 - r, s0 + r, lo, lo, hi, hi, s0, r),)
    return (
        Strip(s0 - r, s0, lo, lo, lo, lo, s0, r),
        Strip(s0, s1, lo - r, lo - r, lo + r, lo + r),
        Strip(s1, s1 + r, lo, lo, lo, lo, s1, r),
    )


def poly_strips(outline: Poly, along: int) -> tuple[Strip, ...]:
    """Cut a polygon at the levels of its vertices; strips between the same two edges are joined."""
    edges = []
    for ring in (outline.shell, *outline.holes):
        for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
            t0, v0, t1, v1 = p[1 - along], p[along], q[1 - along], q[along]
            if t0 < t1:
                edges.append((t0, v0, t1, v1))
            elif t1 < t0:
                edges.append((t1, v1, t0, v0))
    levels = sorted({e[0] for e in edges} | {e[2] for e in edges})
    starting: dict[float, list[tuple[float, float, float, float, int]]] = {}
    for k, (t0, v0, t1, v1) in enumerate(edges):
        starting.setdefault(t0, []).append((t0, t1, v0, (v1 - v0) / (t1 - t0), k))
    cut: dict[tuple[int, int], list[tuple[float, float]]] = {}
    active: list[tuple[float, float, float, float, int]] = []
    for t0, t1 in pairwise(levels):
        middle = (t0 + t1) / 2
        active = [edge for edge in active if edge[1] > t0]
        active += starting.get(t0, ())
        met = sorted((v0 + slope * (middle - u0), k) for u0, _, v0, slope, k in active)
        for (_, left), (_, right) in zip(met[::2], met[1::2], strict=True):
            spans = cut.setdefault((left, right), [])
            if spans and spans[-1][1] == t0:
                spans[-1] = (spans[-1][0], t1)
            else:
                spans.append((t0, t1))
    out = []
    for (left, right), spans in cut.items():
        u0, l0, u1, l1 = edges[left]
        w0, r0, w1, r1 = edges[right]
        for t0, t1 in spans:
            lefts = _line(u0, u1, l0, l1, t0), _line(u0, u1, l0, l1, t1)
            rights = _line(w0, w1, r0, r1, t0), _line(w0, w1, r0, r1, t1)
            out.append(Strip(t0, t1, *lefts, *rights))
    return tuple(sorted(out))


def moved_strips(root: Poly, move: PlaneMap, along: int) -> tuple[Strip, ...]:
    """Return the strips of a moved polygon from those of the one it was made from."""
    own = 1 - along if move.swap else along
    maps = (move.sign_a, move.shift_a), (move.sign_b, move.shift_b)
    (sign_v, dv), (sign_t, dt) = maps[own], maps[1 - own]
    out = []
    for strip in root.strips(own):
        t0, t1, l0, l1, r0, r1, _, _ = strip
        if sign_v < 0:
            l0, l1, r0, r1 = -r0, -r1, -l0, -l1
        if sign_t < 0:
            t0, t1, l0, l1, r0, r1 = -t1, -t0, l1, l0, r1, r0
        out.append(Strip(t0 + dt, t1 + dt, l0 + dv, l1 + dv, r0 + dv, r1 + dv))
    if sign_t < 0:
        out.sort()
    return tuple(out)


def reach(strip: Strip, t0: float, t1: float) -> Reach | None:
    """Return how far a strip reaches along between `t0` and `t1`, None where it is not there.

    A common range no longer than the length tolerance counts as none.
    """
    t0, t1 = max(t0, strip.t0), min(t1, strip.t1)
    if t1 - t0 <= LENGTH_EPS_MM:
        return None
    if strip.r:
        t = min(max(strip.c, t0), t1)
        return Reach(strip.left(t), t, strip.right(t), t)
    la, lb, ra, rb = strip.left(t0), strip.left(t1), strip.right(t0), strip.right(t1)
    t_lo = (t0 + t1) / 2 if la == lb else (t0 if la < lb else t1)
    t_hi = (t0 + t1) / 2 if ra == rb else (t0 if ra > rb else t1)
    return Reach(min(la, lb), t_lo, max(ra, rb), t_hi)


def shadow(outline: Outline, along: int, t0: float, t1: float) -> list[Span]:
    """Project the part of an outline between `t0` and `t1` on the coordinate `along`.

    Returns disjoint spans in ascending order.
    """
    spans = []
    for strip in strips(outline, along):
        reached = reach(strip, t0, t1)
        if reached is not None:
            spans.append((reached.lo, reached.hi))
    return joined(spans)


def joined(spans: list[Span]) -> list[Span]:
    """Unite spans; those that touch become one."""
    if len(spans) < 2:
        return spans
    spans = sorted(spans)
    out = [spans[0]]
    for lo, hi in spans[1:]:
        if lo <= out[-1][1]:
            if hi > out[-1][1]:
                out[-1] = (out[-1][0], hi)
        else:
            out.append((lo, hi))
    return out
