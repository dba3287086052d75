"""What at least is missing between pairs of options once every dimension is off.

What was measured between two solids holds for all pairs of options that have both. What was not is
bounded by arrays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.boxes_between import NOTHING, Boxes, BoxPairs, gaps_between
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.worst_bounds import least_missing
from geometry.search.judging.worst_pairs import FacePairs
from geometry.search.solving.lists import Lists

Places = tuple[int | None, int | None]
"""Those of two solids, as the options of two zones know them; None for unknown ones."""


@dataclass(eq=False)
class ShortAtWorst:
    """What at least is missing between pairs of options that keep their gaps as drawn.

    Pair `k` of them has `counts[k]` pairs of solids that may come too near each other; these are
    numbered one after the other in `solids`. Between those numbered `n` at least `least_mm[n]` is
    missing to what they `need`, and exactly that where their gap is `known`, by the `places` of
    which they are; so many of these have been `seen`.
    """

    known: Mapping[Places, float]
    places: Mapping[Places, int]
    need: Floats
    solids: Indices
    counts: Indices
    bounds_mm: Floats
    seen: int = 0

    @classmethod
    def between(
        cls,
        both: tuple[Tolerant, Tolerant],
        pairs: Indices,
        margins: Floats,
        known: Mapping[Places, float],
    ) -> ShortAtWorst:
        """Return what is known of some pairs of options by number, shape (n, 2): for few at once.

        `known` has what is left between solids at worst (mm), and may be added to.
        """
        held, boxes, rows = zip(*map(_far_boxes, both, pairs.T), strict=True)
        near, need = _near(boxes, BoxPairs.of(boxes, rows), margins)
        width = len(held[1])
        numbers, first, solids = np.unique(
            near.i * width + near.j, return_index=True, return_inverse=True
        )
        i, j = held[0][numbers // width], held[1][numbers % width]
        places: dict[Places, int] = {
            place: n for n, place in enumerate(zip(i.tolist(), j.tolist(), strict=True))
        }
        bounds_mm = _least_missing(both, (i, j), need[first])
        return cls(known, places, need[first], solids, near.counts, bounds_mm)

    def least_mm(self) -> Floats:
        """Return what at least is missing between each pair of options; infinite where nothing is.

        Zero where nothing is missing that is known, but something may be.
        """
        for place in islice(self.known, self.seen, None):
            number = self.places.get(place)
            if number is not None:
                short = self.need[number] - self.known[place]
                self.bounds_mm[number] = short if short > LENGTH_EPS_MM else NOTHING
        self.seen = len(self.known)
        found = np.full(len(self.counts), NOTHING)
        filled = np.flatnonzero(self.counts)
        if len(filled):
            starts = np.cumsum(self.counts) - self.counts
            found[filled] = np.maximum.reduceat(self.bounds_mm[self.solids], starts[filled])
        found[found == NOTHING] = np.inf
        return found


def _far_boxes(own: Tolerant, options: Indices) -> tuple[Indices, Boxes, Indices]:
    """Return the places that options have, the boxes that solids never pass there, and which of
    the options that these are made of each is."""
    used, rows = np.unique(options, return_inverse=True)
    held, lists = own.lists.some(used).of_used()
    sides = np.ascontiguousarray(own.far(held).T)
    each = np.arange(len(held) + 1, dtype=np.intp)
    return held, Boxes(sides, own.role(held), Lists(each[:-1], each), lists), rows


def _near(boxes: Sequence[Boxes], every: BoxPairs, margins: Floats) -> tuple[BoxPairs, Floats]:
    """Return the pairs of boxes that may come too near each other, and the gaps that they need."""
    one, other = boxes
    need = margins[one.role[every.i], other.role[every.j]]
    gaps = gaps_between(one.sides[:, every.i], other.sides[:, every.j])
    apart = (gaps > 0.0) & (gaps >= need - LENGTH_EPS_MM)
    near = np.flatnonzero(~apart & ~np.isnan(need))
    counts = np.bincount(every.pair[near], minlength=len(every.counts))
    return BoxPairs(every.i[near], every.j[near], counts), need[near]


def _least_missing(
    both: tuple[Tolerant, Tolerant], places: tuple[Indices, Indices], need: Floats
) -> Floats:
    """Return what at least is missing between solids at some places; 0 where that is not known."""
    counts = FacePairs.counts(*both, *places)
    missing = least_missing(FacePairs.of(*both, *places, need))
    out = np.zeros(len(need))
    np.maximum.at(out, np.repeat(np.arange(len(need)), counts), missing)
    return out
