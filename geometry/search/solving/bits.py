"""Tables of truth values, held eight to a byte, and rows of bytes told apart.

Zones of a hundred thousand options have tens of thousands of classes, and a byte for each pair of
these would take gigabytes. What is done to a whole table is done some rows at a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Bools, Indices

Bytes = npt.NDArray[np.uint8]

CELLS_AT_ONCE = 2**24
"""So many truth values (as many bytes) are made at once, however many there are."""

_WORD = np.dtype("<u8")
_TURNING = tuple(
    (_WORD.type(shift), _WORD.type(mask))
    for shift, mask in ((7, 0x00AA00AA00AA00AA), (14, 0x0000CCCC0000CCCC), (28, 0xF0F0F0F0))
)
"""How far the bits of eight rows of eight are moved in each step, and those that move."""


@dataclass(frozen=True, eq=False)
class Bits:
    """A table of truth values: `rows` has eight to a byte, the first in the lowest bit.

    There are `width` of them in a row; bits beyond are zero.
    """

    rows: Bytes
    width: int

    @classmethod
    def of(cls, cells: Bools) -> Bits:
        """Return a table held so."""
        return cls(np.packbits(cells, axis=1, bitorder="little"), cells.shape[1])

    def __len__(self) -> int:
        return len(self.rows)

    @property
    def shape(self) -> tuple[int, int]:
        """How many rows and columns there are."""
        return len(self.rows), self.width

    @property
    def nbytes(self) -> int:
        """How much memory it takes (bytes)."""
        return self.rows.nbytes

    def some(self, rows: Bools | Indices) -> Bits:
        """Return some of the rows."""
        return Bits(self.rows[rows], self.width)

    def full(self) -> Bools:
        """Return the truth values with a byte for each: for few of them only."""
        cells = np.unpackbits(self.rows, axis=1, count=self.width, bitorder="little")
        return cells.view(np.bool_)

    def part(self, rows: Indices, columns: Indices) -> Bools:
        """Return those in some rows and columns, a byte for each."""
        if 8 * len(columns) > self.width:
            return self.some(rows).full()[:, columns]
        cells = self.rows[np.ix_(rows, columns >> 3)]
        cells >>= (columns & 7).astype(np.uint8)
        cells &= 1
        found: Bools = cells.view(np.bool_)
        return found

    def opposite(self) -> Bits:
        """Return the table with true and false changed over."""
        out = ~self.rows
        if self.width % 8:
            out[:, -1] &= 2 ** (self.width % 8) - 1
        return Bits(out, self.width)

    def turned(self) -> Bits:
        """Return the table with rows and columns changed over.

        Eight rows of eight are one word, whose bits change places in three steps. Source: H. S.
        Warren, Hacker's Delight, 2nd ed. (2012), section 7-3.
        """
        count, wide = self.rows.shape
        out = np.zeros((8 * wide, (count + 7) // 8), dtype=np.uint8)
        step = max(1, CELLS_AT_ONCE // max(1, 8 * count))
        for at in range(0, wide, step):
            some = self.rows[:, at : at + step]
            padded = np.zeros((out.shape[1], 8, some.shape[1]), dtype=np.uint8)
            padded.reshape(-1, some.shape[1])[:count] = some
            words = np.ascontiguousarray(padded.transpose(2, 0, 1)).view(_WORD)[..., 0]
            for shift, mask in _TURNING:
                moved = (words ^ (words >> shift)) & mask
                words = words ^ moved ^ (moved << shift)
            eight = words[..., None].view(np.uint8).transpose(0, 2, 1)
            out[8 * at : 8 * at + 8 * len(eight)] = eight.reshape(8 * len(eight), -1)
        return Bits(out[: self.width], count)

    def spread(self, columns: Indices) -> Bits:
        """Return a table of some of the columns, which may be taken several times."""
        # Rows of the turned table are copied whole, which is far quicker than bit by bit.
        turned = self.turned().rows
        out = np.zeros((len(self), (len(columns) + 7) // 8), dtype=np.uint8)
        step = max(1, CELLS_AT_ONCE // max(1, 8 * len(self)))
        for at in range(0, out.shape[1], step):
            some = Bits(turned[columns[8 * at : 8 * (at + step)]], len(self)).turned()
            out[:, at : at + step] = some.rows
        return Bits(out, len(columns))

    def sums(self, weights: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """Return for each row the sum of the weights of the columns where it is true."""
        padded = np.zeros(8 * self.rows.shape[1], dtype=np.int64)
        padded[: self.width] = weights
        every_byte = np.arange(256, dtype=np.uint8)[:, None]
        of_byte = np.unpackbits(every_byte, axis=1, bitorder="little") @ padded.reshape(-1, 8).T
        out = np.zeros(len(self), dtype=np.int64)
        places = np.arange(self.rows.shape[1])
        for some in blocks(*self.shape):
            out[some] = of_byte[self.rows[some], places].sum(axis=1)
        return out

    def counts(self) -> npt.NDArray[np.int64]:
        """Return how many of each row are true."""
        out = np.zeros(len(self), dtype=np.int64)
        for some in blocks(*self.shape):
            out[some] = np.bitwise_count(self.rows[some]).sum(axis=1, dtype=np.int64)
        return out

    def of_rows(self, rows: Indices) -> Bits:
        """Return a table of some of the rows, in their order and each once."""
        return self if len(rows) == len(self) else self.some(rows)

    def of_columns(self, columns: Indices) -> Bits:
        """Return a table of some of the columns, in their order and each once."""
        return self if len(columns) == self.width else self.spread(columns)

    def numbers(self) -> list[int]:
        """Return each row as a whole number, of which the lowest bit is the first truth value."""
        return [int.from_bytes(row.tobytes(), "little") for row in self.rows]


def blocks(count: int, width: int) -> Iterator[slice]:
    """Yield so many rows, some at once, so that they are not too many cells of some width."""
    step = max(1, CELLS_AT_ONCE // max(1, width))
    for start in range(0, count, step):
        yield slice(start, min(start + step, count))


def keys_of(rows: Bytes) -> list[bytes]:
    """Return each row as one value, to be looked up."""
    if not rows.shape[1]:
        return [b""] * len(rows)
    found: list[bytes] = np.ascontiguousarray(rows).view(f"V{rows.shape[1]}").ravel().tolist()
    return found


def alike(rows: Bytes) -> tuple[Indices, Indices]:
    """Return the first of each kind of equal rows, and for each row which kind it is."""
    # Rows are many and wide: what is known of them is their hash, and where the first of them is.
    known: dict[int, int] = {}
    earliest: list[int] = []
    for at, row in enumerate(rows):
        raw = row.tobytes()
        key = hash(raw)
        while (first_at := known.setdefault(key, at)) != at and rows[first_at].tobytes() != raw:
            key += 1
        earliest.append(first_at)
    first = np.array(list(known.values()), dtype=np.intp)
    return first, np.searchsorted(first, earliest).astype(np.intp)


def as_bytes(numbers: Indices) -> Bytes:
    """Return rows of whole numbers as rows of bytes."""
    return np.ascontiguousarray(numbers, dtype=np.int32).view(np.uint8)
