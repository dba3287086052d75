"""Between which figures the shortfall of every pair of options lies, by interval tests alone.

Shortfall is the gap to keep less the gap that is there, minus the parting shift where room is
shared; negative where more is left than asked for. Growing a prism never adds to its gap, so the
largest box inside each gives the least that may be missing, and its bounds give the most, but
where prisms of one solid would have to be parted together. Dimensions are as drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.excluded_pairs import ExcludedPairs
from geometry.search.judging.units import Lists, Makeup

UNITS_AT_ONCE = 2**18
"""So many pairs of units are bounded at once, so that little memory is taken however many there
are."""

SURE_MM = 1e-9
"""By more than this bounds must differ to tell for sure which is less."""

NOTHING = -np.inf
"""What is missing where nothing is judged."""

Maybe = Callable[[Indices, Indices], Bools]
"""Tells of some options of two groups which pairs may be excluded though bounds are clear."""


@dataclass(frozen=True)
class PairBounds:
    """Pairs of options by number, shape (n, 2), and what at least and by bounds is missing (mm).

    The pair first of which the least may be missing.
    """

    pairs: Indices
    least_mm: Floats
    most_mm: Floats

    def first(self, count: int, more: PairBounds) -> PairBounds:
        """Return the first of these and others."""
        pairs = np.concatenate([self.pairs, more.pairs])
        least = np.concatenate([self.least_mm, more.least_mm])
        most = np.concatenate([self.most_mm, more.most_mm])
        order = np.lexsort((pairs[:, 1], pairs[:, 0], most, least))[:count]
        return PairBounds(pairs[order], least[order], most[order])


def nearest_pairs(
    makeups: tuple[Makeup, Makeup],
    excluded: ExcludedPairs,
    margins: Floats,
    maybe: Maybe,
    count: int,
) -> PairBounds:
    """Return so many of the excluded pairs, those first of which the least may be missing.

    Left out are those that bounds show to be clear, but for those that `maybe` are excluded all the
    same. Pairs of stacks are looked at one after the other, those first that some slides might
    bring nearest to standing together, until none could any more.
    """
    stacks = [group.stack_starts for group in (excluded.mine, excluded.theirs)]
    inside = [_Boxes.inside(makeup) for makeup in makeups]
    around = [_Boxes.around(makeup) for makeup in makeups]
    pairs = np.argwhere(excluded.stacks)
    best = [boxes.at_best(starts) for boxes, starts in zip(inside, stacks, strict=True)]
    at_best = _short_mm(best[0], best[1], margins)[pairs[:, 0], pairs[:, 1]]
    order = np.argsort(at_best, kind="stable")
    made_of = [boxes.sizes(starts) for boxes, starts in zip(inside, stacks, strict=True)]
    so_far = np.cumsum(made_of[0][pairs[order, 0]] * made_of[1][pairs[order, 1]])
    kept = PairBounds(np.zeros((0, 2), dtype=np.intp), np.zeros(0), np.zeros(0))
    for chunk in np.split(order, np.flatnonzero(np.diff(so_far // UNITS_AT_ONCE)) + 1):
        worst = kept.least_mm[-1] if len(kept.pairs) == count else np.inf
        if not len(chunk) or at_best[chunk[0]] > worst + SURE_MM:
            break
        for mine in np.unique(pairs[chunk, 0]).tolist():
            theirs = np.sort(pairs[chunk][pairs[chunk, 0] == mine, 1])
            rows = excluded.mine.of_stacks(np.array([mine]))
            columns = excluded.theirs.of_stacks(theirs)
            beside = [boxes[1].some(columns) for boxes in (inside, around)]
            for some in _parts(rows, inside[0], beside[0]):
                least = _short_mm(inside[0].some(some), beside[0], margins)
                asked = excluded.part(some, columns) & (least <= worst)
                if asked.any():
                    most = _short_mm(around[0].some(some), beside[1], margins)
                    i, j = np.nonzero(asked & ((most > 0.0) | maybe(some, columns)))
                    found = np.stack([some[i], columns[j]], axis=1)
                    kept = kept.first(count, PairBounds(found, least[i, j], most[i, j]))
    return kept


@dataclass(frozen=True, eq=False)
class _Boxes:
    """Boxes with their roles, and the options that are made of them."""

    bounds: Floats
    role: Indices
    made_of: Lists

    @classmethod
    def inside(cls, makeup: Makeup) -> _Boxes:
        """Return boxes inside the units of options."""
        return cls(makeup.units.prisms.inside, makeup.units.role, makeup.lists)

    @classmethod
    def around(cls, makeup: Makeup) -> _Boxes:
        """Return the bounds of the units of options."""
        return cls(makeup.units.bounds, makeup.units.role, makeup.lists)

    def __len__(self) -> int:
        return len(self.made_of.starts) - 1

    def some(self, rows: Indices) -> _Boxes:
        """Return some of the options."""
        some = self.made_of.some(rows)
        numbers = np.arange(len(some.numbers), dtype=np.intp)
        return _Boxes(
            self.bounds[some.numbers], self.role[some.numbers], Lists(numbers, some.starts)
        )

    def sizes(self, stacks: Indices) -> Indices:
        """Return how many boxes the options of each stack have together."""
        found: Indices = np.diff(np.append(self.made_of.starts[stacks], self.made_of.starts[-1]))
        return found

    def at_best(self, stacks: Indices) -> _Boxes:
        """Return for each stack what lies inside its units at every slide.

        A stack begins at each of some options, and all of one have the same units, one by one. It
        may be less than nothing: nothing is then nearer to anything than at some slide.
        """
        lists = self.made_of
        counts = np.diff(lists.starts)
        option = np.repeat(np.arange(len(counts)), counts)
        within = np.arange(len(lists.numbers)) - lists.starts[:-1][option]
        starts = np.concatenate([[0], np.cumsum(counts[stacks])])
        unit = starts[np.searchsorted(stacks, option, side="right") - 1] + within
        low, high = np.full((starts[-1], 3), -np.inf), np.full((starts[-1], 3), np.inf)
        np.maximum.at(low, unit, self.bounds[lists.numbers, :3])
        np.minimum.at(high, unit, self.bounds[lists.numbers, 3:])
        first = lists.some(stacks)
        numbers = np.arange(len(first.numbers), dtype=np.intp)
        return _Boxes(
            np.hstack([low, high]), self.role[first.numbers], Lists(numbers, first.starts)
        )


def _parts(rows: Indices, mine: _Boxes, theirs: _Boxes) -> Iterator[Indices]:
    """Yield rows, so many at once that they have not too many pairs of boxes with others."""
    boxes = mine.made_of.starts[rows[-1] + 1] - mine.made_of.starts[rows[0]]
    step = max(1, UNITS_AT_ONCE * len(rows) // max(1, int(boxes) * len(theirs.role)))
    for start in range(0, len(rows), step):
        yield rows[start : start + step]


def _short_mm(a: _Boxes, b: _Boxes, margins: Floats) -> Floats:
    """Return what each pair of options is missing at most of all their boxes."""
    out = np.full((len(a), len(b)), NOTHING)
    every = np.arange(len(a), dtype=np.intp)
    for rows in _parts(every, a, b) if len(a) else ():
        some = a.some(rows)
        short = margins[some.role[:, None], b.role[None, :]] - _gaps(some.bounds, b.bounds)
        short[np.isnan(short)] = NOTHING
        rows_of_a = _most(short, some.made_of)
        out[rows] = _most(np.ascontiguousarray(rows_of_a.T), b.made_of).T
    return out


def _gaps(a: Floats, b: Floats) -> Floats:
    """Return the signed gap of every pair of boxes; NaN where one of them is."""
    apart = np.full((len(a), len(b)), -np.inf)
    squared = np.zeros(apart.shape)
    for k in range(3):
        gap = np.maximum(b[None, :, k] - a[:, None, k + 3], a[:, None, k] - b[None, :, k + 3])
        np.maximum(apart, gap, out=apart)
        squared += np.maximum(gap, 0.0) ** 2
    return np.where(apart < 0.0, apart, np.sqrt(squared))


def _most(short: Floats, made_of: Lists) -> Floats:
    out = np.full((len(made_of.starts) - 1, short.shape[1]), NOTHING)
    filled = np.flatnonzero(np.diff(made_of.starts))
    if len(filled):
        numbers, starts = made_of.numbers, made_of.starts
        out[filled] = np.maximum.reduceat(short[numbers], starts[:-1][filled], axis=0)
    return out
