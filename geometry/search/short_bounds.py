"""Between which figures the shortfall of every pair of options lies, by interval tests alone.

Shortfall is the gap to keep less the gap that is there, minus the parting shift where room is
shared; negative where more is left than asked for. Growing a prism never adds to its gap, so the
largest box inside each gives the least that may be missing, and its bounds give the most, but
where prisms of one solid would have to be parted together. Dimensions are as drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.excluded_pairs import ExcludedPairs
from geometry.search.judging.steps import Steps
from geometry.search.judging.units import Lists, Makeup

UNITS_AT_ONCE = 2**18
"""So many pairs of units are bounded at once, so that little memory is taken however many there
are."""

UNITS_AT_FIRST = 2**13
"""So many are bounded at first, for the nearest are often among them."""

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
) -> Steps[PairBounds]:
    """Return in steps so many of the excluded pairs, those first of which the least may be missing.

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
    sizes = [boxes.sizes(starts) for boxes, starts in zip(inside, stacks, strict=True)]
    so_far = np.cumsum(sizes[0][pairs[order, 0]] * sizes[1][pairs[order, 1]])
    kept = PairBounds(np.zeros((0, 2), dtype=np.intp), np.zeros(0), np.zeros(0))
    looked_at = 0
    for chunk in _chunks(order, so_far):
        worst = kept.least_mm[-1] if len(kept.pairs) == count else np.inf
        if at_best[chunk[0]] > worst + SURE_MM:
            break
        for group in _groups(pairs[chunk], sizes):
            mine, theirs = np.unique(group[:, 0]), np.unique(group[:, 1])
            wanted = np.zeros((len(mine), len(theirs)), dtype=bool)
            wanted[np.searchsorted(mine, group[:, 0]), np.searchsorted(theirs, group[:, 1])] = True
            rows, columns = excluded.mine.of_stacks(mine), excluded.theirs.of_stacks(theirs)
            row_of = np.searchsorted(stacks[0][mine], rows, side="right") - 1
            column_of = np.searchsorted(stacks[1][theirs], columns, side="right") - 1
            beside = [boxes[1].some(columns) for boxes in (inside, around)]
            for span in _parts(rows, inside[0], len(beside[0].role)):
                some = rows[span]
                least = _short_mm(inside[0].some(some), beside[0], margins)
                asked = excluded.part(some, columns) & (least <= worst)
                asked &= wanted[row_of[span]][:, column_of]
                if asked.any():
                    most = _short_mm(around[0].some(some), beside[1], margins)
                    i, j = np.nonzero(asked & ((most > 0.0) | maybe(some, columns)))
                    found = np.stack([some[i], columns[j]], axis=1)
                    kept = kept.first(count, PairBounds(found, least[i, j], most[i, j]))
                    worst = kept.least_mm[-1] if len(kept.pairs) == count else np.inf
                yield looked_at / len(order)
        looked_at += len(chunk)
    return kept


def _chunks(order: Indices, so_far: Indices) -> Iterator[Indices]:
    """Yield what is looked at first, then the rest, the more at once the more was looked at.

    `so_far` has how many pairs of boxes there are up to each.
    """
    start, size = 0, UNITS_AT_FIRST
    while start < len(order):
        before = int(so_far[start - 1]) if start else 0
        stop = max(start + 1, int(np.searchsorted(so_far, before + size, side="right")))
        yield order[start:stop]
        start, size = stop, min(2 * size, UNITS_AT_ONCE)


def _groups(pairs: Indices, sizes: Sequence[Indices]) -> Iterator[Indices]:
    """Yield pairs of stacks, shape (n, 2), so that all of either side may be held together.

    All at once where they are few, else by the first of each pair.
    """
    together = [int(size[np.unique(side)].sum()) for size, side in zip(sizes, pairs.T, strict=True)]
    if together[0] * together[1] <= UNITS_AT_ONCE:
        yield pairs
        return
    for mine in np.unique(pairs[:, 0]).tolist():
        yield pairs[pairs[:, 0] == mine]


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
        """Return some of the options, with the boxes that they are made of, each once."""
        some = self.made_of.some(rows)
        held = np.zeros(len(self.role), dtype=bool)
        held[some.numbers] = True
        kept = np.flatnonzero(held)
        number = np.cumsum(held) - 1
        return _Boxes(self.bounds[kept], self.role[kept], Lists(number[some.numbers], some.starts))

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
        told = np.hstack([low, high, self.role[first.numbers][:, None]])
        boxes, numbers = np.unique(told, axis=0, return_inverse=True)
        made_of = Lists(numbers.ravel().astype(np.intp), first.starts)
        return _Boxes(boxes[:, :6], boxes[:, 6].astype(np.intp), made_of)


def _parts(rows: Indices, mine: _Boxes, theirs: int) -> Iterator[slice]:
    """Yield spans of rows that have not too many pairs of boxes with so many others."""
    counts = mine.made_of.starts[rows + 1] - mine.made_of.starts[rows]
    so_far = np.cumsum(counts) * max(1, theirs)
    heads = np.flatnonzero(np.diff(so_far // UNITS_AT_ONCE, prepend=-1))
    for start, stop in zip(heads.tolist(), [*heads[1:].tolist(), len(rows)], strict=True):
        yield slice(start, stop)


def _short_mm(a: _Boxes, b: _Boxes, margins: Floats) -> Floats:
    """Return what each pair of options is missing at most of all their boxes."""
    out = np.full((len(a), len(b)), NOTHING)
    every = np.arange(len(a), dtype=np.intp)
    for rows in _parts(every, a, len(b.role)):
        some = a.some(every[rows])
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
