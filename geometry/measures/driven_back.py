"""How far back a footprint is driven where it stands in the room of a solid, over its side.

What a solid fills may be cut into several prisms, and backing out of one of them may lead into the
next. So the intervals that the prisms of one solid fill over a place of the side are united from
the datum backwards; the depth there is where the first gap in that solid begins. What another solid
fills behind it does not count: a post that is driven into the floor is not in the way by as much
as the floor is thick.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from itertools import combinations, pairwise
from operator import itemgetter
from typing import NamedTuple

from geometry.measures.area import Side, crossings
from geometry.measures.envelope import DepthPiece
from geometry.measures.tolerance import LENGTH_EPS_MM


class Thick(NamedTuple):
    """What a solid fills from `t0` to `t1` along the side: from its near to its far curve."""

    t0: float
    t1: float
    near: Side
    far: Side
    key: Hashable

    def least(self) -> float:
        """Return how near it comes."""
        return DepthPiece(self.t0, self.t1, self.near).least()

    def most(self) -> float:
        """Return how far it reaches; far curves bulge away from the footprint."""
        values = [self.far.value(self.t0), self.far.value(self.t1)]
        if self.far.r:
            values.append(self.far.value(min(max(self.far.c, self.t0), self.t1)))
        return max(values)


def driven_back(pieces: Sequence[DepthPiece], met: Sequence[Thick]) -> list[DepthPiece]:
    """Return pieces of a profile, those before the datum lowered to where their solid ends.

    `met` is all that solids fill over the footprint, behind the datum too.
    """
    out: list[DepthPiece] = []
    for piece in pieces:
        if piece.least() < -LENGTH_EPS_MM:
            out.extend(_united(piece, _joining(piece, met)))
        else:
            out.append(piece)
    return out


def _joining(piece: DepthPiece, met: Sequence[Thick]) -> list[Thick]:
    """Return what may join up with a piece: all of the solids that may stand through the datum."""
    here = [one for one in met if one.t0 < piece.t1 and one.t1 > piece.t0]
    through = {one.key for one in here if one.least() < 0.0 and one.most() > LENGTH_EPS_MM}
    return [one for one in here if one.key in through and one.least() < 0.0]


def _united(piece: DepthPiece, met: Sequence[Thick]) -> list[DepthPiece]:
    lo, hi = piece.t0, piece.t1
    datum = Side(lo, hi, 0.0, 0.0, 0.0, 0.0, 1)
    curves = [datum, *(side for one in met for side in (one.near, one.far))]
    cuts = {t for one in met for t in (one.t0, one.t1)}
    cuts.update(t for one, other in combinations(curves, 2) for t in crossings(one, other))
    ends = sorted({lo, hi, *(t for t in cuts if lo < t < hi)})
    out: list[DepthPiece] = []
    for t0, t1 in pairwise(ends):
        last = _first_gap(met, (t0 + t1) / 2)
        side, key = (piece.side, piece.key) if last is None else (last.near, last.key)
        out.append(DepthPiece(t0, t1, side, key))
    return out


def _first_gap(met: Sequence[Thick], t: float) -> Thick | None:
    """Return before which of them lies the first gap of the solid that reaches farthest back.

    None where none stands through the datum at `t`.
    """
    backs: dict[Hashable, tuple[float, Thick]] = {}
    here = [(one.far.value(t), one.near.value(t), one) for one in met if one.t0 <= t <= one.t1]
    for far, near, one in sorted(here, key=itemgetter(0), reverse=True):
        back = backs[one.key][0] if one.key in backs else 0.0
        reaches = far >= back - LENGTH_EPS_MM if one.key in backs else far > LENGTH_EPS_MM
        if reaches and near < min(back, -LENGTH_EPS_MM):
            backs[one.key] = near, one
    return min(backs.values(), key=itemgetter(0))[1] if backs else None
