"""What conflicts of the options of all zones, among them marked ones of which at most one stands.

What is counted or searched for is asked of tables without marks, domain by domain: of some options
of each zone, of which one zone at most has marked ones and no others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod

import numpy as np

from geometry.measures.broadphase import Bools, Indices
from geometry.search.solving.marked_table import MarkedTable
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.tables import Merged, Pair, Tables, merged

Table = PairTable | MarkedTable

MARKED_AT_ONCE = 2**15
"""So many marked options are counted or searched at once, whose classes take a few kB each."""


@dataclass(frozen=True, eq=False)
class Domain:
    """Some options of each zone, of which one is `marked` in each combination, or none."""

    options: tuple[Indices, ...]
    marked: bool

    @property
    def combinations(self) -> int:
        """How many combinations there are, conflicts or not."""
        return prod(len(some) for some in self.options)

    def original(self, combination: Sequence[int]) -> tuple[int, ...]:
        """Return the numbers that a combination has among all options."""
        return tuple(int(k[n]) for k, n in zip(self.options, combination, strict=True))


@dataclass(frozen=True, eq=False)
class ZoneTables:
    """The options of each zone by number, and for pairs of zones (i < j) what conflicts.

    `clash[i, j]` has the shape (sizes[i], sizes[j]); a pair of zones without one has no conflicts.
    `marked[z]` tells which options of a zone are marked.
    """

    marked: tuple[Bools, ...]
    clash: Mapping[Pair, Table]

    @property
    def sizes(self) -> tuple[int, ...]:
        """How many options each zone has."""
        return tuple(len(marks) for marks in self.marked)

    def pair(self, i: int, j: int) -> Table | None:
        """Return the conflicts of zone `i` (rows) with zone `j` (columns); None when none."""
        if i < j:
            return self.clash.get((i, j))
        found = self.clash.get((j, i))
        return None if found is None else found.turned()

    def against(self, zone: int, other: int, option: int) -> Bools | None:
        """Return which options of a zone conflict with one of another; None when none can."""
        found = self.clash.get((min(zone, other), max(zone, other)))
        if found is None:
            return None
        return found.column(option) if zone < other else found.row(option)

    def fits(self, combination: Sequence[int]) -> bool:
        """Whether one option of each zone, by number, stand together."""
        return not any(
            table.at(combination[i], combination[j]) for (i, j), table in self.clash.items()
        )

    def standing(self, keep: Sequence[Indices]) -> tuple[int, ...] | None:
        """Return one option of each zone, of some, that stand together; None where none do.

        For few options of each zone, as every choice of them may be tried.
        """
        return self._standing(dict(enumerate(keep)), {})

    def _standing(
        self, still_open: Mapping[int, Indices], settled: Mapping[int, int]
    ) -> tuple[int, ...] | None:
        """Settle the other zones too, of which those options are open that stand with these."""
        if not still_open:
            return tuple(settled[zone] for zone in sorted(settled))
        zone = min(still_open, key=lambda z: len(still_open[z]))
        for number in still_open[zone].tolist():
            left = {}
            for other, numbers in still_open.items():
                if other != zone:
                    met = self.against(other, zone, number)
                    left[other] = numbers if met is None else numbers[~met[numbers]]
            found = self._standing(left, {**settled, zone: number})
            if found is not None:
                return found
        return None

    def kept(self, keep: Sequence[Indices]) -> Tables:
        """Return the tables of some of the options of each zone, without marks.

        Where several zones have marked options besides others, of few options only.
        """
        clash = {}
        for (i, j), table in self.clash.items():
            part = table.some(keep[i], keep[j])
            if part.any():
                clash[i, j] = part.whole() if isinstance(part, MarkedTable) else part
        return Tables(tuple(len(some) for some in keep), clash)

    def merged(self, domain: Domain) -> Merged:
        """Return the tables of a domain, with options that have the same conflicts merged."""
        return merged(self.kept(domain.options))

    def domains(self, keep: Sequence[Indices] | None = None) -> list[Domain]:
        """Return some options of each zone, split by the zone of which a marked one is chosen.

        First those where none is; then of each zone so many marked ones at a time. Each combination
        of which two are not marked is in one of them.
        """
        every = keep or [np.arange(size, dtype=np.intp) for size in self.sizes]
        plain, chosen = (
            [own[marks[own] == marked] for own, marks in zip(every, self.marked, strict=True)]
            for marked in (False, True)
        )
        split = [Domain(tuple(plain), marked=False)]
        for z, some in enumerate(chosen):
            for start in range(0, len(some), MARKED_AT_ONCE):
                part = some[start : start + MARKED_AT_ONCE]
                split.append(Domain((*plain[:z], part, *plain[z + 1 :]), marked=True))
        return split
