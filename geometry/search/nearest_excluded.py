"""The excluded pair of options of two groups that misses least, and whether that is sure.

Bounds by boxes say which pairs may miss least. What these miss is looked up among the gaps of their
solids, each measured once, so that only few pairs are placed and measured in full, as the check
does: one after the other those of which the least may be missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.excluded_pairs import ExcludedPairs
from geometry.search.judging.tolerant import worst_case_counts
from geometry.search.judging.units import role_margins
from geometry.search.long_work import Steps, share_of, told_as
from geometry.search.meetings import Meeting, Meetings
from geometry.search.problem import Problem
from geometry.search.short_at_worst import ShortAtWorst
from geometry.search.short_bounds import PairBounds, nearest_pairs

MOST_MEASURED = 60
"""So many pairs of options of two groups are placed and measured in full."""

MOST_GAPS = 12
"""So many gaps of their solids at worst are measured for these, each up to some hundredths of a
second, before no further pair is."""

BOUNDED_FIRST, MOST_BOUNDED = 2**6, 2**14
"""So many pairs of options are looked at first, those first of which bounds say that the least may
be missing; then so many of those that may miss less than what was found."""

MOST_PAIRS_AGAIN, MOST_BOUNDED_AGAIN = 2**22, 2**15
"""Where two groups have more pairs they are not looked at a second time, and then no more of them
are bounded."""

LOOKED_UP_AT_ONCE = 2**8
"""For so many pairs of options at once it is looked up what they miss."""

BOUNDING = 0.6
"""The share of the work on some pairs that is done when they are bounded."""


@dataclass(eq=False)
class NearestExcluded:
    """Looks for the excluded pair of options of two groups that misses least.

    `found` is what meets in the nearest pair that was measured, and its options by number; None
    where nothing of them meets. `sure` tells that no pair comes nearer, by the length tolerance.
    """

    problem: Problem
    zones: tuple[int, int]
    pairs: ExcludedPairs
    meetings: Meetings
    found: tuple[Meeting, tuple[int, int]] | None = None
    sure: bool = False
    measured: int = 0

    def __post_init__(self) -> None:
        self._gaps_before = len(self.meetings.known)
        one, other = (self.problem.zones[z] for z in self.zones)
        self._makeups = (
            one.makeup.some(self.pairs.mine.first), other.makeup.some(self.pairs.theirs.first)
        )  # fmt: skip
        # States of obstacles have no units, so nothing is known of them before they are measured.
        self._known = all(makeup.units.prisms for makeup in self._makeups)

    def looking(self) -> Steps[None]:
        """Find the nearest in steps."""
        for part, count in enumerate((BOUNDED_FIRST, MOST_BOUNDED)):
            begin, bounded, end = ((part + done) / 2 for done in (0.0, BOUNDING, 1.0))
            bounds = yield from told_as(self._bounding(count), partial(share_of, (begin, bounded)))
            looking = told_as(self._look_at(bounds), partial(share_of, (bounded, end)))
            settled = yield from looking
            if not settled:
                return
            # All that were not kept may miss no less than the last of those that were.
            kept_all = len(bounds.pairs) < count
            if kept_all or float(bounds.least_mm[-1]) >= self._enough_mm:
                self.sure = bounds.every
                return
            if self.pairs.of > MOST_PAIRS_AGAIN:
                return

    @property
    def _enough_mm(self) -> float:
        """What misses so much (mm) is no nearer than what was found."""
        return np.inf if self.found is None else self.found[0].short_mm - LENGTH_EPS_MM

    @property
    def _has_measured_enough(self) -> bool:
        gaps = len(self.meetings.known) - self._gaps_before
        return self.measured >= MOST_MEASURED or gaps >= MOST_GAPS

    def _bounding(self, count: int) -> Steps[PairBounds]:
        """Return in steps so many of those that may be nearer than what was found."""
        base = self.problem.base.scene.layout
        # What bounds say is clear is excluded for what may be off, or by what was asked for.
        maybe = not self._known or worst_case_counts(base, self.problem.wishes)
        margins, enough_mm = role_margins(base.settings), self._enough_mm
        at_most = np.inf if count == BOUNDED_FIRST else MOST_BOUNDED_AGAIN
        return nearest_pairs(
            self._makeups, self.pairs.never, margins, count,
            maybe=maybe, below_mm=enough_mm, at_most=at_most,
        )  # fmt: skip

    def _look_at(self, bounds: PairBounds) -> Steps[bool]:
        """Look in steps for nearer ones among some pairs; return whether no more is to be done."""
        firsts = self.pairs.mine.first, self.pairs.theirs.first
        pairs = np.stack([firsts[side][bounds.pairs[:, side]] for side in (0, 1)], axis=1)
        for start in range(0, len(pairs), LOOKED_UP_AT_ONCE):
            some = slice(start, start + LOOKED_UP_AT_ONCE)
            if bounds.least_mm[start] >= self._enough_mm:
                return True
            done = start / len(pairs)
            looking = self._look_at_some(pairs[some], bounds.least_mm[some])
            settled = yield from told_as(looking, partial(share_of, (done, done)))
            if not settled:
                return False
        return True

    def _look_at_some(self, pairs: Indices, least_mm: Floats) -> Steps[bool]:
        """Measure some pairs of options while one may be nearer; return whether none is left."""
        least_mm, clear = least_mm.copy(), np.zeros(len(pairs), dtype=bool)
        at_worst: ShortAtWorst | None = None
        if self._known:
            looking_up = self.meetings.units.most_short_mm(pairs, self._enough_mm)
            short_mm = yield from told_as(looking_up, lambda _: 0.0)
            least_mm = np.where(short_mm > 2 * LENGTH_EPS_MM, short_mm, 0.0)
            clear = short_mm < LENGTH_EPS_MM / 2
            # Nothing meets as drawn, and at worst what is not known yet.
            least_mm[clear] = np.inf
            at_worst = self.meetings.at_worst(pairs[clear])
        measured = np.zeros(len(pairs), dtype=bool)
        while True:
            if at_worst is not None:
                least_mm[clear] = at_worst.least_mm()
            least_mm[measured] = np.inf
            nearest = int(least_mm.argmin())
            if least_mm[nearest] >= self._enough_mm:
                return True
            if self._has_measured_enough:
                return False
            yield 0.0
            measured[nearest] = True
            self._measure(pairs[nearest])

    def _measure(self, pair: Indices) -> None:
        """Measure a pair of options in full; keep it where it is nearer."""
        numbers = int(pair[0]), int(pair[1])
        met = self.meetings.meeting(numbers, self._enough_mm)
        self.measured += 1
        if met is not None and met.short_mm < self._enough_mm:
            self.found = met, numbers
