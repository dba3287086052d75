"""Between which figures the shortfall of every pair of options lies, by interval tests alone.

Shortfall is the gap to keep less the gap that is there, minus the parting shift where room is
shared; negative where more is left than asked for. Growing a prism never adds to its gap, so the
largest box inside each gives the least that may be missing, and its bounds give the most, but
where prisms of one solid would have to be parted together. Dimensions are as drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from math import gcd

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.boxes_between import Boxes, most_short_mm, parts_of_pairs
from geometry.search.judging.units import Makeup
from geometry.search.long_work import Steps, share_of, told_as
from geometry.search.missing_more import MissingMore
from geometry.search.solving.bits import Bits
from geometry.search.solving.pair_table import PairTable

MOST_PAIRS = 2**32
"""So many pairs of options of two groups are looked at; where there are more, those of some options
that are spread evenly over the group."""

PAIRS_AT_FIRST = 2**12
"""So many pairs of options are looked at first, of options spread over the group, then some times
as many, so that of all others few are left that may be nearer."""

TIMES_AS_MANY = 8

ROWS_AT_ONCE = 2**14
"""Of so many options that stand one after the other it is found at once what they miss."""

FOUND_AT_ONCE = 2**30
"""Of fewer where these have more pairs with the other group: some bits are held of each pair."""

PAIRS_AT_ONCE = 2**23
"""So many pairs of options are looked at between two words of how far it has come."""

BOUNDED_AT_ONCE = 2**16
"""So many of these are bounded before it is found anew which others may be nearer."""

FEW_PAIRS = 2**12
"""Of more pairs those that bounds show to be clear are left out before they are bounded."""

MOST_ALIKE, MOST_BOUNDED = 2**14, 2**17
"""Once so many pairs are bounded, those are not any more that may miss as much as the last that is
kept: first where that misses no more by bounds, so that they are no better, then anywhere."""


@dataclass(frozen=True)
class PairBounds:
    """Pairs of options by number, shape (n, 2), and what at least and by bounds is missing (mm).

    The pair first of which the least may be missing. `every` tells that all pairs were looked at.
    """

    pairs: Indices = field(default_factory=lambda: np.zeros((0, 2), dtype=np.intp))
    least_mm: Floats = field(default_factory=lambda: np.zeros(0))
    most_mm: Floats = field(default_factory=lambda: np.zeros(0))
    every: bool = True

    def first(self, count: int, more: PairBounds) -> PairBounds:
        """Return the first of these and others."""
        pairs = np.concatenate([self.pairs, more.pairs])
        least = np.concatenate([self.least_mm, more.least_mm])
        most = np.concatenate([self.most_mm, more.most_mm])
        order = np.lexsort((pairs[:, 1], pairs[:, 0], most, least))[:count]
        return PairBounds(pairs[order], least[order], most[order], self.every and more.every)


def nearest_pairs(
    makeups: tuple[Makeup, Makeup],
    never: PairTable,
    margins: Floats,
    count: int,
    *,
    maybe: bool = False,
    below_mm: float = np.inf,
    at_most: float = np.inf,
) -> Steps[PairBounds]:
    """Return in steps so many of the excluded pairs, those first of which the least may be missing.

    `never` tells which options exclude each other. Left out are those that bounds show to be clear,
    but where they may be excluded all the same, `maybe`, and those that miss `below_mm` or more.
    Once `at_most` so many pairs are bounded no more are.
    """
    turned = makeups[0].size < makeups[1].size
    many, few = makeups[::-1] if turned else makeups
    pairs = never.turned() if turned else never
    nearest = _Nearest(
        many, few, pairs, margins, count, below_mm, at_most, maybe=maybe, turned=turned
    )
    yield from nearest.looking()
    return nearest.kept


@dataclass(eq=False)
class _Nearest:
    """Looks for the nearest excluded pairs of options of two groups, of which one has `many`.

    Where they are `turned` the few are the first of each pair. So many pairs were `bounded`.
    """

    many: Makeup
    few: Makeup
    never: PairTable
    margins: Floats
    count: int
    below_mm: float
    at_most: float
    maybe: bool
    turned: bool
    bounded: int = 0
    kept: PairBounds = field(default_factory=PairBounds)

    def looking(self) -> Steps[None]:
        """Keep in steps the nearest of all pairs."""
        rows = _spread(self.many.size)[: max(1, MOST_PAIRS // self.few.size)]
        done = 0
        at_first, at_most = (
            max(1, pairs // self.few.size) for pairs in (PAIRS_AT_FIRST, FOUND_AT_ONCE)
        )
        for some in _some_of(rows, at_first, min(ROWS_AT_ONCE, at_most)):
            span = done / len(rows), (done + len(some)) / len(rows)
            yield from told_as(self._look_at(some), partial(share_of, span))
            done += len(some)
        if len(rows) < self.many.size or self._is_enough:
            self.kept = replace(self.kept, every=False)

    @property
    def _beyond_mm(self) -> float:
        """What misses more than that (mm) is not among the nearest."""
        if len(self.kept.pairs) < self.count:
            return float(np.nextafter(self.below_mm, -np.inf))
        worst, most = float(self.kept.least_mm[-1]), float(self.kept.most_mm[-1])
        enough = MOST_ALIKE if most <= worst else MOST_BOUNDED
        return worst if self.bounded < enough else float(np.nextafter(worst, -np.inf))

    @property
    def _is_enough(self) -> bool:
        """Whether so many pairs are bounded that no more are."""
        return self.bounded >= self.at_most

    @property
    def _is_settled(self) -> bool:
        """Whether nothing that is bounded yet could be nearer, or is looked at."""
        settled = self._beyond_mm == -np.inf and self.bounded >= MOST_BOUNDED
        return settled or self._is_enough

    @cached_property
    def _inside(self) -> Boxes:
        return Boxes.inside(self.few)

    @cached_property
    def _around(self) -> Boxes:
        return Boxes.around(self.few)

    def _look_at(self, rows: Indices) -> Steps[None]:
        """Keep in steps the nearest pairs of some of the many, too."""
        some, start = self.many.some(rows), 0
        inside, around = (Boxes.inside(some), self._inside), (Boxes.around(some), self._around)
        farther: MissingMore | None = None
        meeting: MissingMore | None = None
        while start < len(rows) and not self._is_settled:
            share = start / len(rows)
            still = partial(share_of, (share, share))
            if farther is None:
                finding = MissingMore.of(*inside, self.margins, self._beyond_mm)
                farther = yield from told_as(finding, still)
            stop = min(start + max(1, PAIRS_AT_ONCE // self.few.size), len(rows))
            near = self._excluded(rows[start:stop])
            near.rows[:] &= ~farther.rows(start, stop)
            if not self.maybe and near.counts().sum() > FEW_PAIRS:
                if meeting is None:
                    meeting = yield from told_as(MissingMore.of(*around, self.margins, 0.0), still)
                near.rows[:] &= meeting.rows(start, stop)
            so_far = np.cumsum(near.counts())
            after = start + max(1, int(np.searchsorted(so_far, BOUNDED_AT_ONCE, side="right")))
            row, column = _places(near, min(after, stop) - start)
            for _ in self._bounding(rows[start + row], column):
                yield share
            # Where there are too many, others are left out by what is known now.
            farther = farther if after >= stop else None
            start = min(after, stop)
            yield start / len(rows)

    def _excluded(self, rows: Indices) -> Bits:
        """Return with which of the few some of the many never stand."""
        used, place = np.unique(self.never.rows[rows], return_inverse=True)
        return self.never.cells.some(used).spread(self.never.columns).some(place)

    def _bounding(self, rows: Indices, columns: Indices) -> Iterator[None]:
        """Keep the nearest of some pairs, too, some at a time."""
        used, mine = np.unique(rows, return_inverse=True)
        beside, theirs = np.unique(columns, return_inverse=True)
        made_of = self.many.some(used), self.few.some(beside)
        inside = [Boxes.inside(makeup) for makeup in made_of]
        around = [Boxes.around(makeup) for makeup in made_of]
        for some in parts_of_pairs(mine, theirs, inside):
            least = most_short_mm(inside, some, self.margins)
            near = np.flatnonzero(least <= self._beyond_mm)
            a, b = some[0][near], some[1][near]
            most = most_short_mm(around, (a, b), self.margins)
            asked = (most > 0.0) | self.maybe
            pairs = np.stack([used[a], beside[b]], axis=1)[:, :: -1 if self.turned else 1]
            found = PairBounds(pairs[asked], least[near[asked]], most[asked])
            self.kept = self.kept.first(self.count, found)
            self.bounded += len(some[0])
            yield


def _places(near: Bits, rows: int) -> tuple[Indices, Indices]:
    """Return the rows and columns of the first rows where they are true."""
    used = np.flatnonzero(near.rows[:rows].any(axis=1))
    row, column = np.nonzero(near.some(used).full())
    return used[row], column


def _spread(count: int) -> Indices:
    """Return so many numbers in an order in which any first of them are spread over all."""
    step = next(n for n in range(int(GOLDEN * count), count + 2) if gcd(n, count) == 1)
    found: Indices = np.arange(count, dtype=np.intp) * step % count
    return found


GOLDEN = (5**0.5 - 1) / 2
"""Steps by this share of a round come to lie evenly over it, however many they are, by the
three-distance theorem (V. T. Sos, 1958; from memory)."""


def _some_of(rows: Indices, at_first: int, at_most: int) -> Iterator[Indices]:
    """Yield the first of some rows, then some times as many, then the others in order, so many."""
    start, size = 0, at_first
    while start < len(rows) and size < at_most:
        yield rows[start : start + size]
        start, size = start + size, TIMES_AS_MANY * size
    others = np.sort(rows[start:])
    for first in range(0, len(others), at_most):
        yield others[first : first + at_most]
