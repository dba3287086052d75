"""What boxes of options of two zones are missing between them, by interval tests alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.judging.units import Makeup
from geometry.search.solving.lists import Lists

BOXES_AT_ONCE = 2**17
"""So many pairs of boxes are bounded at once, so that little memory is taken however many there
are."""

NOTHING = -np.inf
"""What is missing where nothing is judged."""


@dataclass(frozen=True, eq=False)
class Boxes:
    """Boxes with their roles, the pieces that are made of them, and the options made of these.

    `sides` has the bounds of each, shape (6, n).
    """

    sides: Floats
    role: Indices
    pieces: Lists
    options: Lists

    @classmethod
    def inside(cls, makeup: Makeup) -> Boxes:
        """Return boxes inside the units of options."""
        sides = np.ascontiguousarray(makeup.units.prisms.inside.T)
        return cls(sides, makeup.units.role, makeup.pieces, makeup.options)

    @classmethod
    def around(cls, makeup: Makeup) -> Boxes:
        """Return the bounds of the units of options."""
        sides = np.ascontiguousarray(makeup.units.bounds.T)
        return cls(sides, makeup.units.role, makeup.pieces, makeup.options)

    def __len__(self) -> int:
        return len(self.options)

    @cached_property
    def made_of(self) -> Lists:
        """The boxes of each option, piece by piece: for few options only."""
        every = self.pieces.some(self.options.numbers)
        return Lists(every.numbers, every.starts[self.options.starts])

    @cached_property
    def sizes(self) -> Indices:
        """How many boxes each option has."""
        found: Indices = np.diff(self.made_of.starts)
        return found

    def at(self, options: Indices, places: Indices) -> Indices:
        """Return the box at a place of each of some options."""
        found: Indices = self.made_of.numbers[self.made_of.starts[options] + places]
        return found


def parts_of_pairs(
    rows: Indices, columns: Indices, boxes: Sequence[Boxes]
) -> Iterator[tuple[Indices, Indices]]:
    """Yield some at a time of pairs of options, so that they have not too many pairs of boxes."""
    so_far = np.cumsum(boxes[0].sizes[rows] * boxes[1].sizes[columns])
    heads = np.flatnonzero(np.diff(so_far // BOXES_AT_ONCE)) + 1
    for part in np.split(np.arange(len(rows)), heads):
        yield rows[part], columns[part]


def most_short_mm(
    boxes: Sequence[Boxes], pairs: tuple[Indices, Indices], margins: Floats
) -> Floats:
    """Return what is missing most of all boxes between each of some pairs of options."""
    between = BoxPairs.of(boxes, pairs)
    return between.most(between.short_mm(boxes, margins))


@dataclass(frozen=True, eq=False)
class BoxPairs:
    """All pairs of boxes `i`, `j` between pairs of options, `counts` of each of these."""

    i: Indices
    j: Indices
    counts: Indices

    @classmethod
    def of(cls, boxes: Sequence[Boxes], pairs: tuple[Indices, Indices]) -> BoxPairs:
        """Return those between some pairs of options: for few at once."""
        one, other = boxes
        many = other.sizes[pairs[1]]
        counts = one.sizes[pairs[0]] * many
        pair = np.repeat(np.arange(len(counts)), counts)
        starts = np.cumsum(counts) - counts
        first, second = np.divmod(np.arange(len(pair)) - starts[pair], many[pair])
        return cls(one.at(pairs[0][pair], first), other.at(pairs[1][pair], second), counts)

    @property
    def pair(self) -> Indices:
        """Between which pair of options each is."""
        return np.repeat(np.arange(len(self.counts)), self.counts)

    def short_mm(self, boxes: Sequence[Boxes], margins: Floats) -> Floats:
        """Return what is missing between each by the sides of the boxes."""
        one, other = boxes
        i, j = self.i, self.j
        gaps = gaps_between(one.sides[:, i], other.sides[:, j])
        short: Floats = margins[one.role[i], other.role[j]] - gaps
        short[np.isnan(short)] = NOTHING
        return short

    def most(self, figures: Floats) -> Floats:
        """Return the most of the figures between each pair of options."""
        out = np.full(len(self.counts), NOTHING)
        filled = np.flatnonzero(self.counts)
        if len(filled):
            starts = np.cumsum(self.counts) - self.counts
            out[filled] = np.maximum.reduceat(figures, starts[filled])
        return out


def gaps_between(a: Floats, b: Floats) -> Floats:
    """Return the signed gaps of boxes by their sides, of shapes that go together; NaN for NaN."""
    apart: Floats = np.maximum(b[0] - a[3], a[0] - b[3])
    squared = np.maximum(apart, 0.0) ** 2
    for k in (1, 2):
        gap = np.maximum(b[k] - a[k + 3], a[k] - b[k + 3])
        np.maximum(apart, gap, out=apart)
        squared += np.maximum(gap, 0.0) ** 2
    return np.where(apart < 0.0, apart, np.sqrt(squared))
