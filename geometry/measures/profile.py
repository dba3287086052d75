"""Depth over a footprint: where, along one of its sides, the next solid stands how far away.

The profile is the lower envelope of what each prism shows to the footprint: level pieces, and
for prisms that are pushed across the side straight or round ones. It is exact; its breakpoints
are places where another solid, or another side of one, becomes the nearest.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from geometry.measures.area import Side, crossings
from geometry.measures.driven_back import Thick, driven_back
from geometry.measures.envelope import (
    NEAR,
    DepthPiece,
    Envelope,
    Level,
    level_envelope,
    level_piece,
    merged,
)
from geometry.measures.pose import Way
from geometry.measures.prism import PLANE, Prism, Rect
from geometry.measures.strips import Strip, reach, shadow, strips
from geometry.measures.tolerance import LENGTH_EPS_MM


@dataclass(frozen=True, slots=True)
class DepthProfile:
    """Pieces that cover the side of a footprint without gaps, in ascending order."""

    pieces: tuple[DepthPiece, ...]

    @property
    def least_mm(self) -> float:
        """The least depth, infinite when nothing stands over the footprint."""
        return min(piece.least() for piece in self.pieces)


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
    negative where a solid stands through the datum: minus the way back out of that solid, whatever
    lies behind it. Solids wholly behind the datum do not count.
    Raises ValueError when `along` is the axis of the way.
    """
    if along == way.axis:
        raise ValueError("the profile runs across its direction, not along it")
    first = PLANE[way.axis].index(along) == 0
    t_lo, t_hi = (footprint.a0, footprint.a1) if first else (footprint.b0, footprint.b1)
    across = (footprint.b0, footprint.b1) if first else (footprint.a0, footprint.a1)
    seen = _Seen(t_lo, t_hi, across, datum_mm, way, along)
    level, bent = seen.shown(others)
    envelope = Envelope(level_envelope(t_lo, t_hi, level))
    # Nearest first, so that most of the rest turn out to be hidden by their bounds.
    bent.sort(key=NEAR)
    for shown in bent:
        if shown.near >= envelope.top:
            break
        if not envelope.hides(shown.near, shown.t0, shown.t1):
            for piece in seen.pieces(shown):
                envelope.lower(piece)
    pieces = envelope.pieces
    if any(piece.least() < -LENGTH_EPS_MM for piece in pieces):
        pieces = driven_back(pieces, list(seen.filled(others)))
    return DepthProfile(tuple(merged(pieces)))


class _Shown(NamedTuple):
    """A prism over the footprint: its range along the side, and how near its bounds come."""

    near: float
    t0: float
    t1: float
    key: Hashable
    prism: Prism


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
    ) -> tuple[list[Level], list[_Shown]]:
        """Return what the bounds of all that is over the footprint show: boxes, and the rest."""
        k, along, (v0, v1), sign = self.way.axis, self.along, self.across, self.way.sign
        across, t_lo, t_hi, eps = 3 - k - along, self.t_lo, self.t_hi, LENGTH_EPS_MM
        along_end, across_end = along + 3, across + 3
        least_t, most_t, least_v, most_v = t_lo + eps, t_hi - eps, v0 + eps, v1 - eps
        # The nearest level, the axis of the bounds that has it, and the same for the far one.
        near_at, far_at, base = (k, k + 3, self.datum) if sign > 0 else (k + 3, k, -self.datum)
        behind = base + eps
        level: list[Level] = []
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
            return [level_piece(lo, hi, near, key) for lo, hi in cut if hi - lo > LENGTH_EPS_MM]
        facing = strips(prism.outline, PLANE[prism.axis].index(k))
        if prism.axis == self.along:
            depth = self._reached(facing)
            return [] if depth is None else [level_piece(t0, t1, depth, key)]
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
        t0, t1 = strip.t0, strip.t1
        lo, hi = max(t0, self.t_lo), min(t1, self.t_hi)
        if hi - lo <= LENGTH_EPS_MM:
            return []
        near, far = self._sides(strip)
        if least > LENGTH_EPS_MM:
            return [DepthPiece(lo, hi, near, key)]
        cuts = crossings(far, Side(t0, t1, 0.0, 0.0, 0.0, 0.0, 1))
        ends = sorted({lo, hi, *(t for t in cuts if lo < t < hi)})
        return [
            DepthPiece(p, q, near, key)
            for p, q in pairwise(ends)
            if far.value((p + q) / 2) > LENGTH_EPS_MM
        ]

    def filled(self, others: Sequence[tuple[Hashable, Sequence[Prism]]]) -> Iterator[Thick]:
        """Yield all that prisms fill over the footprint, behind the datum too."""
        for key, prisms in others:
            for prism in prisms:
                yield from self._filled(key, prism)

    def _filled(self, key: Hashable, prism: Prism) -> Iterator[Thick]:
        k, b, along = self.way.axis, prism.bounds, self.along
        v0, v1 = self.across
        third = 3 - k - along
        t0, t1 = max(b[along], self.t_lo), min(b[along + 3], self.t_hi)
        if min(t1 - t0, min(b[third + 3], v1) - max(b[third], v0)) <= LENGTH_EPS_MM:
            return
        if isinstance(prism.outline, Rect):
            yield self._level(t0, t1, b[k], b[k + 3], key)
        elif prism.axis == k:
            for span in shadow(prism.outline, PLANE[k].index(along), v0, v1):
                lo, hi = max(span[0], t0), min(span[1], t1)
                if hi - lo > LENGTH_EPS_MM:
                    yield self._level(lo, hi, b[k], b[k + 3], key)
        else:
            for strip in strips(prism.outline, PLANE[prism.axis].index(k)):
                if prism.axis == along:
                    found = reach(strip, v0, v1)
                    if found is not None:
                        yield self._level(t0, t1, found.lo, found.hi, key)
                elif min(strip.t1, t1) - max(strip.t0, t0) > LENGTH_EPS_MM:
                    yield self._curved(strip, max(strip.t0, t0), min(strip.t1, t1), key)

    def _level(self, t0: float, t1: float, lo: float, hi: float, key: Hashable) -> Thick:
        ends = sorted((self.way.sign * (lo - self.datum), self.way.sign * (hi - self.datum)))
        near, far = (Side(t0, t1, v, v, 0.0, 0.0, 1) for v in ends)
        return Thick(t0, t1, near, far, key)

    def _curved(self, strip: Strip, lo: float, hi: float, key: Hashable) -> Thick:
        near, far = self._sides(strip)
        return Thick(lo, hi, near, far, key)

    def _sides(self, strip: Strip) -> tuple[Side, Side]:
        """Return the near and the far side of a strip as curves over the side of the footprint."""
        t0, t1, l0, l1, r0, r1, c, r = strip
        d = self.datum
        if self.way.sign > 0:
            near, f0, f1 = Side(t0, t1, l0 - d, l1 - d, c, r, -1), r0 - d, r1 - d
        else:
            near, f0, f1 = Side(t0, t1, d - r0, d - r1, c, r, -1), d - l0, d - l1
        return near, Side(t0, t1, f0, f1, c, r, 1)
