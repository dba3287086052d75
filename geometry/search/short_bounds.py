"""Between which figures the shortfall of every pair of options lies, by interval tests alone.

Shortfall is the gap to keep less the gap that is there, minus the parting shift where room is
shared; negative where more is left than asked for. Growing a prism never adds to its gap, so the
largest box inside each gives the least that may be missing, and its bounds give the most, but
where prisms of one solid would have to be parted together. Dimensions are as drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.excluded_pairs import ExcludedPairs
from geometry.search.judging.steps import Steps
from geometry.search.judging.units import Lists, Makeup

BOXES_AT_ONCE = 2**17
"""So many pairs of boxes are bounded at once, so that little memory is taken however many there
are."""

PAIRS_AT_FIRST = 2**12
PAIRS_AT_ONCE = 2**17
"""So many pairs of options are looked at at once; few at first, for the nearest are often among
them."""

STACKS_AT_ONCE = 2**20
"""So many pairs of stacks are put in order at once."""

SURE_MM = 1e-9
"""By more than this bounds must differ to tell for sure which is less."""

NOTHING = -np.inf
"""What is missing where nothing is judged."""

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
    inside = [_Boxes.inside(*one) for one in zip(makeups, made_of, strict=True)]
    around = [_Boxes.around(*one) for one in zip(makeups, made_of, strict=True)]
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
                of_two = _short_at(inside, (rows[told], columns[told]), ends[pair[told]], margins)
                meet[told] = of_two <= worst
                for some in _parts_of_pairs(rows[meet], columns[meet], inside):
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
    best: Sequence[_Boxes], excluded: Bools, margins: Floats
) -> Iterator[_StackPairs]:
    """Yield pairs of stacks of which some slides exclude each other, the nearest first.

    So many at a time that they take little memory, however many there are.
    """
    of, seen, beyond = int(np.count_nonzero(excluded)), 0, -np.inf
    while seen < of:
        parts: list[tuple[Indices, Floats]] = []
        for start, at_best in _short_mm(best[0], best[1], margins):
            met = excluded[start : start + len(at_best)] & ((at_best > beyond) | (seen == 0))
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


@dataclass(frozen=True, eq=False)
class _Boxes:
    """Boxes with their roles, and the options that are made of them.

    `sides` has the bounds of each, shape (6, n).
    """

    sides: Floats
    role: Indices
    made_of: Lists

    @classmethod
    def inside(cls, makeup: Makeup, made_of: Lists) -> _Boxes:
        """Return boxes inside the units of options, which are made of these."""
        sides = np.ascontiguousarray(makeup.units.prisms.inside.T)
        return cls(sides, makeup.units.role, made_of)

    @classmethod
    def around(cls, makeup: Makeup, made_of: Lists) -> _Boxes:
        """Return the bounds of the units of options."""
        return cls(np.ascontiguousarray(makeup.units.bounds.T), makeup.units.role, made_of)

    def __len__(self) -> int:
        return len(self.made_of.starts) - 1

    @cached_property
    def sizes(self) -> Indices:
        """How many boxes each option has."""
        found: Indices = np.diff(self.made_of.starts)
        return found

    def at(self, options: Indices, places: Indices) -> Indices:
        """Return the box at a place of each of some options."""
        found: Indices = self.made_of.numbers[self.made_of.starts[options] + places]
        return found

    def at_best(self, stacks: Indices) -> _Boxes:
        """Return for each stack what lies inside its units at every slide.

        A stack begins at each of some options, and all of one have the same units, one by one. It
        may be less than nothing: nothing is then nearer to anything than at some slide.
        """
        lists = self.made_of
        option = np.repeat(np.arange(len(self)), self.sizes)
        within = np.arange(len(lists.numbers)) - lists.starts[:-1][option]
        starts = np.concatenate([[0], np.cumsum(self.sizes[stacks])])
        unit = starts[np.searchsorted(stacks, option, side="right") - 1] + within
        sides = np.full((6, starts[-1]), np.inf)
        sides[:3] = -np.inf
        with np.errstate(invalid="ignore"):  # NaN, where no box inside is known, stays NaN
            for k, side in enumerate(self.sides):
                (np.maximum if k < 3 else np.minimum).at(sides[k], unit, side[lists.numbers])
        first = lists.some(stacks)
        told = np.vstack([sides, self.role[first.numbers]])
        boxes, numbers = np.unique(told, axis=1, return_inverse=True)
        made_of = Lists(numbers.ravel().astype(np.intp), first.starts)
        return _Boxes(boxes[:6], boxes[6].astype(np.intp), made_of)


def _parts_of_pairs(
    rows: Indices, columns: Indices, boxes: Sequence[_Boxes]
) -> Iterator[tuple[Indices, Indices]]:
    """Yield some at a time of pairs of options, so that they have not too many pairs of boxes."""
    so_far = np.cumsum(boxes[0].sizes[rows] * boxes[1].sizes[columns])
    heads = np.flatnonzero(np.diff(so_far // BOXES_AT_ONCE)) + 1
    for part in np.split(np.arange(len(rows)), heads):
        yield rows[part], columns[part]


def _bounds(
    inside: Sequence[_Boxes],
    around: Sequence[_Boxes],
    pairs: tuple[Indices, Indices],
    margins: Floats,
    worst: float,
) -> PairBounds:
    """Return the bounds of some pairs of options, of those that may be missing no more."""
    least = _BoxPairs.of(inside, pairs, margins).most()
    near = least <= worst
    some = pairs[0][near], pairs[1][near]
    most = _BoxPairs.of(around, some, margins).most()
    return PairBounds(np.stack(some, axis=1), least[near], most)


@dataclass(frozen=True, eq=False)
class _BoxPairs:
    """All pairs of boxes of some pairs of options, one after the other: which, and what is missing.

    `pair` numbers the pair of options, of which there are so many as `starts`, and of their boxes
    the `first` of the one, by place, is beside the `second` of the other.
    """

    pair: Indices
    starts: Indices
    counts: Indices
    first: Indices
    second: Indices
    short_mm: Floats

    @classmethod
    def of(
        cls, boxes: Sequence[_Boxes], pairs: tuple[Indices, Indices], margins: Floats
    ) -> _BoxPairs:
        many = boxes[1].sizes[pairs[1]]
        counts = boxes[0].sizes[pairs[0]] * many
        pair = np.repeat(np.arange(len(counts)), counts)
        starts = np.cumsum(counts) - counts
        first, second = np.divmod(np.arange(len(pair)) - starts[pair], many[pair])
        ends = np.stack([first, second], axis=1)
        short = _short_at(boxes, (pairs[0][pair], pairs[1][pair]), ends, margins)
        return cls(pair, starts, counts, first, second, short)

    def most(self) -> Floats:
        """Return what is missing most between each pair of options."""
        out = np.full(len(self.starts), NOTHING)
        filled = np.flatnonzero(self.counts)
        if len(filled):
            out[filled] = np.maximum.reduceat(self.short_mm, self.starts[filled])
        return out


def _decisive(boxes: Sequence[_Boxes], pairs: Indices, margins: Floats) -> Indices:
    """Return by place which boxes of some pairs of stacks miss most, shape (pairs, 2).

    What is missing between these alone tells of most slides that they are not the nearest. Less
    than 0 where a stack has no boxes.
    """
    out = np.full((len(pairs), 2), -1, dtype=np.intp)
    start = 0
    for some in _parts_of_pairs(pairs[:, 0], pairs[:, 1], boxes):
        every = _BoxPairs.of(boxes, some, margins)
        most = np.flatnonzero(every.short_mm == every.most()[every.pair])
        filled, heads = np.unique(every.pair[most], return_index=True)
        out[start + filled, 0] = every.first[most[heads]]
        out[start + filled, 1] = every.second[most[heads]]
        start += len(some[0])
    return out


def _short_at(
    boxes: Sequence[_Boxes], pairs: tuple[Indices, Indices], ends: Indices, margins: Floats
) -> Floats:
    """Return what some pairs of options are missing between one box of each, by places `ends`."""
    one, other = boxes
    i, j = one.at(pairs[0], ends[:, 0]), other.at(pairs[1], ends[:, 1])
    gaps = _gaps(one.sides[:, i], other.sides[:, j])
    short: Floats = margins[one.role[i], other.role[j]] - gaps
    short[np.isnan(short)] = NOTHING
    return short


def _short_mm(a: _Boxes, b: _Boxes, margins: Floats) -> Iterator[tuple[int, Floats]]:
    """Yield what pairs of options are missing at most of all their boxes, some rows at a time.

    With the number of the first row; a row has all of `b`.
    """
    step = max(1, BOXES_AT_ONCE // max(1, len(b.role)))
    heads = np.flatnonzero(np.diff(a.made_of.starts[1:] // step, prepend=-1))
    for start, stop in zip(heads.tolist(), [*heads[1:].tolist(), len(a)], strict=True):
        some = a.made_of.some(np.arange(start, stop, dtype=np.intp))
        used, numbers = np.unique(some.numbers, return_inverse=True)
        gaps = _gaps(a.sides[:, used, None], b.sides[:, None])
        short = margins[a.role[used][:, None], b.role] - gaps
        short[np.isnan(short)] = NOTHING
        rows_of_a = _most(short, Lists(numbers, some.starts))
        yield start, _most(np.ascontiguousarray(rows_of_a.T), b.made_of).T


def _gaps(a: Floats, b: Floats) -> Floats:
    """Return the signed gaps of boxes by their sides, of shapes that go together; NaN for NaN."""
    apart: Floats = np.maximum(b[0] - a[3], a[0] - b[3])
    squared = np.maximum(apart, 0.0) ** 2
    for k in (1, 2):
        gap = np.maximum(b[k] - a[k + 3], a[k] - b[k + 3])
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
