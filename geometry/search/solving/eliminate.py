"""Counting by summing one zone after the other out of a product of tables.

The number of combinations that fit is the sum, over one class of every zone, of the product of
weights and of tables of what fits (1 or 0). A zone occurs in few of the tables: they are multiplied
and summed over its classes, which leaves one table over its neighbours. Where zones touch few
others these tables stay small. Source: R. Dechter, Bucket elimination: a unifying framework for
reasoning, Artificial Intelligence 113 (1999), 41-85.

A table feels fewer differences than there are classes, so each holds what it can tell apart once,
and sums are made of that; much of it some classes at a time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import prod
from string import ascii_letters

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.long_work import Pauses
from geometry.search.solving.bits import Bits

EXACT_FLOAT = 2**53
"""Whole numbers below this are exact in a 64-bit float (IEEE 754)."""

MOST_WORK = 1_500_000_000
MOST_MULTIPLIED = 100_000_000_000
MOST_CELLS = 10_000_000
"""A zone is summed out when that takes at most so many products, and makes no larger table. Where
each other zone is in but one of its tables, these are multiplied as matrices, which is quicker."""

CELLS_AT_ONCE = 2**21
"""Of what is multiplied so many figures are made at once, eight bytes each."""


@dataclass(frozen=True, eq=False)
class Factor:
    """A table of figures over the classes of some zones, one axis each; no figure is over `most`.

    What is told of class `k` of zone `zones[n]` stands at `places[n][k]` of axis `n`.
    """

    zones: tuple[int, ...]
    places: tuple[Indices, ...]
    table: Floats | Bools | Bits
    most: float = 1.0

    def of(self, zone: int) -> Indices:
        """Return the places of the classes of a zone."""
        return self.places[self.zones.index(zone)]

    def of_class(self, zone: int) -> Floats:
        """Return the figure of each class of its only zone."""
        found: Floats = np.asarray(self.table)[self.of(zone)]
        return found

    def part(self, places: Mapping[int, Indices]) -> Floats:
        """Return the figures at some places of some of its axes, and at all of the others."""
        if isinstance(self.table, Bits):
            every = [np.arange(size, dtype=np.intp) for size in self.table.shape]
            rows, columns = (places.get(z, all_) for z, all_ in zip(self.zones, every, strict=True))
            return self.table.part(rows, columns).astype(np.float64)
        found = np.asarray(self.table)
        for axis, zone in enumerate(self.zones):
            if zone in places:
                found = np.take(found, places[zone], axis=axis)
        return found.astype(np.float64, copy=False)


def summed_out(weights: Mapping[int, Floats], tables: Sequence[Factor]) -> Pauses[int | None]:
    """Return the count over some zones; None where it would take too much at once.

    `weights` has one figure for each class of each zone; `tables` tell what fits. Exact: None is
    returned where sums could pass whole floats.
    """
    factors = [
        Factor((zone,), (np.arange(len(w)),), w, float(w.max(initial=0.0)))
        for zone, w in weights.items()
    ]
    factors += tables
    left, total = set(weights), 1
    while left:
        sums = [_Sum.of(zone, [f for f in factors if zone in f.zones]) for zone in left]
        one = min(sums, key=lambda s: (s.work, s.zone))
        if one.work > one.most_work or one.cells > MOST_CELLS:
            return None
        factors = [f for f in factors if one.zone not in f.zones]
        left.remove(one.zone)
        if not one.around:
            total *= one.whole()
            continue
        factors.append((yield from one.factor()))
        if factors[-1].most >= EXACT_FLOAT:
            return None
    return total


@dataclass(frozen=True, eq=False)
class _Sum:
    """The product of some tables, to be summed over one zone.

    `alone` are those over that zone and no other. `kinds` numbers what the others tell apart of its
    classes, `own` has the place in each of them of each kind. `around` are the other zones, each
    with what is told apart of its classes by all tables that have it: the place of each class, and
    the places of these in each table.
    """

    zone: int
    alone: Sequence[Factor]
    shared: Sequence[Factor]
    kinds: Indices
    own: Sequence[Indices]
    around: Mapping[int, tuple[Indices, Mapping[int, Indices]]]

    @classmethod
    def of(cls, zone: int, factors: Sequence[Factor]) -> _Sum:
        """Return the product of the tables that have a zone."""
        alone = [f for f in factors if len(f.zones) == 1]
        shared = [f for f in factors if len(f.zones) > 1]
        around = {}
        for other in sorted({z for f in shared for z in f.zones} - {zone}):
            having = [n for n, f in enumerate(shared) if other in f.zones]
            kinds, told = _told_apart([shared[n].of(other) for n in having])
            around[other] = (kinds, dict(zip(having, told, strict=True)))
        kinds, own = _told_apart([f.of(zone) for f in shared] or [alone[0].of(zone)])
        return cls(zone, alone, shared, kinds, own, around)

    @property
    def cells(self) -> int:
        """How many figures it makes."""
        return prod(len(next(iter(told.values()))) for _, told in self.around.values())

    @property
    def work(self) -> int:
        """How many products it takes."""
        return len(self.own[0]) * self.cells

    @property
    def most_work(self) -> int:
        """How many it may take."""
        once = all(len(told) == 1 for _, told in self.around.values())
        return max(MOST_WORK, MOST_MULTIPLIED) if once else MOST_WORK

    def whole(self) -> int:
        """Return the sum where no other zone is left, in whole numbers of any size."""
        of_class = [list(map(int, f.of_class(self.zone).tolist())) for f in self.alone]
        return sum(prod(figures) for figures in zip(*of_class, strict=True))

    def factor(self) -> Pauses[Factor]:
        """Return the table over the other zones that it leaves; pauses after so many products."""
        of_class = np.ones(len(self.kinds))
        for f in self.alone:
            of_class *= f.of_class(self.zone)
        times = np.bincount(self.kinds, weights=of_class, minlength=len(self.own[0]))
        summed: Floats = np.zeros(
            [len(next(iter(told.values()))) for _, told in self.around.values()]
        )
        for some in self._blocks():
            parts = [
                f.part(
                    {self.zone: self.own[n][some]}
                    | {z: t[n] for z, (_, t) in self.around.items() if n in t}
                )
                for n, f in enumerate(self.shared)
            ]
            summed += self._product(times[some].astype(np.float64), parts)
            yield
        most = float(times.sum()) * prod(f.most for f in self.shared)
        return Factor(tuple(self.around), tuple(k for k, _ in self.around.values()), summed, most)

    def _product(self, times: Floats, parts: Sequence[Floats]) -> Floats:
        """Return the sum of the products of figures of some kinds, each so many times."""
        if len(self.around) == 1:
            # Of one other zone the figures are multiplied one by one, which is quicker by hand.
            first, *others = (
                part if f.zones[0] == self.zone else part.T
                for f, part in zip(self.shared, parts, strict=True)
            )
            for part in others:
                first = first * part
            return times @ first
        names = dict(zip((self.zone, *self.around), ascii_letters, strict=False))
        told = [names[self.zone], *("".join(names[z] for z in f.zones) for f in self.shared)]
        formula = f"{','.join(told)}->{''.join(names[z] for z in self.around)}"
        product: Floats = np.einsum(formula, times, *parts, optimize="greedy")
        return product

    def _blocks(self) -> Iterator[slice]:
        """Yield kinds of the zone, so many at once that what is multiplied is not too much."""
        sizes = [len(next(iter(told.values()))) for _, told in self.around.values()]
        wide = [
            prod(len(told[n]) for _, told in self.around.values() if n in told)
            for n in range(len(self.shared))
        ]
        if len(sizes) > 2:
            # The last of three and more is multiplied with the product of all others.
            wide.append(self.cells // max(1, *sizes))
        step = max(1, CELLS_AT_ONCE // max(1, *wide))
        for start in range(0, len(self.own[0]), step):
            yield slice(start, start + step)


def _told_apart(places: Sequence[Indices]) -> tuple[Indices, list[Indices]]:
    """Return which kind each class is by its places in some tables, and the places of each kind."""
    kinds = places[0]
    for more in places[1:]:
        _, kinds = np.unique(kinds * (int(more.max(initial=0)) + 1) + more, return_inverse=True)
    _, first, kinds = np.unique(kinds, return_index=True, return_inverse=True)
    return kinds.astype(np.intp), [one[first] for one in places]
