"""The distance of two prisms of different axes, neither of them a box, by folding.

With A along z and B along x, d^2 = u^2 + (yA - yB)^2 + w^2, where u is how far A's x lies outside
B's interval and w how far B's z lies outside A's. Each outline is folded to its (y, u): what lies
inside the other's interval folds to u = 0 and counts as filled. Only the lower edge of a folded
outline matters, u = g(y). A strip between straight sides gives a few straight pieces of it; a
round outline is convex, so its whole g is, and the least distance is a one-variable convex
minimum, found to within 1e-6 mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, hypot, inf, pi, sin, sqrt
from typing import NamedTuple

from geometry.measures.golden import least_at
from geometry.measures.planar import core
from geometry.measures.pose import Vec
from geometry.measures.prism import PLANE, Prism, Round
from geometry.measures.strips import Strip, strips

Distance = tuple[float, Vec, Vec]

_NEARLY_PARALLEL = 1e-8
"""Squared sine under which the ends of two pieces are tried beside their crossing."""


class Piece(NamedTuple):
    """A straight piece of a folded outline's lower edge, from (y0, u0) to (y1, u1), y0 < y1."""

    y0: float
    u0: float
    y1: float
    u1: float
    strip: Strip


class Fold(NamedTuple):
    """A round outline folded: its core spans s0 to s1 in y and lies `gap` outside the interval."""

    s0: float
    s1: float
    gap: float
    r: float
    strips: tuple[Strip, ...]

    def distance(self, y: float) -> float:
        """Return the distance from (y, u = 0) to the folded outline."""
        return max(0.0, hypot(self.gap, y - self.core_y(y)) - self.r)

    def core_y(self, y: float) -> float:
        """Return the y of the core nearest to `y`."""
        return min(max(y, self.s0), self.s1)

    def nearest_y(self, y: float) -> float:
        """Return the y of the point of the folded outline nearest to (y, u = 0)."""
        middle = self.core_y(y)
        apart = hypot(self.gap, y - middle)
        return y if apart <= self.r else middle + (y - middle) * self.r / apart

    def path(self, s: float) -> tuple[float, float]:
        """Return the point (y, u) after running `s` mm along the outline's near side."""
        quarter = self.r * pi / 2
        if s < quarter:
            y, bulge = self.s0 - self.r * cos(s / self.r), self.r * sin(s / self.r)
        elif s <= quarter + self.s1 - self.s0:
            y, bulge = self.s0 + s - quarter, self.r
        else:
            angle = (s - quarter - (self.s1 - self.s0)) / self.r
            y, bulge = self.s1 + self.r * sin(angle), self.r * cos(angle)
        return y, max(0.0, self.gap - bulge)

    def length(self) -> float:
        """Return the length of the near side."""
        return self.s1 - self.s0 + self.r * pi


class Feet(NamedTuple):
    """Where the least distance is: y and x on A, y and z on B."""

    y_p: float
    along_q: float
    y_q: float
    along_p: float


def crossed_nearest(p: Prism, q: Prism) -> Distance:
    """Return the least distance of two prisms of different axes and a world point on each."""
    if isinstance(p.outline, Round):
        if isinstance(q.outline, Round):
            feet = _round_round(_folded(p, q), _folded(q, p), p, q)
        else:
            y_q, along_p, y_p, along_q = _pieces_round(_pieces(q, p), _folded(p, q), q, p)
            feet = Feet(y_p, along_q, y_q, along_p)
    elif isinstance(q.outline, Round):
        feet = _pieces_round(_pieces(p, q), _folded(q, p), p, q)
    else:
        feet = _pieces_pieces(_pieces(p, q), _pieces(q, p), p, q)
    return _unfolded(p, q, feet)


