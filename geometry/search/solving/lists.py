"""Lists of whole numbers one after the other: of what each of many options is made.

A list of Python numbers each would take ten times the memory, and a loop over them the time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.solving.bits import Bytes

Whole = npt.NDArray[np.signedinteger]
"""Whole numbers of any size: those of millions are held in four bytes each."""

LISTS_AT_ONCE = 2**15
"""So many lists are taken or put in order at once, some hundreds of bytes each."""


@dataclass(frozen=True, eq=False)
class Lists:
    """Lists of numbers one after the other; `k` is `numbers[starts[k] : starts[k + 1]]`."""

    numbers: Whole
    starts: Indices

    @classmethod
    def of(cls, lists: Sequence[Sequence[int]]) -> Lists:
        """Return some lists one after the other."""
        starts = np.cumsum([0, *(len(one) for one in lists)])
        numbers = np.array([n for one in lists for n in one], dtype=np.int32)
        return cls(numbers, starts.astype(np.intp))

    @classmethod
    def joined(cls, parts: Sequence[Lists], sizes: Sequence[int]) -> Lists:
        """Return the lists of several together, which number so many things each."""
        before = np.cumsum([0, *sizes])
        numbers = [part.numbers + np.int32(at) for part, at in zip(parts, before, strict=False)]
        counts = np.concatenate([np.diff(part.starts) for part in parts])
        starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)
        return cls(np.concatenate(numbers), starts)

    def __len__(self) -> int:
        return len(self.starts) - 1

    def one(self, k: int) -> Indices:
        """Return one of the lists."""
        return self.numbers[self.starts[k] : self.starts[k + 1]]

    def part(self, first: int, stop: int) -> Lists:
        """Return the lists from one to before another."""
        starts = self.starts[first : stop + 1]
        return Lists(self.numbers[starts[0] : starts[-1]], starts - starts[0])

    def at_once(self) -> Iterator[Lists]:
        """Yield the lists, so many at a time."""
        for first in range(0, len(self), LISTS_AT_ONCE):
            yield self.part(first, first + LISTS_AT_ONCE)

    def some(self, keep: Indices) -> Lists:
        """Return some of the lists, which may be taken several times."""
        counts = self.starts[keep + 1] - self.starts[keep]
        starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)
        numbers = np.empty(starts[-1], dtype=self.numbers.dtype)
        for first in range(0, len(keep), LISTS_AT_ONCE):
            some = keep[first : first + LISTS_AT_ONCE]
            begins = starts[first : first + len(some) + 1]
            away = np.repeat(begins[:-1] - self.starts[some], np.diff(begins))
            numbers[begins[0] : begins[-1]] = self.numbers[np.arange(begins[0], begins[-1]) - away]
        return Lists(numbers, starts)

    def only(self, marks: Bools) -> Lists:
        """Return the lists with those of their numbers that are marked, one after the other."""
        before = np.concatenate([[0], np.cumsum(marks)])
        return Lists(self.numbers[marks], before[self.starts].astype(np.intp))

    def of_used(self) -> tuple[Indices, Lists]:
        """Return the numbers that are in any list, and the lists by the number among these."""
        used = np.zeros(self.numbers.max(initial=-1) + 1, dtype=bool)
        used[self.numbers] = True
        place = np.cumsum(used, dtype=self.numbers.dtype) - 1
        return np.flatnonzero(used), Lists(place[self.numbers], self.starts)

    def least(self, values: Floats) -> Floats:
        """Return for each list the least value of its numbers; infinite for an empty one."""
        out = np.full(len(self), np.inf)
        filled = np.flatnonzero(np.diff(self.starts))
        if len(filled):
            out[filled] = np.minimum.reduceat(values[self.numbers], self.starts[:-1][filled])
        return out

    def worst(self, levels: Bytes) -> Bytes:
        """Return for each list the worst level of its numbers; `levels` has a row for each."""
        out = np.zeros((len(self), *levels.shape[1:]), dtype=np.uint8)
        filled = np.flatnonzero(np.diff(self.starts))
        if len(filled):
            rows = levels[self.numbers]
            out[filled] = np.maximum.reduceat(rows, self.starts[:-1][filled], axis=0)
        return out

    def any_row(self, marks: Bools) -> Bools:
        """Return whether any row of each list is marked, column by column; no list is empty."""
        found: Bools = np.logical_or.reduceat(marks[self.numbers], self.starts[:-1], axis=0)
        return found

    def any_column(self, marks: Bools) -> Bools:
        """Return whether any column of each list is marked, row by row; no list is empty."""
        found: Bools = np.logical_or.reduceat(marks[:, self.numbers], self.starts[:-1], axis=1)
        return found


NOTHING = -1
"""Fills up the shorter of some sets; no number of anything."""


def sets_of(lists: Lists, counts: Bools) -> npt.NDArray[np.int32]:
    """Return the numbers of each list that count, in order and each once, a row a list.

    Rows are filled up with NOTHING.
    """
    parts = [np.zeros((0, 0), dtype=np.int32)]
    parts += [_sets_of_some(some, counts) for some in lists.at_once()]
    out = np.full((len(lists), max(part.shape[1] for part in parts)), NOTHING, dtype=np.int32)
    row = 0
    for part in parts:
        out[row : row + len(part), : part.shape[1]] = part
        row += len(part)
    return out


def _sets_of_some(lists: Lists, counts: Bools) -> npt.NDArray[np.int32]:
    felt = counts[lists.numbers]
    row = np.repeat(np.arange(len(lists), dtype=np.int32), np.diff(lists.starts))[felt]
    number = lists.numbers[felt].astype(np.int32)
    order = np.lexsort((number, row))
    row, number = row[order], number[order]
    first = np.ones(len(row), dtype=bool)
    first[1:] = (row[1:] != row[:-1]) | (number[1:] != number[:-1])
    row, number = row[first], number[first]
    many = np.bincount(row, minlength=len(lists))
    sets = np.full((len(many), many.max(initial=0)), NOTHING, dtype=np.int32)
    sets[row, np.arange(len(number)) - (np.cumsum(many) - many)[row]] = number
    return sets
