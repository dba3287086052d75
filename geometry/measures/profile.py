"""Depth over a footprint: where, along one of its sides, the next solid stands how far away.

The profile is the lower envelope of what each prism shows to the footprint: level pieces, and
for prisms that are pushed across the side straight or round ones. It is exact; its breakpoints
are places where another solid, or another side of one, becomes the nearest.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from operator import itemgetter
from typing import NamedTuple

from geometry.measures.area import Side, crossings
from geometry.measures.pose import Way
from geometry.measures.prism import PLANE, Prism, Rect
from geometry.measures.strips import Span, Strip, reach, shadow, strips
from geometry.measures.tolerance import LENGTH_EPS_MM


class DepthPiece(NamedTuple):
    """One stretch of a profile, from `t0` to `t1` along the side (mm), and the solid met there.

    `side` is the depth as a curve over t; None, with no key, where nothing stands.
    """

    t0: float
    t1: float
    side: Side | None
    key: Hashable = None

    def depth(self, t: float) -> float:
        """Return the depth at `t` (mm), infinite where nothing stands."""
        return inf if self.side is None else self.side.value(t)

    def least(self) -> float:
        """Return the least depth of the piece."""
        if self.side is None:
            return inf
        if self.side.is_level:
            return self.side.v0
        values = [self.side.value(self.t0), self.side.value(self.t1)]
        if self.side.r:
            values.append(self.side.value(min(max(self.side.c, self.t0), self.t1)))
        return min(values)

    def most(self) -> float:
        """Return the greatest depth of the piece; sides bulge towards the footprint."""
        if self.side is not None and self.side.is_level:
            return self.side.v0
        return max(self.depth(self.t0), self.depth(self.t1))


@dataclass(frozen=True, slots=True)
class DepthProfile:
    """Pieces that cover the side of a footprint without gaps, in ascending order."""

    pieces: tuple[DepthPiece, ...]

    @property
    def least_mm(self) -> float:
        """The least depth, infinite when nothing stands over the footprint."""
        return min(piece.least() for piece in self.pieces)

    @property
    def breakpoints_mm(self) -> tuple[float, ...]:
        """Where the nearest solid, or its nearest side, changes."""
        return tuple(piece.t1 for piece in self.pieces[:-1])

    def depth_at(self, t_mm: float) -> float:
        """Return the depth at a place along the side; the lesser one at a breakpoint."""
        return min(p.depth(t_mm) for p in self.pieces if p.t0 <= t_mm <= p.t1)


def depth_profile(
    footprint: Rect,
    datum_mm: float,
    way: Way,
    along: int,
    others: Sequence[tuple[Hashable, Sequence[Prism]]],
) -> DepthProfile:
    """Return how far from a footprint the nearest of `others` stands, over its side on `along`.

    `footprint` is given in the plane coordinates of `way.axis`, `datum_mm` is its level on that
    axis; the depth at t is the travel along `way` of the line across the footprint at t. It is
    negative where a solid stands through the datum. Solids wholly behind the datum do not count.
    Raises ValueError when `along` is the axis of the way.
    """
    if along == way.axis:
        raise ValueError("the profile runs across its direction, not along it")
    first = PLANE[way.axis].index(along) == 0
    t_lo, t_hi = (footprint.a0, footprint.a1) if first else (footprint.b0, footprint.b1)
    across = (footprint.b0, footprint.b1) if first else (footprint.a0, footprint.a1)
    seen = _Seen(t_lo, t_hi, across, datum_mm, way, along)
    level, bent = seen.shown(others)
    envelope = _Envelope(_level_envelope(t_lo, t_hi, level))
    # Nearest first, so that most of the rest turn out to be hidden by their bounds.
    bent.sort(key=_NEAR)
    for shown in bent:
        if shown.near >= envelope.top:
            break
        if not envelope.hides(shown.near, shown.t0, shown.t1):
            for piece in seen.pieces(shown):
                envelope.lower(piece)
    return DepthProfile(tuple(_merged(envelope.pieces)))


class _Shown(NamedTuple):
    """A prism over the footprint: its range along the side, and how near its bounds come."""

    near: float
    t0: float
    t1: float
    key: Hashable
    prism: Prism


_Level = tuple[float, float, float, Hashable]
"""The same of a box, which shows nothing but its bounds."""

_NEAR = itemgetter(0)


@dataclass(frozen=True, slots=True)
class _Seen:
    """A footprint, and what prisms show to it."""

    t_lo: float
    t_hi: float
    across: tuple[float, float]
    datum: float
    way: Way
    along: int

    def shown(
        self, others: Sequence[tuple[Hashable, Sequence[Prism]]]
    ) -> tuple[list[_Level], list[_Shown]]:
        """Return what the bounds of all that is over the footprint show: boxes, and the rest."""
        k, along, (v0, v1), sign = self.way.axis, self.along, self.across, self.way.sign
        across, t_lo, t_hi, eps = 3 - k - along, self.t_lo, self.t_hi, LENGTH_EPS_MM
        along_end, across_end = along + 3, across + 3
        least_t, most_t, least_v, most_v = t_lo + eps, t_hi - eps, v0 + eps, v1 - eps
        # The nearest level, the axis of the bounds that has it, and the same for the far one.
        near_at, far_at, base = (k, k + 3, self.datum) if sign > 0 else (k + 3, k, -self.datum)
        behind = base + eps
        level: list[_Level] = []
        bent: list[_Shown] = []
        for key, prisms in others:
            for prism in prisms:
                b = prism.bounds
                t0, t1 = b[along], b[along_end]
                if t1 <= least_t or t0 >= most_t or b[across_end] <= least_v or b[across] >= most_v:
                    continue
                # What is too thin to be met either way has no room of its own.
                if sign * b[far_at] <= behind or t1 - t0 <= eps or b[across_end] - b[across] <= eps:
                    continue
                t0, t1 = t0 if t0 > t_lo else t_lo, t1 if t1 < t_hi else t_hi
                near = sign * b[near_at] - base
                if isinstance(prism.outline, Rect):
                    level.append((near, t0, t1, key))
                else:
                    bent.append(_Shown(near, t0, t1, key, prism))
        return level, bent

    def pieces(self, shown: _Shown) -> list[DepthPiece]:
        """Return what a prism that is not a box shows, cut to the footprint."""
        near, t0, t1, key, prism = shown
        k = self.way.axis
        if prism.axis == k:
            spans = shadow(prism.outline, PLANE[k].index(self.along), *self.across)
            cut = [(max(lo, self.t_lo), min(hi, self.t_hi)) for lo, hi in spans]
            return [_level(lo, hi, near, key) for lo, hi in cut if hi - lo > LENGTH_EPS_MM]
        facing = strips(prism.outline, PLANE[prism.axis].index(k))
        if prism.axis == self.along:
            depth = self._reached(facing)
            return [] if depth is None else [_level(t0, t1, depth, key)]
        return [piece for strip in facing for piece in self._curves(strip, near, key)]

    def _reached(self, facing: Iterable[Strip]) -> float | None:
        """Return how near a prism comes that is pushed along the side; None if it lies behind."""
        depths = []
        for strip in facing:
            found = reach(strip, *self.across)
            if found is None:
                continue
            near, far = found.lo - self.datum, found.hi - self.datum
            if self.way.sign < 0:
                near, far = -far, -near
            if far > LENGTH_EPS_MM:
                depths.append(near)
        return min(depths, default=None)

    def _curves(self, strip: Strip, least: float, key: Hashable) -> list[DepthPiece]:
        """Return the near side of a strip as a curve over the side, where it lies ahead.

        `least` is how near the whole prism comes.
        """
        t0, t1, l0, l1, r0, r1, c, r = strip
        lo, hi = max(t0, self.t_lo), min(t1, self.t_hi)
        if hi - lo <= LENGTH_EPS_MM:
            return []
        d = self.datum
        if self.way.sign > 0:
            near, f0, f1 = Side(t0, t1, l0 - d, l1 - d, c, r, -1), r0 - d, r1 - d
        else:
            near, f0, f1 = Side(t0, t1, d - r0, d - r1, c, r, -1), d - l0, d - l1
        if least > LENGTH_EPS_MM:
            return [DepthPiece(lo, hi, near, key)]
        far = Side(t0, t1, f0, f1, c, r, 1)
        cuts = crossings(far, Side(t0, t1, 0.0, 0.0, 0.0, 0.0, 1))
        ends = sorted({lo, hi, *(t for t in cuts if lo < t < hi)})
        return [
            DepthPiece(p, q, near, key)
            for p, q in pairwise(ends)
            if far.value((p + q) / 2) > LENGTH_EPS_MM
        ]


def _level(t0: float, t1: float, depth: float, key: Hashable) -> DepthPiece:
    return DepthPiece(t0, t1, Side(t0, t1, depth, depth, 0.0, 0.0, -1), key)


def _level_envelope(t_lo: float, t_hi: float, level: list[_Level]) -> list[DepthPiece]:
    """Return the lower envelope of boxes: the nearest fill first what is still open."""
    pieces: list[DepthPiece] = []
    gaps = [(t_lo, t_hi)]
    level.sort(key=_NEAR)
    for near, t0, t1, key in level:
        for gap in [gap for gap in gaps if gap[0] < t1 and gap[1] > t0]:
            lo, hi = gap
            start, end = lo if lo > t0 else t0, hi if hi < t1 else t1
            pieces.append(_level(start, end, near, key))
            gaps.remove(gap)
            if lo < start:
                gaps.append((lo, start))
            if end < hi:
                gaps.append((end, hi))
        if not gaps:
            break
    pieces += [DepthPiece(lo, hi, None) for lo, hi in gaps]
    pieces.sort(key=_NEAR)
    return pieces


class _Envelope:
    """Pieces without gaps, lowered by one more at a time; `tops` are their greatest depths."""

    def __init__(self, pieces: list[DepthPiece]) -> None:
        self.pieces = pieces
        self._ends = [piece.t1 for piece in pieces]
        self._tops = [piece.most() for piece in pieces]
        self.top = max(self._tops)

    def hides(self, near: float, t0: float, t1: float) -> bool:
        """Whether nothing as deep as `near` between two places could lower the envelope."""
        start, stop = self._range(t0, t1)
        return max(self._tops[start:stop]) <= near

    def lower(self, new: DepthPiece) -> None:
        """Lower the envelope where `new` is nearer."""
        start, stop = self._range(new.t0, new.t1)
        least = new.least()
        # From behind, so that what is put in moves nothing that is still to be looked at.
        for at in reversed(range(start, stop)):
            if self._tops[at] > least:
                old = self.pieces[at]
                won = _won(old, new)
                if won:
                    fresh = _split(old, new, won)
                    self.pieces[at : at + 1] = fresh
                    self._ends[at : at + 1] = [piece.t1 for piece in fresh]
                    self._tops[at : at + 1] = [piece.most() for piece in fresh]
        self.top = max(self._tops)

    def _range(self, t0: float, t1: float) -> tuple[int, int]:
        """Return which pieces lie between two places: from the first that ends behind t0."""
        return bisect_right(self._ends, t0), bisect_left(self._ends, t1) + 1


def _won(old: DepthPiece, new: DepthPiece) -> list[Span]:
    """Return where `new` is nearer than `old`, in ascending order."""
    lo, hi = max(old.t0, new.t0), min(old.t1, new.t1)
    one, other = old.side, new.side
    assert other is not None
    if lo >= hi:
        return []
    if one is None:
        return [(lo, hi)]
    if not (one.r or other.r):
        start, end = one.value(lo) - other.value(lo), one.value(hi) - other.value(hi)
        if start * end >= 0.0:
            return [(lo, hi)] if start + end > 0.0 else []
        cut = lo + (hi - lo) * start / (start - end)
        return [(lo, cut)] if start > 0.0 else [(cut, hi)]
    cuts = [lo, *sorted(t for t in crossings(one, other) if lo < t < hi), hi]
    return [
        (start, end)
        for start, end in pairwise(cuts)
        if other.value((start + end) / 2) < one.value((start + end) / 2)
    ]


def _split(old: DepthPiece, new: DepthPiece, won: list[Span]) -> list[DepthPiece]:
    """Return what is left of `old`, and `new` where it is nearer, in ascending order."""
    pieces, kept = [], old.t0
    for lo, hi in won:
        if kept < lo:
            pieces.append(DepthPiece(kept, lo, old.side, old.key))
        pieces.append(DepthPiece(lo, hi, new.side, new.key))
        kept = hi
    if kept < old.t1:
        pieces.append(DepthPiece(kept, old.t1, old.side, old.key))
    return pieces


def _merged(pieces: list[DepthPiece]) -> list[DepthPiece]:
    """Join neighbours that show the same side of the same solid."""
    out: list[DepthPiece] = []
    for piece in pieces:
        if out and out[-1].key == piece.key and _same(out[-1].side, piece.side):
            out[-1] = DepthPiece(out[-1].t0, piece.t1, out[-1].side, piece.key)
        else:
            out.append(piece)
    return out


def _same(one: Side | None, other: Side | None) -> bool:
    if one is None or other is None:
        return one is other
    return one is other or (one.r == other.r == 0 and one[2:4] == other[2:4] and one.v0 == one.v1)