def _unfolded(p: Prism, q: Prism, feet: Feet) -> Distance:
    third = 3 - p.axis - q.axis
    a, b = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    a[third], b[third] = feet.y_p, feet.y_q
    a[q.axis] = feet.along_q
    b[q.axis] = min(max(feet.along_q, q.lo), q.hi)
    b[p.axis] = feet.along_p
    a[p.axis] = min(max(feet.along_p, p.lo), p.hi)
    mm = sqrt(sum((a[k] - b[k]) ** 2 for k in range(3)))
    return mm, (a[0], a[1], a[2]), (b[0], b[1], b[2])


def _pieces(prism: Prism, other: Prism) -> list[Piece]:
    """Fold a straight-sided outline over the other's interval; its lower edge as pieces."""
    out = []
    for strip in strips(prism.outline, PLANE[prism.axis].index(other.axis)):
        cuts = {strip.t0, strip.t1}
        for v0, v1, limit in (
            (strip.l0, strip.l1, other.hi),
            (strip.r0, strip.r1, other.lo),
        ):
            if (v0 - limit) * (v1 - limit) < 0.0:
                cuts.add(strip.t0 + (strip.t1 - strip.t0) * (limit - v0) / (v1 - v0))
        levels = sorted(cuts)
        folds = [max(0.0, other.lo - strip.right(t), strip.left(t) - other.hi) for t in levels]
        for k in range(len(levels) - 1):
            out.append(Piece(levels[k], folds[k], levels[k + 1], folds[k + 1], strip))
    return out


def _folded(prism: Prism, other: Prism) -> Fold:
    assert isinstance(prism.outline, Round)
    c = core(prism.outline)
    across = PLANE[prism.axis].index(other.axis)
    lo, hi, s0, s1 = (c.a0, c.a1, c.b0, c.b1) if across == 0 else (c.b0, c.b1, c.a0, c.a1)
    gap = max(0.0, other.lo - hi, lo - other.hi)
    return Fold(s0, s1, gap, c.r, strips(prism.outline, across))


def _foot(strip: Strip, y: float, lo: float, hi: float) -> float:
    """Return the place along the other's axis, on a strip at level y, nearest to its interval."""
    left, right = strip.left(y), strip.right(y)
    if right <= lo:
        return right
    if left >= hi:
        return left
    return (max(left, lo) + min(right, hi)) / 2


def _round_foot(fold: Fold, y: float, lo: float, hi: float) -> float:
    for strip in fold.strips:
        if y <= strip.t1:
            return _foot(strip, y, lo, hi)
    return _foot(fold.strips[-1], y, lo, hi)


def _pieces_pieces(mine: list[Piece], theirs: list[Piece], p: Prism, q: Prism) -> Feet:
    best, feet = inf, Feet(0.0, 0.0, 0.0, 0.0)
    for bound, one, other in _by_bound(mine, theirs):
        if bound >= best:
            break
        mm, y_p, y_q = _piece_distance(one, other)
        if mm < best:
            best = mm
            feet = Feet(
                y_p,
                _foot(one.strip, y_p, q.lo, q.hi),
                y_q,
                _foot(other.strip, y_q, p.lo, p.hi),
            )
    return feet


def _by_bound(mine: list[Piece], theirs: list[Piece]) -> Iterator[tuple[float, Piece, Piece]]:
    """Yield pairs of pieces with a distance that they cannot beat, in the order of that."""
    if len(mine) * len(theirs) <= _FEW:
        pairs = ((_bound(a, b), i, j) for i, a in enumerate(mine) for j, b in enumerate(theirs))
        for bound, i, j in sorted(pairs):
            yield bound, mine[i], theirs[j]
        return
    import numpy as np

    own, other = (np.array([piece[:4] for piece in pieces]) for pieces in (mine, theirs))
    least_u, least_w = (np.minimum(v[:, 1], v[:, 3]) for v in (own, other))
    gap = np.maximum(own[:, None, 0] - other[:, 2], other[:, 0] - own[:, None, 2])
    squares = np.maximum(gap, 0.0) ** 2 + least_u[:, None] ** 2 + least_w**2
    bounds = np.sqrt(squares).ravel()
    # Only the first are put in order at first: hardly ever more are asked for.
    order = np.argpartition(bounds, _FEW)
    for chosen in (order[:_FEW], order[_FEW:]):
        for at in chosen[np.argsort(bounds[chosen], kind="stable")].tolist():
            i, j = divmod(at, len(theirs))
            yield float(bounds[at]), mine[i], theirs[j]


