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

from geometry.measures.broadphase import Bools, Indices
from geometry.search.solving.bits import Bits, Bytes, alike, blocks
from geometry.search.solving.lists import Lists


@dataclass(frozen=True, eq=False)
class PairTable:
    """What conflicts of the options of one zone (rows) with those of another (columns).

    `rows` and `columns` have the class of each option; `cells` tells whether options of two
    classes conflict. Every class has an option, and no two classes of a zone are alike.
    """

    rows: Indices
    columns: Indices
    cells: Bits

    @classmethod
    def of(cls, table: Bools) -> PairTable:
        """Return the classes of a table of all pairs, shape (rows, columns)."""
        return cls.of_blocks([table], table.shape[1])

    @classmethod
    def of_blocks(cls, some_rows: Iterable[Bools], columns: int) -> PairTable:
        """Return the classes of a table whose rows come some at a time, shape (some, columns)."""
        gathering = Gathering(columns)
        for block in some_rows:
            gathering.add(block)
        return gathering.table()

    @classmethod
    def of_classes(cls, rows: Indices, columns: Indices, cells: Bits) -> PairTable:
        """Return a table of classes of which some may have no option, or be alike."""
        cells, rows = _used(cells, rows)
        turned, columns = _used(cells.turned(), columns)
        del cells  # each of these may take a hundred megabytes
        heads, beside = alike(turned.rows)
        turned = turned.of_rows(heads)
        cells = turned.turned()
        del turned
        first, place = alike(cells.rows)
        return cls(place[rows], beside[columns], cells.of_rows(first))

    @property
    def shape(self) -> tuple[int, int]:
        """How many options the two zones have."""
        return len(self.rows), len(self.columns)

    @property
    def nbytes(self) -> int:
        """How much memory it takes (bytes)."""
        return self.rows.nbytes + self.columns.nbytes + self.cells.nbytes

    def turned(self) -> PairTable:
        """Return the same with rows and columns changed over."""
        return PairTable(self.columns, self.rows, self.cells.turned())

    def any(self) -> bool:
        """Whether anything conflicts."""
        return bool(self.cells.rows.any())

    @cached_property
    def count(self) -> int:
        """How many pairs of options conflict."""
        mine = np.bincount(self.rows, minlength=len(self.cells))
        theirs = np.bincount(self.columns, minlength=self.cells.width)
        return int(mine @ self.cells.sums(theirs))

    @property
    def share(self) -> float:
        """The share of pairs of options that conflict; 0 where there are none."""
        return self.count / max(1, len(self.rows) * len(self.columns))

    def at(self, row: int, column: int) -> bool:
        """Whether two options conflict."""
        place = int(self.columns[column])
        return bool(self.cells.rows[self.rows[row], place >> 3] >> (place & 7) & 1)

    def row(self, row: int) -> Bools:
        """Return which columns conflict with an option of the rows."""
        found: Bools = self.cells.some(self.rows[[row]]).full()[0][self.columns]
        return found

    def column(self, column: int) -> Bools:
        """Return which rows conflict with an option of the columns."""
        every = np.arange(len(self.cells), dtype=np.intp)
        found: Bools = self.cells.part(every, self.columns[[column]])[self.rows, 0]
        return found

    def full(self) -> Bools:
        """Return the truth value of every pair, shape (rows, columns): for few options only."""
        found: Bools = self.cells.full()[self.rows][:, self.columns]
        return found

    def part(self, rows: Indices, columns: Indices) -> Bools:
        """Return the truth value of every pair of some options."""
        return self.cells.part(self.rows[rows], self.columns[columns])

    def each(self, rows: Indices, columns: Indices) -> Bools:
        """Return the truth value of some pairs of options, one by one."""
        places = self.columns[columns]
        cells = self.cells.rows[self.rows[rows], places >> 3] >> (places & 7).astype(np.uint8) & 1
        found: Bools = cells.astype(bool)
        return found

    def opposite(self) -> PairTable:
        """Return which options do not conflict."""
        return PairTable(self.rows, self.columns, self.cells.opposite())

    def masks(self) -> list[int]:
        """Return the columns that conflict with each row, as a whole number with a bit for each."""
        of_class = self.cells.spread(self.columns).numbers()
        return [of_class[row] for row in self.rows.tolist()]

    def some(self, rows: Indices, columns: Indices) -> PairTable:
        """Return the table of some options, which may be taken several times."""
        mine, theirs = self.rows[rows], self.columns[columns]
        if all(map(_uses_every, (mine, theirs), self.cells.shape)):
            return PairTable(mine, theirs, self.cells)
        return PairTable.of_classes(mine, theirs, self.cells)

    def among(self, places: tuple[Indices, Indices], counts: tuple[int, int]) -> PairTable:
        """Return the table of more options, of which those at some places are these.

        There are so many in all, and the others conflict with nothing.
        """
        classes, width = self.cells.shape
        rows, columns = (np.full(n, c) for n, c in zip(counts, (classes, width), strict=True))
        rows[places[0]], columns[places[1]] = self.rows, self.columns
        cells = np.zeros((classes + 1, (width + 8) // 8), dtype=np.uint8)
        cells[:classes, : self.cells.rows.shape[1]] = self.cells.rows
        return PairTable.of_classes(rows, columns, Bits(cells, width + 1))

    def either(self, other: PairTable) -> PairTable:
        """Return what conflicts in either of two tables of the same options."""
        rows, columns, cells = put_together(self, other)
        gathering = Gathering(int(columns.max(initial=-1)) + 1)
        for some in cells:
            gathering.add_rows(some)
        made = gathering.table()
        return PairTable(made.rows[rows], made.columns[columns], made.cells)

    def of_several(self, made_of: Lists) -> PairTable:
        """Return the table of rows made of several of these each; one conflicts where any does."""
        felt = np.asarray(self.cells.rows.any(axis=1))
        lists = _Different.of(Lists(self.rows[made_of.numbers], made_of.starts), felt)
        gathering = Gathering(self.cells.width)
        for some in lists.any_of(self.cells):
            gathering.add_rows(some)
        made = gathering.table()
        return PairTable(made.rows[lists.place], made.columns[self.columns], made.cells)


@dataclass(frozen=True, eq=False)
class _Different:
    """Different lists of classes, the longest first, and which of them each option has.

    List `k` is `classes[starts[k] : starts[k] + counts[k]]`.
    """

    classes: Indices
    starts: Indices
    counts: Indices
    place: Indices

    @classmethod
    def of(cls, lists: Lists, felt: Bools) -> _Different:
        """Return the lists of options, each class once and in order, of all classes those felt."""
        known: dict[bytes, int] = {}
        place: list[int] = []
        for some in lists.at_once():
            option = np.repeat(np.arange(len(some)), np.diff(some.starts))
            counts = felt[some.numbers]
            of = max(1, len(felt))
            option, number = np.divmod(np.unique(option[counts] * of + some.numbers[counts]), of)
            raw = number.astype(np.int32).tobytes()
            ends = _BYTES * np.cumsum(np.bincount(option, minlength=len(some)))
            start = 0
            for end in ends.tolist():
                place.append(known.setdefault(raw[start:end], len(known)))
                start = end
        many = np.array([len(key) // _BYTES for key in known], dtype=np.intp)
        order = np.argsort(-many, kind="stable")
        rank = np.empty_like(order)
        rank[order] = np.arange(len(order))
        every = np.frombuffer(b"".join(known), dtype=np.int32).astype(np.intp)
        begins = np.cumsum(many) - many
        return cls(every, begins[order], many[order], rank[np.array(place, dtype=np.intp)])

    def any_of(self, cells: Bits) -> Iterator[Bytes]:
        """Yield, some at a time, what any class of each list conflicts with."""
        for some in blocks(len(self.counts), cells.width):
            starts, counts = self.starts[some], self.counts[some]
            out = np.zeros((len(counts), cells.rows.shape[1]), dtype=np.uint8)
            for n in range(int(counts.max(initial=0))):
                longer = int(np.searchsorted(-counts, -n))
                out[:longer] |= cells.rows[self.classes[starts[:longer] + n]]
            yield out


_BYTES = np.dtype(np.int32).itemsize


class Gathering:
    """Gathers the rows of a table some at a time, and keeps each different one once."""

    def __init__(self, columns: int) -> None:
        self._width = columns
        self._known: dict[int, int] = {}
        self._cells = bytearray()
        self._rows = [np.zeros(0, dtype=np.intp)]

    def add(self, block: Bools) -> None:
        """Take in the next rows, shape (some, columns)."""
        self.add_rows(Bits.of(block).rows)

    def add_rows(self, rows: Bytes) -> None:
        """Take in the next rows, as `Bits` hold them."""
        # What is known of rows is their hash, and which they are: each is held but once.
        known, cells, size = self._known, self._cells, rows.shape[1]
        numbers = []
        for row in rows:
            raw = row.tobytes()
            key = hash(raw)
            while (number := known.setdefault(key, len(known))) * size < len(cells):
                if cells[number * size : (number + 1) * size] == raw:
                    break
                key += 1
            else:
                cells += raw
            numbers.append(number)
        self._rows.append(np.array(numbers, dtype=np.intp))

    def table(self) -> PairTable:
        """Return the table of all rows, and keep none of them."""
        turned = self._turned()
        heads, columns = alike(turned.rows)
        turned = turned.of_rows(heads)
        return PairTable(np.concatenate(self._rows), columns, turned.turned())

    def _turned(self) -> Bits:
        """Return the different rows turned, and forget them, so that there are never two more."""
        every = np.frombuffer(self._cells, dtype=np.uint8)
        every = every.reshape(len(self._known), (self._width + 7) // 8)
        self._cells, self._known = bytearray(), {}
        return Bits(every, self._width).turned()


def _used(cells: Bits, rows: Indices) -> tuple[Bits, Indices]:
    """Return the rows of cells that are used, and the rows by their number among these."""
    used = np.bincount(rows, minlength=len(cells)) > 0
    return cells.of_rows(np.flatnonzero(used)), (np.cumsum(used) - 1)[rows]


def _uses_every(classes: Indices, count: int) -> bool:
    return bool(np.bincount(classes, minlength=count).all())


def put_together(one: PairTable, other: PairTable) -> tuple[Indices, Indices, Iterator[Bytes]]:
    """Return for two tables of the same options the class of each option by both, and the cells.

    The cells tell what conflicts in either table; rows of classes come some at a time.
    """
    rows, r, s = _pairs(one.rows, other.rows, len(other.cells))
    columns, c, d = _pairs(one.columns, other.columns, other.cells.width)

    def cells() -> Iterator[Bytes]:
        for some in blocks(len(r), len(c)):
            mine, theirs = one.cells.some(r[some]), other.cells.some(s[some])
            yield mine.spread(c).rows | theirs.spread(d).rows

    return rows, columns, cells()


def _pairs(a: Indices, b: Indices, count: int) -> tuple[Indices, Indices, Indices]:
    """Return which pair of classes each option has, and of each pair the two; `count` is of `b`."""
    distinct, place = np.unique(a * max(1, count) + b, return_inverse=True)
    one, other = np.divmod(distinct, max(1, count))
    return place.astype(np.intp), one, other
