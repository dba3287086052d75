"""Which options of two zones conflict where some are marked, of which two never stand together.

Options with a pump are many times as many as those without, and two pumps are ruled out whatever
else they meet. So what two of them meet is never looked at: a table is held in three parts, each of
which has but one side with marked options, and what is asked of it is asked of these.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.solving.bits import Bits
from geometry.search.solving.either_table import EitherTable
from geometry.search.solving.pair_table import PairTable

Part = PairTable | EitherTable
"""What one of the parts of a table is held as."""


@dataclass(frozen=True, eq=False)
class MarkedTable:
    """What conflicts of the options of one zone (rows) with those of another (columns).

    `marked_rows` and `marked_columns` tell which options are marked. `plain` is the table of those
    that are not, `of_rows` that of marked rows with columns that are not, and `of_columns` that of
    rows that are not with marked columns.
    """

    marked_rows: Bools
    marked_columns: Bools
    plain: PairTable
    of_rows: Part
    of_columns: Part

    @classmethod
    def of(cls, table: PairTable, marked_rows: Bools, marked_columns: Bools) -> MarkedTable:
        """Return a table of all options with marks; what two marked ones have in it is left out."""
        rows, others = np.flatnonzero(marked_rows), np.flatnonzero(~marked_rows)
        columns, beside = np.flatnonzero(marked_columns), np.flatnonzero(~marked_columns)
        return cls(
            marked_rows,
            marked_columns,
            table.some(others, beside),
            table.some(rows, beside),
            table.some(others, columns),
        )

    @property
    def simplest(self) -> PairTable | MarkedTable:
        """The same, without marks where no option has one."""
        none = not (self.marked_rows.any() or self.marked_columns.any())
        return self.plain if none else self

    @property
    def shape(self) -> tuple[int, int]:
        """How many options the two zones have."""
        return len(self.marked_rows), len(self.marked_columns)

    @cached_property
    def _row_places(self) -> Indices:
        return _places(self.marked_rows)

    @cached_property
    def _column_places(self) -> Indices:
        return _places(self.marked_columns)

    def turned(self) -> MarkedTable:
        """Return the same with rows and columns changed over."""
        return MarkedTable(
            self.marked_columns,
            self.marked_rows,
            self.plain.turned(),
            self.of_columns.turned(),
            self.of_rows.turned(),
        )

    def any(self) -> bool:
        """Whether anything conflicts."""
        two = bool(self.marked_rows.any() and self.marked_columns.any())
        return two or any(part.any() for part in (self.plain, self.of_rows, self.of_columns))

    @cached_property
    def count(self) -> int:
        """How many pairs of options conflict."""
        two = int(self.marked_rows.sum()) * int(self.marked_columns.sum())
        return two + self.plain.count + self.of_rows.count + self.of_columns.count

    def at(self, row: int, column: int) -> bool:
        """Whether two options conflict."""
        part = self._part(bool(self.marked_rows[row]), bool(self.marked_columns[column]))
        if part is None:
            return True
        return part.at(int(self._row_places[row]), int(self._column_places[column]))

    def row(self, row: int) -> Bools:
        """Return which columns conflict with an option of the rows."""
        marked = bool(self.marked_rows[row])
        out = np.ones(len(self.marked_columns), dtype=bool)
        for beside in (False, True):
            part = self._part(marked, beside)
            if part is not None:
                out[self.marked_columns == beside] = part.row(int(self._row_places[row]))
        return out

    def column(self, column: int) -> Bools:
        """Return which rows conflict with an option of the columns."""
        marked = bool(self.marked_columns[column])
        out = np.ones(len(self.marked_rows), dtype=bool)
        for beside in (False, True):
            part = self._part(beside, marked)
            if part is not None:
                out[self.marked_rows == beside] = part.column(int(self._column_places[column]))
        return out

    def some(self, rows: Indices, columns: Indices) -> PairTable | MarkedTable:
        """Return the table of some options, which may be taken several times.

        Without marks where marked and other options do not stand on one side of it together.
        """
        mine, theirs = self.marked_rows[rows], self.marked_columns[columns]
        if _is_mixed(mine) or _is_mixed(theirs):
            return self.with_marks(rows, columns)
        part = self._part(bool(mine[:1].any()), bool(theirs[:1].any()))
        if part is None:
            every = Bits.of(np.ones((1, 1), dtype=bool))
            here, there = (np.zeros(len(some), dtype=np.intp) for some in (rows, columns))
            return PairTable(here, there, every)
        return part.some(self._row_places[rows], self._column_places[columns])

    def with_marks(self, rows: Indices, columns: Indices) -> MarkedTable:
        """Return the table of some options with their marks."""
        mine, theirs = self.marked_rows[rows], self.marked_columns[columns]
        own, others = self._row_places[rows], self._column_places[columns]
        return MarkedTable(
            mine,
            theirs,
            self.plain.some(own[~mine], others[~theirs]),
            _as_held(self.of_rows, own[mine], others[~theirs]),
            _as_held(self.of_columns, own[~mine], others[theirs]),
        )

    def either(self, other: MarkedTable) -> MarkedTable:
        """Return what conflicts in either of two tables of the same options."""
        return MarkedTable(
            self.marked_rows,
            self.marked_columns,
            self.plain.either(other.plain),
            _either(self.of_rows, other.of_rows),
            _either(self.of_columns, other.of_columns),
        )

    def full(self) -> Bools:
        """Return the truth value of every pair, shape (rows, columns): for few options only."""
        out = np.ones(self.shape, dtype=bool)
        for mine, theirs in ((False, False), (True, False), (False, True)):
            part = self._part(mine, theirs)
            assert part is not None
            rows = np.flatnonzero(self.marked_rows == mine)
            columns = np.flatnonzero(self.marked_columns == theirs)
            out[np.ix_(rows, columns)] = part.full()
        return out

    def whole(self) -> PairTable:
        """Return it as one table: for few options only."""
        return PairTable.of(self.full())

    def _part(self, mine: bool, theirs: bool) -> Part | None:
        """Return the part of marked rows or others and marked columns or others; None of both."""
        if mine:
            return None if theirs else self.of_rows
        return self.of_columns if theirs else self.plain


def _places(marked: Bools) -> Indices:
    """Return the number of each option among those that are marked as it is, or not."""
    found: Indices = np.where(marked, np.cumsum(marked), np.cumsum(~marked)).astype(np.intp) - 1
    return found


def _as_held(part: Part, rows: Indices, columns: Indices) -> Part:
    """Return the table of some options, held as it is."""
    held_so = part.apart if isinstance(part, EitherTable) else part.some
    return held_so(rows, columns)


def _either(one: Part, other: Part) -> Part:
    """Return what conflicts in either of two tables of the same options."""
    if isinstance(one, EitherTable):
        return one.either(other)
    return other.either(one) if isinstance(other, EitherTable) else one.either(other)


def _is_mixed(marked: Bools) -> bool:
    return bool(marked.any()) and not bool(marked.all())
