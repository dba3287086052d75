"""Between which figures the shortfall of every pair of options lies, by interval tests alone.

Shortfall is the gap to keep less the gap that is there, minus the parting shift where room is
shared; negative where more is left than asked for. Growing a prism never adds to its gap, so the
largest box inside each gives the least that may be missing, and its bounds give the most, but
where prisms of one solid would have to be parted together. Dimensions are as drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.boxes_between import Boxes, BoxPairs, parts_of_pairs, short_at, short_mm
from geometry.search.excluded_pairs import ExcludedPairs
from geometry.search.judging.steps import Steps
from geometry.search.judging.units import Makeup
from geometry.search.solving.pair_table import PairTable

PAIRS_AT_FIRST = 2**12
PAIRS_AT_ONCE = 2**17
"""So many pairs of options are looked at at once; few at first, for the nearest are often among
them."""

STACKS_AT_ONCE = 2**18
"""So many pairs of stacks are put in order at once."""

SURE_MM = 1e-9
"""By more than this bounds must differ to tell for sure which is less."""

Maybe = Callable[[Indices, Indices], Bools]
"""Tells of some pairs of options of two groups which may be excluded though bounds are clear."""


@dataclass(frozen=True)
class PairBounds:
    """Pairs of options by number, shape (n, 2), and what at least and by bounds is missing (mm).

    The pair first of which the least may be missing.
    """

    pairs: Indices
    least_mm: Floats
    most_mm: Floats

    def some(self, keep: Bools) -> PairBounds:
        """Return some of them."""
        return PairBounds(self.pairs[keep], self.least_mm[keep], self.most_mm[keep])

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
    sizes = [group.stack_sizes for group in (excluded.mine, excluded.theirs)]
    made_of = [makeup.lists for makeup in makeups]
    inside = [Boxes.inside(*one) for one in zip(makeups, made_of, strict=True)]
    around = [Boxes.around(*one) for one in zip(makeups, made_of, strict=True)]
    best = [boxes.at_best(starts) for boxes, starts in zip(inside, stacks, strict=True)]
    kept = PairBounds(np.zeros((0, 2), dtype=np.intp), np.zeros(0), np.zeros(0))
    share = 0.0
    for near in _nearest_stacks(best, excluded.stacks, margins):
        mine, theirs = near.pairs.T
        many = sizes[0][mine] * sizes[1][theirs] + best[0].sizes[mine] * best[1].sizes[theirs]
        for chunk in _chunks(np.cumsum(many)):
            worst = kept.least_mm[-1] if len(kept.pairs) == count else np.inf
            if near.at_best_mm[chunk.start] > worst + SURE_MM:
                return kept
            pairs = near.pairs[chunk]
            ends = _decisive(best, pairs, margins)
            for pair, rows, columns in _options_of(pairs, stacks, sizes):
                meet = excluded.each(rows, columns)
                told = np.flatnonzero(meet & (ends[pair, 0] >= 0))
                of_two = short_at(inside, (rows[told], columns[told]), ends[pair[told]], margins)
                meet[told] = of_two <= worst
                for some in parts_of_pairs(rows[meet], columns[meet], inside):
                    bounds = _bounds(inside, around, some, margins, worst)
                    asked = (bounds.most_mm > 0.0) | maybe(*bounds.pairs.T)
                    kept = kept.first(count, bounds.some(asked))
                    worst = kept.least_mm[-1] if len(kept.pairs) == count else np.inf
                    yield share + (near.share - share) * chunk.start / len(near.pairs)
        share = near.share
    return kept


@dataclass(frozen=True, eq=False)
class _StackPairs:
    """Pairs of stacks by number, shape (n, 2), and what at best is missing between them (mm).

    The nearest first; with them so much (0 to 1) of all pairs was looked at.
    """

    pairs: Indices
    at_best_mm: Floats
    share: float

    @classmethod
    def first(cls, parts: Sequence[tuple[Indices, Floats]], count: int) -> _StackPairs:
        """Return the first so many of some pairs, and those that are as near as the last of them.

        `share` is nothing yet.
        """
        pairs = np.concatenate([pairs for pairs, _ in parts])
        at_best_mm = np.concatenate([mm for _, mm in parts])
        order = np.argsort(at_best_mm, kind="stable")
        at_best_mm = at_best_mm[order]
        if len(order) > count:
            count = int(np.searchsorted(at_best_mm, at_best_mm[count - 1], side="right"))
        return cls(pairs[order[:count]], at_best_mm[:count], 0.0)


def _nearest_stacks(
    best: Sequence[Boxes], excluded: PairTable, margins: Floats
) -> Iterator[_StackPairs]:
    """Yield pairs of stacks of which some slides exclude each other, the nearest first.

    So many at a time that they take little memory, however many there are.
    """
    of, seen, beyond = excluded.count, 0, -np.inf
    columns = np.arange(len(best[1]), dtype=np.intp)
    while seen < of:
        parts: list[tuple[Indices, Floats]] = []
        for start, at_best in short_mm(best[0], best[1], margins):
            rows = np.arange(start, start + len(at_best), dtype=np.intp)
            met = excluded.part(rows, columns) & ((at_best > beyond) | (seen == 0))
            i, j = np.nonzero(met)
            parts.append((np.stack([i + start, j], axis=1), at_best[i, j]))
            if sum(len(mm) for _, mm in parts) > 2 * STACKS_AT_ONCE:
                near = _StackPairs.first(parts, STACKS_AT_ONCE)
                parts = [(near.pairs, near.at_best_mm)]
        near = _StackPairs.first(parts, STACKS_AT_ONCE)
        seen += len(near.pairs)
        beyond = near.at_best_mm[-1]
        yield replace(near, share=seen / of)


def _chunks(so_far: Indices) -> Iterator[slice]:
    """Yield what is looked at first, then the rest, the more at once the more was looked at.

    `so_far` has how many pairs of options and of boxes at best there are up to each.
    """
    start, size = 0, PAIRS_AT_FIRST
    while start < len(so_far):
        before = int(so_far[start - 1]) if start else 0
        stop = max(start + 1, int(np.searchsorted(so_far, before + size, side="right")))
        yield slice(start, stop)
        start, size = stop, min(2 * size, PAIRS_AT_ONCE)


def _options_of(
    pairs: Indices, stacks: Sequence[Indices], sizes: Sequence[Indices]
) -> Iterator[tuple[Indices, Indices, Indices]]:
    """Yield the pairs of options of some pairs of stacks, and which pair of these each is of.

    The options of a stack, so many as `sizes` has, stand one after the other from `stacks` on.
    """
    mine, theirs = pairs.T
    ends = np.cumsum(sizes[0][mine] * sizes[1][theirs])
    for start in range(0, int(ends[-1]), PAIRS_AT_ONCE):
        every = np.arange(start, min(start + PAIRS_AT_ONCE, int(ends[-1])), dtype=np.intp)
        pair = np.searchsorted(ends, every, side="right")
        many = sizes[1][theirs[pair]]
        before = ends[pair] - sizes[0][mine[pair]] * many
        row, column = np.divmod(every - before, many)
        yield pair, stacks[0][mine[pair]] + row, stacks[1][theirs[pair]] + column


def _bounds(
    inside: Sequence[Boxes],
    around: Sequence[Boxes],
    pairs: tuple[Indices, Indices],
    margins: Floats,
    worst: float,
) -> PairBounds:
    """Return the bounds of some pairs of options, of those that may be missing no more."""
    least = BoxPairs.of(inside, pairs, margins).most()
    near = least <= worst
    some = pairs[0][near], pairs[1][near]
    most = BoxPairs.of(around, some, margins).most()
    return PairBounds(np.stack(some, axis=1), least[near], most)


def _decisive(boxes: Sequence[Boxes], pairs: Indices, margins: Floats) -> Indices:
    """Return by place which boxes of some pairs of stacks miss most, shape (pairs, 2).

    What is missing between these alone tells of most slides that they are not the nearest. Less
    than 0 where a stack has no boxes.
    """
    out = np.full((len(pairs), 2), -1, dtype=np.intp)
    start = 0
    for some in parts_of_pairs(pairs[:, 0], pairs[:, 1], boxes):
        every = BoxPairs.of(boxes, some, margins)
        most = np.flatnonzero(every.short_mm == every.most()[every.pair])
        filled, heads = np.unique(every.pair[most], return_index=True)
        out[start + filled, 0] = every.first[most[heads]]
        out[start + filled, 1] = every.second[most[heads]]
        start += len(some[0])
    return out