_FEW = 64


def _bound(one: Piece, other: Piece) -> float:
    y_gap = max(0.0, one.y0 - other.y1, other.y0 - one.y1)
    u, w = min(one.u0, one.u1), min(other.u0, other.u1)
    return sqrt(y_gap * y_gap + u * u + w * w)


def _piece_distance(one: Piece, other: Piece) -> tuple[float, float, float]:
    """Return the distance of two pieces in space, and both levels y.

    Closest points of two segments, (u, y, 0) and (0, y, w); after Ericson, Real-Time Collision
    Detection, section 5.1.9 (from memory).
    """
    dy, du = one.y1 - one.y0, one.u1 - one.u0
    ey, ew = other.y1 - other.y0, other.u1 - other.u0
    ry = one.y0 - other.y0
    a, e, b = dy * dy + du * du, ey * ey + ew * ew, dy * ey
    c, f = du * one.u0 + dy * ry, ey * ry - ew * other.u0

    def at(s: float, t: float) -> tuple[float, float, float]:
        y_p, y_q = one.y0 + s * dy, other.y0 + t * ey
        u, w = one.u0 + s * du, other.u0 + t * ew
        return sqrt(u * u + w * w + (y_p - y_q) ** 2), y_p, y_q

    crossing = a * e - b * b
    s = _unit((b * f - c * e) / crossing) if crossing > 0.0 else 0.5
    t = _unit((b * s + f) / e)
    found = at(_unit((b * t - c) / a), t)
    if crossing <= _NEARLY_PARALLEL * a * e:
        ends = [at(s, _unit((b * s + f) / e)) for s in (0.0, 1.0)]
        ends += [at(_unit((b * t - c) / a), t) for t in (0.0, 1.0)]
        found = min(found, *ends)
    return found


def _unit(value: float) -> float:
    return min(max(value, 0.0), 1.0)


def _pieces_round(mine: list[Piece], fold: Fold, p: Prism, q: Prism) -> Feet:
    bounds = []
    for k, one in enumerate(mine):
        closest = min(max(fold.s0, one.y0), one.y1)
        bounds.append((hypot(min(one.u0, one.u1), fold.distance(closest)), k))
    best, feet = inf, Feet(0.0, 0.0, 0.0, 0.0)
    for bound, k in sorted(bounds):
        if bound >= best:
            break
        one = mine[k]
        dy, du = one.y1 - one.y0, one.u1 - one.u0

        def distance(s: float, one: Piece = one, dy: float = dy, du: float = du) -> float:
            return hypot(one.u0 + s * du, fold.distance(one.y0 + s * dy))

        s, mm = least_at(distance, 1.0)
        if mm < best:
            best, y_p = mm, one.y0 + s * dy
            y_q = fold.nearest_y(y_p)
            feet = Feet(
                y_p,
                _foot(one.strip, y_p, q.lo, q.hi),
                y_q,
                _round_foot(fold, y_q, p.lo, p.hi),
            )
    return feet


def _round_round(mine: Fold, theirs: Fold, p: Prism, q: Prism) -> Feet:
    def distance(s: float) -> float:
        y, u = mine.path(s)
        return hypot(u, theirs.distance(y))

    s, _ = least_at(distance, mine.length())
    y_p, _ = mine.path(s)
    y_q = theirs.nearest_y(y_p)
    return Feet(
        y_p,
        _round_foot(mine, y_p, q.lo, q.hi),
        y_q,
        _round_foot(theirs, y_q, p.lo, p.hi),
    )
