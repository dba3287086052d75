"""The pairs of two groups of options that cannot stand together, looked at some at a time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.judging.steps import Steps, run_through
from geometry.search.judging.units import Lists
from geometry.search.listing.option_rows import Options
from geometry.search.solving.marked_table import MarkedTable
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.zone_tables import Table


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

    @cached_property
    def stack_sizes(self) -> Indices:
        """How many options of each of these there are."""
        found: Indices = np.diff(np.append(self.stack_starts, len(self)))
        return found


def groups(options: Options) -> dict[str, Group]:
    """Return the different options of a zone by pattern, as they are listed first."""
    return {pattern: group_of(options, rows) for pattern, rows in options.by_pattern().items()}


def group_of(options: Options, rows: Indices) -> Group:
    """Return the different ones of some options of a zone as one group."""
    _, first, number = np.unique(options.different[rows], return_index=True, return_inverse=True)
    place = np.argsort(np.argsort(first))[number]
    order = np.argsort(place, kind="stable")
    starts = np.searchsorted(place[order], np.arange(len(first) + 1))
    numbers = Lists(rows[order], starts)
    return Group(numbers, options.stack[rows[np.sort(first)]].astype(np.intp))


@dataclass(eq=False)
class ExcludedPairs:
    """Which of two groups of different options never stand together, under whichever number."""

    table: Table
    mine: Group
    theirs: Group
    _found: tuple[PairTable, int, PairTable] | None = None

    @property
    def of(self) -> int:
        """How many pairs of different options there are."""
        return len(self.mine) * len(self.theirs)

    def never(self) -> Steps[PairTable]:
        """Return in steps which of mine never stand with which of theirs."""
        never = self.table.some(self.mine.numbers.numbers, self.theirs.numbers.numbers)
        if isinstance(never, MarkedTable):
            never = never.whole()
        if all(len(one.numbers.numbers) == len(one) for one in (self.mine, self.theirs)):
            return never
        # Two options stand together where they do under any of their numbers.
        fits = never.opposite()
        for one in (self.mine, self.theirs):
            every = np.arange(len(one.numbers.numbers), dtype=np.intp)
            fits = fits.of_several(every, one.numbers.starts).turned()
            yield 0.2
        return fits.opposite()

    def counting(self) -> Steps[None]:
        """Count them in steps; who asks before that waits until they are counted."""
        never = yield from self.never()
        yield 0.4
        count = never.count
        yield 0.6
        stacks = never
        for one in (self.mine, self.theirs):
            every = np.arange(len(one), dtype=np.intp)
            stacks = stacks.of_several(every, np.append(one.stack_starts, len(one))).turned()
            yield 0.8
        self._found = (never, count, stacks)

    @property
    def _counted(self) -> tuple[PairTable, int, PairTable]:
        """Which they are, how many there are, and which pairs of stacks have any."""
        if self._found is None:
            run_through(self.counting())
        assert self._found is not None
        return self._found

    @property
    def count(self) -> int:
        """How many pairs never stand together."""
        return self._counted[1]

    def each(self, rows: Indices, columns: Indices) -> Bools:
        """Return which of some pairs of mine with theirs never stand together."""
        return self._counted[0].each(rows, columns)

    @property
    def rows(self) -> Bools:
        """Which of mine never stand with some of theirs."""
        never = self._counted[0]
        return np.asarray(never.cells.rows.any(axis=1))[never.rows]

    @property
    def columns(self) -> Bools:
        """Which of theirs never stand with some of mine."""
        never = self._counted[0].turned()
        return np.asarray(never.cells.rows.any(axis=1))[never.rows]

    @property
    def stacks(self) -> PairTable:
        """Which stacks of mine, at some slide, never stand with which of theirs at some slide."""
        return self._counted[2]
