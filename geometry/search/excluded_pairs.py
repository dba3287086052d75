"""The pairs of two groups of options that cannot stand together, looked at some at a time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.judging.steps import Steps, run_through
from geometry.search.judging.units import Lists
from geometry.search.listing.option_rows import Options
from geometry.search.solving.bits import blocks
from geometry.search.solving.pair_table import PairTable


@dataclass(frozen=True, eq=False)
class Group:
    """Different options of a zone: the numbers under which each is listed, often one, and which
    stack each is.
    """

    numbers: Lists
    stack: Indices

    def __len__(self) -> int:
        return len(self.stack)

    @property
    def first(self) -> Indices:
        """The first number of each."""
        return self.numbers.numbers[self.numbers.starts[:-1]]

    @cached_property
    def stack_starts(self) -> Indices:
        """Where another stack begins: options of one stack stand one after the other."""
        return np.flatnonzero(np.diff(self.stack, prepend=-1))

    def of_stacks(self, stacks: Indices) -> Indices:
        """Return the options of some stacks, by their number among those that there are."""
        ends = np.append(self.stack_starts, len(self))
        return Lists(np.arange(len(self), dtype=np.intp), ends).some(stacks).numbers


def groups(options: Options) -> dict[str, Group]:
    """Return the different options of a zone by pattern, as they are listed first."""
    return {pattern: _group(options, rows) for pattern, rows in options.by_pattern().items()}


def _group(options: Options, rows: Indices) -> Group:
    _, first, number = np.unique(options.different[rows], return_index=True, return_inverse=True)
    place = np.argsort(np.argsort(first))[number]
    order = np.argsort(place, kind="stable")
    starts = np.searchsorted(place[order], np.arange(len(first) + 1))
    numbers = Lists(rows[order], starts)
    return Group(numbers, options.stack[rows[np.sort(first)]].astype(np.intp))


@dataclass(eq=False)
class ExcludedPairs:
    """Which of two groups of different options never stand together, under whichever number."""

    table: PairTable
    mine: Group
    theirs: Group
    _found: tuple[int, Bools, Bools, Bools] | None = None

    @property
    def of(self) -> int:
        """How many pairs of different options there are."""
        return len(self.mine) * len(self.theirs)

    def part(self, rows: Indices, columns: Indices) -> Bools:
        """Return the truth values of some options of either group."""
        mine, theirs = self.mine.numbers.some(rows), self.theirs.numbers.some(columns)
        found = self.table.part(mine.numbers, theirs.numbers)
        for axis, one in enumerate((mine, theirs)):
            if len(one.numbers) >= len(one.starts):
                found = np.logical_and.reduceat(found, one.starts[:-1], axis=axis)
        return found

    def counting(self) -> Steps[None]:
        """Count them in steps; who asks before that waits until they are counted."""
        count, any_column = 0, np.zeros(len(self.theirs), dtype=bool)
        any_row = np.zeros(len(self.mine), dtype=bool)
        of_stack = np.cumsum(np.diff(self.mine.stack, prepend=self.mine.stack[:1]) != 0)
        heads = self.theirs.stack_starts
        stacks = np.zeros((len(self.mine.stack_starts), len(heads)), dtype=bool)
        every = np.arange(len(self.theirs), dtype=np.intp)
        for some in blocks(len(self.mine), len(self.theirs)):
            rows = np.arange(some.start, some.stop, dtype=np.intp)
            part = self.part(rows, every)
            count += int(np.count_nonzero(part))
            any_row[some] = part.any(axis=1)
            any_column |= part.any(axis=0)
            np.logical_or.at(stacks, of_stack[rows], np.logical_or.reduceat(part, heads, axis=1))
            yield some.stop / len(self.mine)
        self._found = (count, any_row, any_column, stacks)

    @property
    def _counted(self) -> tuple[int, Bools, Bools, Bools]:
        """How many there are; the rows, columns, and pairs of stacks that have any."""
        if self._found is None:
            run_through(self.counting())
        assert self._found is not None
        return self._found

    @property
    def count(self) -> int:
        """How many pairs never stand together."""
        return self._counted[0]

    @property
    def rows(self) -> Bools:
        """Which of mine never stand with some of theirs."""
        return self._counted[1]

    @property
    def columns(self) -> Bools:
        """Which of theirs never stand with some of mine."""
        return self._counted[2]

    @property
    def stacks(self) -> Bools:
        """Which stacks of mine, at some slide, never stand with which of theirs at some slide."""
        return self._counted[3]
