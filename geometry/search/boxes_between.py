"""What boxes of options of two zones are missing between them, by interval tests alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.judging.units import Lists, Makeup
from geometry.search.solving.bits import alike

BOXES_AT_ONCE = 2**17
"""So many pairs of boxes are bounded at once, so that little memory is taken however many there
are."""

STACKS_OF_BEST = 2**10
"""Of so many stacks it is looked at once what lies inside their units at every slide."""

NOTHING = -np.inf
"""What is missing where nothing is judged."""


@dataclass(frozen=True, eq=False)
class Boxes:
    """Boxes with their roles, and the options that are made of them.

    `sides` has the bounds of each, shape (6, n).
    """

    sides: Floats
    role: Indices
    made_of: Lists

    @classmethod
    def inside(cls, makeup: Makeup, made_of: Lists) -> Boxes:
        """Return boxes inside the units of options, which are made of these."""
        sides = np.ascontiguousarray(makeup.units.prisms.inside.T)
        return cls(sides, makeup.units.role, made_of)

    @classmethod
    def around(cls, makeup: Makeup, made_of: Lists) -> Boxes:
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

    def at_best(self, stacks: Indices) -> Boxes:
        """Return for each stack what lies inside its units at every slide.

        A stack begins at each of some options, and all of one have the same units, one by one. It
        may be less than nothing: nothing is then nearer to anything than at some slide.
        """
        known: dict[bytes, int] = {}
        numbers = [np.zeros(0, dtype=np.int32)]
        ends = np.append(stacks, len(self))
        for first in range(0, len(stacks), STACKS_OF_BEST):
            some = ends[first : first + STACKS_OF_BEST + 1]
            boxes = self._at_best_of(some)
            heads, kind = alike(boxes.view(np.uint8))
            told = [known.setdefault(boxes[k].tobytes(), len(known)) for k in heads.tolist()]
            numbers.append(np.array(told, dtype=np.int32)[kind])
        every = np.frombuffer(b"".join(known)).reshape(-1, 7).T
        starts = np.concatenate([[0], np.cumsum(self.sizes[stacks])])
        made_of = Lists(np.concatenate(numbers), starts.astype(np.intp))
        return Boxes(every[:6], every[6].astype(np.intp), made_of)

    def _at_best_of(self, ends: Indices) -> Floats:
        """Return what lies inside the units of some stacks at every slide, one row for each unit.

        With its role behind its sides; the stacks are between the options in `ends`.
        """
        lists, options = self.made_of, np.arange(ends[0], ends[-1])
        own = slice(lists.starts[ends[0]], lists.starts[ends[-1]])
        sizes = self.sizes[options]
        option = np.repeat(options, sizes)
        within = np.arange(own.start, own.stop) - lists.starts[option]
        starts = np.concatenate([[0], np.cumsum(self.sizes[ends[:-1]])])
        unit = starts[np.searchsorted(ends, option, side="right") - 1] + within
        out = np.full((starts[-1], 7), np.inf)
        out[:, :3] = -np.inf
        numbers = lists.numbers[own]
        with np.errstate(invalid="ignore"):  # NaN, where no box inside is known, stays NaN
            for k, side in enumerate(self.sides):
                (np.maximum if k < 3 else np.minimum).at(out[:, k], unit, side[numbers])
        out[:, 6] = self.role[lists.some(ends[:-1]).numbers]
        return out


def parts_of_pairs(
    rows: Indices, columns: Indices, boxes: Sequence[Boxes]
) -> Iterator[tuple[Indices, Indices]]:
    """Yield some at a time of pairs of options, so that they have not too many pairs of boxes."""
    so_far = np.cumsum(boxes[0].sizes[rows] * boxes[1].sizes[columns])
    heads = np.flatnonzero(np.diff(so_far // BOXES_AT_ONCE)) + 1
    for part in np.split(np.arange(len(rows)), heads):
        yield rows[part], columns[part]


@dataclass(frozen=True, eq=False)
class BoxPairs:
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
        cls, boxes: Sequence[Boxes], pairs: tuple[Indices, Indices], margins: Floats
    ) -> BoxPairs:
        many = boxes[1].sizes[pairs[1]]
        counts = boxes[0].sizes[pairs[0]] * many
        pair = np.repeat(np.arange(len(counts)), counts)
        starts = np.cumsum(counts) - counts
        first, second = np.divmod(np.arange(len(pair)) - starts[pair], many[pair])
        ends = np.stack([first, second], axis=1)
        short = short_at(boxes, (pairs[0][pair], pairs[1][pair]), ends, margins)
        return cls(pair, starts, counts, first, second, short)

    def most(self) -> Floats:
        """Return what is missing most between each pair of options."""
        out = np.full(len(self.starts), NOTHING)
        filled = np.flatnonzero(self.counts)
        if len(filled):
            out[filled] = np.maximum.reduceat(self.short_mm, self.starts[filled])
        return out


def short_at(
    boxes: Sequence[Boxes], pairs: tuple[Indices, Indices], ends: Indices, margins: Floats
) -> Floats:
    """Return what some pairs of options are missing between one box of each, by places `ends`."""
    one, other = boxes
    i, j = one.at(pairs[0], ends[:, 0]), other.at(pairs[1], ends[:, 1])
    gaps = _gaps(one.sides[:, i], other.sides[:, j])
    short: Floats = margins[one.role[i], other.role[j]] - gaps
    short[np.isnan(short)] = NOTHING
    return short


def short_mm(a: Boxes, b: Boxes, margins: Floats) -> Iterator[tuple[int, Floats]]:
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
