"""Which options of all zones cannot stand together, as one table for each pair of zones.

A table is the proof: what no table forbids stands together. Options with the same conflicts are
merged into one class, so that counts multiply and searches branch once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Bools, Indices
from geometry.search.solving.bits import Bits, alike, as_bytes
from geometry.search.solving.pair_table import PairTable

Pair = tuple[int, int]


@dataclass(frozen=True, eq=False)
class Tables:
    """The options of each zone by number, and for pairs of zones (i < j) what conflicts.

    `clash[i, j]` has the shape (sizes[i], sizes[j]); a pair of zones without one has no conflicts.
    """

    sizes: tuple[int, ...]
    clash: Mapping[Pair, PairTable]

    @classmethod
    def of(cls, sizes: Sequence[int], clash: Mapping[Pair, Bools]) -> Tables:
        """Return the classes of tables of all pairs of options, of zones i < j."""
        return cls(tuple(sizes), {pair: PairTable.of(table) for pair, table in clash.items()})

    def pair(self, i: int, j: int) -> PairTable | None:
        """Return the conflicts of zone `i` (rows) with zone `j` (columns); None when none."""
        if i < j:
            return self.clash.get((i, j))
        found = self.clash.get((j, i))
        return None if found is None else found.turned()

    def kept(self, keep: Sequence[Indices]) -> Tables:
        """Return the tables of some of the options of each zone."""
        sizes = tuple(len(k) for k in keep)
        clash = {}
        for (i, j), table in self.clash.items():
            part = table.some(keep[i], keep[j])
            if part.any():
                clash[i, j] = part
        return Tables(sizes, clash)

    def conflicts_of(self, zone: int) -> Bits:
        """Return the conflicts of the options of a zone, one row each, with classes of options.

        The classes of the other zones stand side by side, those of each begin with a byte.
        """
        having = {pair: table for pair, table in self.clash.items() if zone in pair}
        widths = [
            ((table.cells.width if zone == i else len(table.cells)) + 7) // 8
            for (i, _), table in having.items()
        ]
        together = np.zeros((self.sizes[zone], sum(widths)), dtype=np.uint8)
        start = 0
        for ((i, _), table), width in zip(having.items(), widths, strict=True):
            cells = table.cells if zone == i else table.cells.turned()
            places = table.rows if zone == i else table.columns
            together[:, start : start + width] = cells.rows[places]
            start += width
        return Bits(together, 8 * together.shape[1])

    def classes_of(self, zone: int) -> Indices:
        """Return the class of each option of a zone in the tables with other zones, (options, n).

        Options of which all classes are the same have the same conflicts.
        """
        classes = [np.zeros((self.sizes[zone], 0), dtype=np.intp)]
        for (i, j), table in self.clash.items():
            if zone in (i, j):
                classes.append((table.rows if zone == i else table.columns)[:, None])
        return np.concatenate(classes, axis=1)

    def load(self, zone: int) -> float:
        """The shares of pairs of options that conflict, summed over the tables of a zone."""
        return sum(table.share for pair, table in self.clash.items() if zone in pair)


@dataclass(frozen=True, eq=False)
class Merged:
    """Tables of classes of options; `members[z][c]` are the options of class `c` of zone `z`."""

    tables: Tables
    members: tuple[tuple[Indices, ...], ...]

    @cached_property
    def weights(self) -> tuple[npt.NDArray[np.int64], ...]:
        """How many options each class has."""
        return tuple(np.array([len(m) for m in zone], dtype=np.int64) for zone in self.members)


def merged(tables: Tables) -> Merged:
    """Merge the options of each zone that have the same conflicts."""
    members: list[tuple[Indices, ...]] = []
    first: list[Indices] = []
    for zone in range(len(tables.sizes)):
        heads, home = alike(as_bytes(tables.classes_of(zone)))
        order = np.argsort(home, kind="stable")
        starts = np.searchsorted(home[order], np.arange(len(heads)))
        members.append(tuple(np.split(order, starts[1:])) if len(heads) else ())
        first.append(heads)
    # Each class of a table has an option among the first, and so all of its cells stay.
    clash = {
        (i, j): PairTable(table.rows[first[i]], table.columns[first[j]], table.cells)
        for (i, j), table in tables.clash.items()
        if table.any()
    }
    return Merged(Tables(tuple(map(len, first)), clash), tuple(members))
