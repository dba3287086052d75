"""Which options of two zones conflict, held by classes of options that are alike.

Two zones may have a hundred thousand options each, and a truth value for each pair of them would
take gigabytes. But most differ in ways that the other zone does not feel. So options with the same
conflicts are one class, and only pairs of classes have a truth value; a table is made some rows at
a time, so that it never stands in full.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Bools

Indices = npt.NDArray[np.intp]
Bytes = npt.NDArray[np.uint8]

CELLS_AT_ONCE = 2**24
"""So many truth values (as many bytes) are made at once, however many options there are."""


@dataclass(frozen=True, eq=False)
class PairTable:
    """What conflicts of the options of one zone (rows) with those of another (columns).

    `rows` and `columns` have the class of each option; `cells[r, c]` is whether options of two
    classes conflict. Every class has an option, and no two classes of a zone are alike.
    """

    rows: Indices
    columns: Indices
    cells: Bools

    @classmethod
    def of(cls, table: Bools) -> PairTable:
        """Return the classes of a table of all pairs, shape (rows, columns)."""
        return cls.of_blocks([table], table.shape[1])

    @classmethod
    def of_blocks(cls, blocks: Iterable[Bools], columns: int) -> PairTable:
        """Return the classes of a table whose rows come some at a time, shape (some, columns)."""
        gathering = Gathering(columns)
        for block in blocks:
            gathering.add(block)
        return gathering.table()

    @classmethod
    def of_classes(cls, rows: Indices, columns: Indices, cells: Bools) -> PairTable:
        """Return a table of classes of which some may have no option, or be alike."""
        cells, rows = _used(cells, rows)
        turned, columns = _used(cells.T, columns)
        first, place = alike(np.packbits(turned.T, axis=1))
        heads, beside = alike(np.packbits(turned, axis=1))
        return cls(place[rows], beside[columns], turned.T[first][:, heads])

    @property
    def shape(self) -> tuple[int, int]:
        """How many options the two zones have."""
        return len(self.rows), len(self.columns)

    @property
    def nbytes(self) -> int:
        """How much memory it takes (bytes)."""
        return self.rows.nbytes + self.columns.nbytes + self.cells.nbytes

    @property
    def T(self) -> PairTable:  # noqa: N802 - as arrays call it
        """The same with rows and columns changed over."""
        return PairTable(self.columns, self.rows, self.cells.T)

    def any(self) -> bool:
        """Whether anything conflicts."""
        return bool(self.cells.any())

    @cached_property
    def count(self) -> int:
        """How many pairs of options conflict."""
        mine = np.bincount(self.rows, minlength=self.cells.shape[0])
        theirs = np.bincount(self.columns, minlength=self.cells.shape[1])
        return int(mine @ (self.cells @ theirs))

    @property
    def share(self) -> float:
        """The share of pairs of options that conflict."""
        return self.count / (len(self.rows) * len(self.columns))

    def at(self, row: int, column: int) -> bool:
        """Whether two options conflict."""
        return bool(self.cells[self.rows[row], self.columns[column]])

    def column(self, column: int) -> Bools:
        """Return which rows conflict with an option of the columns."""
        found: Bools = self.cells[:, self.columns[column]][self.rows]
        return found

    def full(self) -> Bools:
        """Return the truth value of every pair, shape (rows, columns): for few options only."""
        found: Bools = self.cells[self.rows][:, self.columns]
        return found

    def part(self, rows: Indices, columns: Indices) -> Bools:
        """Return the truth value of every pair of some options."""
        found: Bools = self.cells[np.ix_(self.rows[rows], self.columns[columns])]
        return found

    def some(self, rows: Indices, columns: Indices) -> PairTable:
        """Return the table of some options, which may be taken several times."""
        return PairTable.of_classes(self.rows[rows], self.columns[columns], self.cells)

    def either(self, other: PairTable) -> PairTable:
        """Return what conflicts in either of two tables of the same options."""
        rows, r, s = _pairs(self.rows, other.rows, len(other.cells))
        columns, c, d = _pairs(self.columns, other.columns, other.cells.shape[1])
        cells = self.cells[np.ix_(r, c)] | other.cells[np.ix_(s, d)]
        return PairTable.of_classes(rows, columns, cells)

    def of_several(self, numbers: Indices, starts: Indices) -> PairTable:
        """Return the table of rows that are made of several of these rows each.

        Row `k` is made of `numbers[starts[k] : starts[k + 1]]`, and conflicts where any of them
        does.
        """
        felt: Bools = np.asarray(self.cells.any(axis=1))
        sets = sets_of(self.rows[numbers], starts, felt)
        first, place = alike(as_bytes(sets))
        made = PairTable.of_blocks(self._any_of(sets[first]), self.cells.shape[1])
        return PairTable(made.rows[place], made.columns[self.columns], made.cells)

    def _any_of(self, sets: Indices) -> Iterator[Bools]:
        """Yield, some at a time, what sets of classes conflict with."""
        blank = np.zeros((1, self.cells.shape[1]), dtype=bool)
        cells = np.vstack((self.cells, blank))
        step = max(1, CELLS_AT_ONCE // max(1, cells.shape[1]))
        for at in range(0, len(sets), step):
            some = sets[at : at + step]
            out = np.zeros((len(some), cells.shape[1]), dtype=bool)
            for row in some.T:
                out |= cells[row]
            yield out


class Gathering:
    """Gathers the rows of a table some at a time, and tells apart only what differs."""

    def __init__(self, columns: int) -> None:
        self._columns = np.zeros(columns, dtype=np.intp)
        self._cells = np.zeros((0, min(1, columns)), dtype=bool)
        self._rows = [np.zeros(0, dtype=np.intp)]

    def add(self, block: Bools) -> None:
        """Take in the next rows, shape (some, columns)."""
        first, row = alike(np.packbits(block, axis=1))
        few = block[first]
        # Columns that were alike so far may differ in these rows.
        marks = np.ascontiguousarray(np.packbits(few, axis=0).T)
        heads, split = alike(np.hstack((as_bytes(self._columns[:, None]), marks)))
        before = len(self._cells)
        cells = np.vstack((self._cells[:, self._columns[heads]], few[:, heads]))
        self._columns = split
        # The rows so far all differ, so they keep their numbers.
        kept, known = alike(np.packbits(cells, axis=1))
        self._cells = cells[kept]
        self._rows.append(known[before:][row])

    def table(self) -> PairTable:
        """Return the table of all rows so far."""
        return PairTable(np.concatenate(self._rows), self._columns, self._cells)


NOTHING = -1
"""Fills up sets of classes; as a number it is that of the last row, which has no conflict."""


def alike(rows: Bytes) -> tuple[Indices, Indices]:
    """Return the first of each kind of equal rows, and for each row which kind it is."""
    if not rows.shape[1]:
        return np.arange(min(1, len(rows)), dtype=np.intp), np.zeros(len(rows), dtype=np.intp)
    keys = np.ascontiguousarray(rows).view(f"V{rows.shape[1]}").ravel().tolist()
    known: dict[bytes, int] = {}
    earliest = [known.setdefault(key, at) for at, key in enumerate(keys)]
    first = np.array(list(known.values()), dtype=np.intp)
    return first, np.searchsorted(first, earliest).astype(np.intp)


def sets_of(numbers: Indices, starts: Indices, counts: Bools) -> Indices:
    """Return what each option is made of, in order and each once, filled up with NOTHING.

    Option `k` is made of `numbers[starts[k] : starts[k + 1]]`; of all numbers some count.
    """
    options = len(starts) - 1
    option = np.repeat(np.arange(options), np.diff(starts))
    felt = counts[numbers]
    of = max(1, len(counts))
    option, number = np.divmod(np.unique(option[felt] * of + numbers[felt]), of)
    many = np.bincount(option, minlength=options)
    sets = np.full((options, many.max(initial=0)), NOTHING, dtype=np.intp)
    sets[option, np.arange(len(number)) - (np.cumsum(many) - many)[option]] = number
    return sets


def as_bytes(numbers: Indices) -> Bytes:
    """Return rows of whole numbers as rows of bytes."""
    return np.ascontiguousarray(numbers, dtype=np.int32).view(np.uint8)


def _used(cells: Bools, rows: Indices) -> tuple[Bools, Indices]:
    """Return the rows of cells that are used, and the rows by their number among these."""
    used = np.bincount(rows, minlength=len(cells)) > 0
    return cells[used], (np.cumsum(used) - 1)[rows]


def _pairs(a: Indices, b: Indices, count: int) -> tuple[Indices, Indices, Indices]:
    """Return which pair of classes each option has, and of each pair the two; `count` is of `b`."""
    distinct, place = np.unique(a * max(1, count) + b, return_inverse=True)
    one, other = np.divmod(distinct, max(1, count))
    return place.astype(np.intp), one, other
