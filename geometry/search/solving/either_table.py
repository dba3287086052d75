"""What conflicts in either of two tables of the same options, put together only where it is asked.

An option that is another one with something more conflicts with what either does. Put together such
a table has a class for each pair of classes of the two, tens of thousands, where they have few.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.solving.bits import Bits
from geometry.search.solving.pair_table import PairTable, put_together


@dataclass(frozen=True, eq=False)
class EitherTable:
    """What conflicts of the options of one zone with those of another, in either of two tables."""

    one: PairTable
    other: PairTable

    @property
    def shape(self) -> tuple[int, int]:
        """How many options the two zones have."""
        return self.one.shape

    @property
    def _both(self) -> Iterator[PairTable]:
        yield self.one
        yield self.other

    def turned(self) -> EitherTable:
        """Return the same with rows and columns changed over."""
        return EitherTable(*(table.turned() for table in self._both))

    def any(self) -> bool:
        """Whether anything conflicts."""
        return any(table.any() for table in self._both)

    @cached_property
    def count(self) -> int:
        """How many pairs of options conflict."""
        rows, columns, blocks = put_together(self.one, self.other)
        mine, theirs = np.bincount(rows), np.bincount(columns)
        sums = [Bits(some, len(theirs)).sums(theirs) for some in blocks]
        return int(mine @ np.concatenate(sums)) if sums else 0

    def at(self, row: int, column: int) -> bool:
        """Whether two options conflict."""
        return any(table.at(row, column) for table in self._both)

    def row(self, row: int) -> Bools:
        """Return which columns conflict with an option of the rows."""
        return self.one.row(row) | self.other.row(row)

    def column(self, column: int) -> Bools:
        """Return which rows conflict with an option of the columns."""
        return self.one.column(column) | self.other.column(column)

    def full(self) -> Bools:
        """Return the truth value of every pair, shape (rows, columns): for few options only."""
        return self.one.full() | self.other.full()

    def some(self, rows: Indices, columns: Indices) -> PairTable:
        """Return the table of some options, which may be taken several times, put together."""
        one, other = (table.some(rows, columns) for table in self._both)
        return one.either(other)

    def apart(self, rows: Indices, columns: Indices) -> EitherTable:
        """Return the table of some options, which may be taken several times, held as two."""
        return EitherTable(*(table.some(rows, columns) for table in self._both))

    def either(self, more: PairTable | EitherTable) -> EitherTable:
        """Return what conflicts in this or in another table of the same options."""
        if isinstance(more, EitherTable):
            return EitherTable(self.one.either(more.one), self.other.either(more.other))
        return EitherTable(self.one, self.other.either(more))
