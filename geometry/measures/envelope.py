"""The lower envelope of sides seen over a stretch: at every place the least of them, and whose."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Hashable
from itertools import pairwise
from math import inf
from operator import itemgetter
from typing import NamedTuple

from geometry.measures.area import Side, crossings
from geometry.measures.strips import Span

Level = tuple[float, float, float, Hashable]
"""How deep a box lies, from where to where along the side, and its key."""

NEAR = itemgetter(0)


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


def level_piece(t0: float, t1: float, depth: float, key: Hashable) -> DepthPiece:
    """Return a stretch that is level."""
    return DepthPiece(t0, t1, Side(t0, t1, depth, depth, 0.0, 0.0, -1), key)


def level_envelope(t_lo: float, t_hi: float, level: list[Level]) -> list[DepthPiece]:
    """Return the lower envelope of boxes: the nearest fill first what is still open."""
    pieces: list[DepthPiece] = []
    gaps = [(t_lo, t_hi)]
    level.sort(key=NEAR)
    for near, t0, t1, key in level:
        for gap in [gap for gap in gaps if gap[0] < t1 and gap[1] > t0]:
            lo, hi = gap
            start, end = lo if lo > t0 else t0, hi if hi < t1 else t1
            pieces.append(level_piece(start, end, near, key))
            gaps.remove(gap)
            if lo < start:
                gaps.append((lo, start))
            if end < hi:
                gaps.append((end, hi))
        if not gaps:
            break
    pieces += [DepthPiece(lo, hi, None) for lo, hi in gaps]
    pieces.sort(key=NEAR)
    return pieces


class Envelope:
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


def merged(pieces: list[DepthPiece]) -> list[DepthPiece]:
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
