"""Between which options more than some length is missing, held as bits, a row for each option.

Of two zones there may be thousands of millions of pairs of options, but they are made of few
pieces, and these of few boxes. So boxes are looked at, those that lie near each other together, and
what holds of one of them holds of all pieces and options that have it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.boxes_between import Boxes, gaps_between
from geometry.search.judging.levels import by_place, within_reach
from geometry.search.long_work import Steps
from geometry.search.solving.bits import Bits, Bytes
from geometry.search.solving.lists import Lists

BOXES_A_TILE = 1024
"""So many boxes that lie near each other are looked at together."""

PAIRS_AT_ONCE = 2**17
"""So many pairs of boxes are looked at at once."""

SURE_MM = 1e-6
"""Boxes that are farther apart than they may be by more than this are not looked at closely."""


@dataclass(frozen=True, eq=False)
class MissingMore:
    """What some options miss more than some length to: `pieces` has a row of bits for each piece.

    The bits are those of all options of the other zone. `options` has the pieces of each of these.
    """

    pieces: Bytes
    options: Lists

    @classmethod
    def of(cls, mine: Boxes, theirs: Boxes, margins: Floats, than_mm: float) -> Steps[MissingMore]:
        """Return in steps between which options more is missing `than_mm`."""
        reach_mm = float(np.nanmax(margins, initial=-np.inf)) - than_mm
        width = (len(theirs) + 7) // 8
        near = np.flatnonzero(_in_reach(mine.sides, theirs.sides, reach_mm))
        near = near[by_place(mine.sides[:, near].T)]
        # The last row is that of all boxes that are out of reach.
        place = np.full(mine.sides.shape[1], len(near), dtype=np.intp)
        place[near] = np.arange(len(near))
        boxes = np.zeros((len(near) + 1, width), dtype=np.uint8)
        for start in range(0, len(near), BOXES_A_TILE):
            some = near[start : start + BOXES_A_TILE]
            hit = _hits(mine, some, theirs, margins, than_mm, reach_mm)
            if hit is not None:
                pieces = any_of(theirs.pieces, hit)
                options = any_of(theirs.options, pieces)
                boxes[start : start + len(some)] = Bits(options, len(some)).turned().rows
            yield start / len(near)
        pieces = any_of(Lists(place[mine.pieces.numbers], mine.pieces.starts), boxes)
        return cls(pieces, mine.options)

    def rows(self, first: int, stop: int) -> Bytes:
        """Return the bits of some options, one after the other."""
        return any_of(self.options.part(first, stop), self.pieces)


def any_of(lists: Lists, rows: Bytes) -> Bytes:
    """Return for each list which bits are in any row of its numbers."""
    out = np.zeros((len(lists), rows.shape[1]), dtype=np.uint8)
    counts = np.diff(lists.starts)
    for n in range(int(counts.max(initial=0))):
        longer = np.flatnonzero(counts > n)
        out[longer] |= rows[lists.numbers[lists.starts[longer] + n]]
    return out


def _hits(
    mine: Boxes, some: Indices, theirs: Boxes, margins: Floats, than_mm: float, reach_mm: float
) -> Bytes | None:
    """Return as bits which of some boxes miss more than a length to each of the other zone.

    A row has them for each box of the other zone; None where none does.
    """
    beside = np.flatnonzero(_in_reach(theirs.sides, mine.sides[:, some], reach_mm))
    met = np.zeros((len(beside), len(some)), dtype=bool)
    own = mine.sides[:, some]
    step = max(1, PAIRS_AT_ONCE // len(some))
    for start in range(0, len(beside), step):
        few = beside[start : start + step]
        i, j = np.nonzero(_apart(theirs.sides[:, few], own) < reach_mm + SURE_MM)
        one, other = few[i], some[j]
        gaps = gaps_between(mine.sides[:, other], theirs.sides[:, one])
        short = margins[mine.role[other], theirs.role[one]] - gaps
        met[start + i, j] = short > than_mm
    if not met.any():
        return None
    out = np.zeros((theirs.sides.shape[1], (len(some) + 7) // 8), dtype=np.uint8)
    out[beside] = np.packbits(met, axis=1, bitorder="little")
    return out


def _apart(a: Floats, b: Floats) -> Floats:
    """Return by how much boxes are apart along the axis on which they are farthest; NaN for NaN."""
    apart = np.full((a.shape[1], b.shape[1]), -np.inf)
    for k in range(3):
        np.maximum(apart, b[k] - a[k + 3][:, None], out=apart)
        np.maximum(apart, a[k][:, None] - b[k + 3], out=apart)
    return apart


def _in_reach(some: Floats, others: Floats, reach_mm: float) -> Bools:
    """Return which of some boxes come within reach of what is around all others; NaN never does."""
    known = ~np.isnan(others[0])
    return within_reach(some.T, others.T[known], reach_mm + SURE_MM)
