"""The pairs of two groups of options that cannot stand together, and how many there are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.listing.option_rows import Options
from geometry.search.long_work import Steps, run_through
from geometry.search.solving.lists import Lists
from geometry.search.solving.marked_table import MarkedTable
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.zone_tables import Table


@dataclass(frozen=True, eq=False)
class Group:
    """Different options of a zone: the numbers under which each is listed, often one."""

    numbers: Lists

    def __len__(self) -> int:
        return len(self.numbers)

    @property
    def first(self) -> Indices:
        """The first number of each."""
        return self.numbers.numbers[self.numbers.starts[:-1]]


def groups(options: Options) -> dict[str, Group]:
    """Return the different options of a zone by pattern, as they are listed first."""
    return {pattern: group_of(options, rows) for pattern, rows in options.by_pattern().items()}


def group_of(options: Options, rows: Indices) -> Group:
    """Return the different ones of some options of a zone as one group."""
    _, first, number = np.unique(options.different[rows], return_index=True, return_inverse=True)
    place = np.argsort(np.argsort(first))[number]
    order = np.argsort(place, kind="stable")
    starts = np.searchsorted(place[order], np.arange(len(first) + 1))
    return Group(Lists(rows[order], starts))


@dataclass(eq=False)
class ExcludedPairs:
    """Which of two groups of different options never stand together, under whichever number."""

    table: Table
    mine: Group
    theirs: Group
    _found: tuple[PairTable, int] | None = None

    @property
    def of(self) -> int:
        """How many pairs of different options there are."""
        return len(self.mine) * len(self.theirs)

    def finding_never(self) -> Steps[PairTable]:
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
            fits = fits.of_several(Lists(every, one.numbers.starts)).turned()
            yield 0.2
        return fits.opposite()

    def counting(self) -> Steps[None]:
        """Count them in steps; who asks before that waits until they are counted."""
        never = yield from self.finding_never()
        yield 0.5
        self._found = (never, never.count)

    @property
    def _counted(self) -> tuple[PairTable, int]:
        """Which they are, and how many there are."""
        if self._found is None:
            run_through(self.counting())
        assert self._found is not None
        return self._found

    @property
    def count(self) -> int:
        """How many pairs never stand together."""
        return self._counted[1]

    @property
    def never(self) -> PairTable:
        """Which of mine never stand with which of theirs."""
        return self._counted[0]

    @property
    def rows(self) -> Bools:
        """Which of mine never stand with some of theirs."""
        return np.asarray(self.never.cells.rows.any(axis=1))[self.never.rows]

    @property
    def columns(self) -> Bools:
        """Which of theirs never stand with some of mine."""
        never = self.never.turned()
        return np.asarray(never.cells.rows.any(axis=1))[never.rows]
