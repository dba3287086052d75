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
from typing import NamedTuple

from geometry.area import Side, crossings
from geometry.pose import Way
from geometry.prism import PLANE, Prism, Rect
from geometry.strips import Strip, reach, shadow, strips
from geometry.tolerance import LENGTH_EPS_MM


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
        values = [self.side.value(self.t0), self.side.value(self.t1)]
        if self.side.r:
            values.append(self.side.value(min(max(self.side.c, self.t0), self.t1)))
        return min(values)

    def most(self) -> float:
        """Return the greatest depth of the piece; sides bulge towards the footprint."""
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
    level: list[DepthPiece] = []
    bent: list[DepthPiece] = []
    for key, prisms in others:
        for prism in prisms:
            for piece in seen.pieces(prism, key):
                flat = piece.side is not None and piece.side.v0 == piece.side.v1
                (level if flat and not piece.side.r else bent).append(piece)  # type: ignore[union-attr]
    pieces = _level_envelope(t_lo, t_hi, level)
    for piece in sorted(bent, key=DepthPiece.least):
        _lower(pieces, piece)
    return DepthProfile(tuple(_merged(pieces)))


@dataclass(frozen=True, slots=True)
class _Seen:
    """A footprint, and what prisms show to it."""

    t_lo: float
    t_hi: float
    across: tuple[float, float]
    datum: float
    way: Way
    along: int

    def pieces(self, prism: Prism, key: Hashable) -> list[DepthPiece]:
        """Return what one prism shows, cut to the footprint."""
        k, third = self.way.axis, 3 - self.way.axis - self.along
        b = prism.bounds
        far = b[k + 3] - self.datum if self.way.sign > 0 else self.datum - b[k]
        t0, t1 = max(b[self.along], self.t_lo), min(b[self.along + 3], self.t_hi)
        v0, v1 = max(b[third], self.across[0]), min(b[third + 3], self.across[1])
        if min(far, t1 - t0, v1 - v0) <= LENGTH_EPS_MM:
            return []
        if prism.is_box:
            near = b[k] - self.datum if self.way.sign > 0 else self.datum - b[k + 3]
            return [_level(t0, t1, near, key)]
        if prism.axis == k:
            near = prism.lo - self.datum if self.way.sign > 0 else self.datum - prism.hi
            spans = shadow(prism.outline, PLANE[k].index(self.along), *self.across)
            cut = [(max(lo, self.t_lo), min(hi, self.t_hi)) for lo, hi in spans]
            return [_level(lo, hi, near, key) for lo, hi in cut if hi - lo > LENGTH_EPS_MM]
        facing = strips(prism.outline, PLANE[prism.axis].index(k))
        if prism.axis == self.along:
            return [_level(t0, t1, depth, key) for depth in self._reached(facing)]
        return [piece for strip in facing for piece in self._curves(strip, key)]

    def _reached(self, facing: Iterable[Strip]) -> list[float]:
        """Return how near each strip of a prism comes that is pushed along the side."""
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
        return depths

    def _curves(self, strip: Strip, key: Hashable) -> list[DepthPiece]:
        """Return the near side of a strip as a curve over the side, where it lies ahead."""
        t0, t1, l0, l1, r0, r1, c, r = strip
        d = self.datum
        if self.way.sign > 0:
            near, far = (
                Side(t0, t1, l0 - d, l1 - d, c, r, -1),
                Side(t0, t1, r0 - d, r1 - d, c, r, 1),
            )
        else:
            near, far = (
                Side(t0, t1, d - r0, d - r1, c, r, -1),
                Side(t0, t1, d - l0, d - l1, c, r, 1),
            )
        lo, hi = max(t0, self.t_lo), min(t1, self.t_hi)
        if hi - lo <= LENGTH_EPS_MM:
            return []
        cuts = crossings(far, Side(t0, t1, 0.0, 0.0, 0.0, 0.0, 1))
        ends = sorted({lo, hi, *(t for t in cuts if lo < t < hi)})
        return [
            DepthPiece(p, q, near, key)
            for p, q in pairwise(ends)
            if far.value((p + q) / 2) > LENGTH_EPS_MM
        ]


def _level(t0: float, t1: float, depth: float, key: Hashable) -> DepthPiece:
    return DepthPiece(t0, t1, Side(t0, t1, depth, depth, 0.0, 0.0, -1), key)


def _level_envelope(t_lo: float, t_hi: float, level: list[DepthPiece]) -> list[DepthPiece]:
    """Return the lower envelope of level pieces: the nearest fill first what is still open."""
    cuts = sorted({t_lo, t_hi, *(t for piece in level for t in piece[:2])})
    place = {t: k for k, t in enumerate(cuts)}
    owner: list[DepthPiece | None] = [None] * (len(cuts) - 1)
    # after[k] leads to the first open cell at or after k
    after = list(range(len(cuts)))
    for piece in sorted(level, key=lambda p: p.depth(p.t0)):
        k, end = _open(after, place[piece.t0]), place[piece.t1]
        while k < end:
            owner[k] = piece
            after[k] = k + 1
            k = _open(after, k)
    cells = [
        DepthPiece(lo, hi, None if own is None else own.side, None if own is None else own.key)
        for (lo, hi), own in zip(pairwise(cuts), owner, strict=True)
    ]
    return _merged(cells)


def _open(after: list[int], k: int) -> int:
    while after[k] != k:
        after[k] = after[after[k]]
        k = after[k]
    return k


def _lower(pieces: list[DepthPiece], new: DepthPiece) -> None:
    """Lower an envelope, in place, by one more piece."""
    start = bisect_right(pieces, new.t0, key=lambda p: p.t1)
    stop = bisect_left(pieces, new.t1, key=lambda p: p.t0)
    least = new.least()
    if all(p.most() <= least for p in pieces[start:stop]):
        return
    fresh: list[DepthPiece] = []
    for old in pieces[start:stop]:
        cuts = {old.t0, old.t1, *(t for t in (new.t0, new.t1) if old.t0 < t < old.t1)}
        if old.side is not None and new.side is not None:
            cuts.update(t for t in crossings(old.side, new.side) if old.t0 < t < old.t1)
        for lo, hi in pairwise(sorted(cuts)):
            middle = (lo + hi) / 2
            wins = new.t0 <= middle <= new.t1 and new.depth(middle) < old.depth(middle)
            chosen = new if wins else old
            fresh.append(DepthPiece(lo, hi, chosen.side, chosen.key))
    pieces[start:stop] = _merged(fresh)


def _merged(pieces: list[DepthPiece]) -> list[DepthPiece]:
    """Join neighbours that show the same side of the same solid."""
    out: list[DepthPiece] = []
    for piece in pieces:
        if out and out[-1].key == piece.key and _same(out[-1].side, piece.side):
            out[-1] = out[-1]._replace(t1=piece.t1)
        else:
            out.append(piece)
    return out


def _same(one: Side | None, other: Side | None) -> bool:
    if one is None or other is None:
        return one is other
    return one is other or (one.r == other.r == 0 and one[2:4] == other[2:4] and one.v0 == one.v1)
