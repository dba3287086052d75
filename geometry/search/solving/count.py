"""The exact number of combinations that fit, without listing one of them.

Options with the same conflicts are merged (their numbers become weights), and zones that have no
conflict left are multiplied. The others are summed out table by table where that takes little, and
otherwise branched on class by class, with a memory of what was counted, until it does. Sums are of
whole numbers below 2**53, so floating point is exact; where they could pass that, the branching
goes on in whole numbers of any size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import prod
from time import perf_counter

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Indices
from geometry.search.long_work import Pauses
from geometry.search.solving.bits import Bits
from geometry.search.solving.eliminate import Factor, summed_out
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.tables import Merged, Tables, merged

Domains = tuple[tuple[int, int], ...]
"""Zones, each with a bit set of its classes that are still open."""

MOST_REMEMBERED = 100_000_000
"""What is remembered of what was counted takes so much memory at most (bytes, an estimate)."""

BYTES_A_ZONE = 150
"""What a zone takes in it beside its bit set."""

MOST_CELLS = 2**22
"""Tables to be summed out are held a byte for each truth value where that takes no more bytes."""

CLASSES_AT_ONCE = 1024
"""After so many classes that are branched on there is a pause."""

TOLD_EVERY_S = 0.1
"""How often at most a count is told of where it only pauses."""


@dataclass(frozen=True)
class Counting:
    """How far a count has come: what was found so far, and what at most is still to come.

    `share` of the tree of the first zones is done, from 0 to 1. When `done`, `found` is exact.
    """

    found: int
    at_most: int
    share: float
    done: bool

    @classmethod
    def total(cls, parts: Sequence[Counting]) -> Counting:
        """Return the sum of counts of different combinations, each as much of the whole."""
        return cls(
            sum(one.found for one in parts),
            sum(one.at_most for one in parts),
            sum(one.share for one in parts) / len(parts) if parts else 1.0,
            all(one.done for one in parts),
        )


@dataclass
class _Counter:
    tables: Tables
    weights: Sequence[npt.NDArray[np.int64]]
    memory: dict[Domains, int] = field(default_factory=dict)
    remembered: int = 0

    def __post_init__(self) -> None:
        self.full = [(1 << size) - 1 for size in self.tables.sizes]
        self.ints = [[int(w) for w in zone] for zone in self.weights]
        self.floats = [zone.astype(np.float64) for zone in self.weights]
        self._open_rows: dict[tuple[int, int], list[int]] = {}
        self._fits: dict[tuple[int, int], Bits] = {}

    def rows(self, zone: int, other: int) -> list[int] | None:
        """Return the classes of another zone that fit with each of one; None where all do."""
        # They take much memory and time, and most counts are over without them.
        found = self._open_rows.get((zone, other))
        if found is None and (table := self.tables.pair(zone, other)) is not None:
            found = self._open_rows[zone, other] = table.opposite().masks()
        return found

    def weight(self, zone: int, domain: int) -> int:
        if domain == self.full[zone]:
            return int(self.weights[zone].sum())
        return int(self.weights[zone][_indices(domain, self.tables.sizes[zone])].sum())

    def count(self, domains: Domains) -> Pauses[int]:
        """Return the number of combinations of zones, each with its domain as a bit set."""
        if any(not domain for _, domain in domains):
            return 0
        total = 1
        for part in self.parts(domains):
            total *= yield from self._connected(part)
            if not total:
                return 0
        return total

    def parts(self, domains: Domains) -> Iterator[Domains]:
        """Yield groups of zones between whose domains there is a conflict left."""
        left = list(domains)
        while left:
            group, edge = [left.pop(0)], 0
            while edge < len(group):
                here = group[edge]
                edge += 1
                far: list[tuple[int, int]] = []
                for other in left:
                    (group if self._touch(here, other) else far).append(other)
                left = far
            yield tuple(sorted(group))

    def _touch(self, one: tuple[int, int], other: tuple[int, int]) -> bool:
        (zone, mine), (beside, theirs) = one, other
        if (min(zone, beside), max(zone, beside)) not in self.tables.clash:
            return False
        if mine == self.full[zone] and theirs == self.full[beside]:
            return True
        rows = self.rows(zone, beside)
        return rows is not None and any(theirs & ~rows[x] for x in _bits(mine))

    def _connected(self, part: Domains) -> Pauses[int]:
        if len(part) == 1:
            return self.weight(*part[0])
        known = self.memory.get(part)
        if known is None:
            known = yield from self._leaf(part)
            if known is None:
                known = 0
                for times, rest in (yield from self.branches(part)):
                    known += times * (yield from self.count(rest))
                    yield
            self._remember(part, known)
        return known

    def _remember(self, part: Domains, known: int) -> None:
        """Keep a count; what was kept before is forgotten where it becomes too much."""
        self.remembered += sum(BYTES_A_ZONE + self.tables.sizes[z] // 8 for z, _ in part)
        if self.remembered > MOST_REMEMBERED:
            self.memory.clear()
            self.remembered = 0
        self.memory[part] = known

    def known(self, domains: Domains) -> Pauses[bool]:
        """Whether zones can be counted at once; if so they have been, and it is remembered."""
        found = self.memory.get(domains)
        if found is None:
            found = yield from self._leaf(domains)
            if found is not None:
                self._remember(domains, found)
        return found is not None

    def branches(self, part: Domains) -> Pauses[list[tuple[int, Domains]]]:
        """Return weights and what is left of the other zones, for each class of one zone."""
        best: dict[tuple[int, ...], int] | None = None
        chosen = 0
        for k, (zone, domain) in enumerate(part):
            others = [(self.rows(zone, z), d) for z, d in part if z != zone]
            groups: dict[tuple[int, ...], int] = {}
            weights = self.ints[zone]
            for n, x in enumerate(_bits(domain)):
                if n % CLASSES_AT_ONCE == CLASSES_AT_ONCE - 1:
                    yield
                key = tuple([d if rows is None else rows[x] & d for rows, d in others])
                groups[key] = groups.get(key, 0) + weights[x]
            if best is None or len(groups) < len(best):
                best, chosen = groups, k
        assert best is not None
        zones = [z for k, (z, _) in enumerate(part) if k != chosen]
        return [
            (times, tuple(zip(zones, key, strict=True))) for key, times in best.items() if all(key)
        ]

    def _leaf(self, part: Domains) -> Pauses[int | None]:
        """Return the count of some zones by summing them out; None where that takes too much."""
        picks = {z: _indices(d, self.tables.sizes[z]) for z, d in part}
        factors = []
        for (i, j), table in self.tables.clash.items():
            if i in picks and j in picks:
                factors.append(self._factor((i, j), table, picks[i], picks[j]))
                yield
        weights = {z: self.floats[z][pick] for z, pick in picks.items()}
        return (yield from summed_out(weights, factors))

    def _factor(
        self, pair: tuple[int, int], table: PairTable, picked: Indices, beside: Indices
    ) -> Factor:
        """Return what fits of some classes of two zones."""
        own, others = table.rows[picked], table.columns[beside]
        rows, at = np.unique(own, return_inverse=True)
        columns, there = np.unique(others, return_inverse=True)
        if len(rows) * len(columns) <= MOST_CELLS:
            fits = table.cells.part(rows, columns)
            np.logical_not(fits, out=fits)
            return Factor(pair, (at, there), fits)
        if pair not in self._fits:
            self._fits[pair] = table.cells.opposite()
        return Factor(pair, (own, others), self._fits[pair])


def counting(tables: Tables | Merged, seconds: float | None = None) -> Iterator[Counting]:
    """Count what fits, yielding how far it has come; the last one is exact unless stopped.

    Stops after `seconds` with what was found so far.
    """
    start = told = perf_counter()
    small = tables if isinstance(tables, Merged) else merged(tables)
    if not all(small.tables.sizes):
        yield Counting(0, 0, 1.0, done=True)
        return
    counter = _Counter(small.tables, small.weights)
    parts = list(counter.parts(tuple(enumerate(counter.full))))
    sizes = [_raw(counter, part) for part in parts]
    known = 1
    for at, part in enumerate(parts):
        rest = prod(sizes[at + 1 :])
        found, seen = 0, 0
        for more in _steps(counter, part):
            now = perf_counter()
            over = seconds is not None and now - start > seconds
            if more is not None and not over:
                found, seen = found + more[0], seen + more[1]
            if over or more is not None or now - told > TOLD_EVERY_S:
                at_most = known * (found + max(0, sizes[at] - seen)) * rest
                share = seen / sizes[at]
                yield Counting(_sure(known * found, rest), at_most, share, done=False)
                told = perf_counter()
            if over:
                return
        known *= found
        if not known:
            break
    yield Counting(known, known, 1.0, done=True)


def _sure(found: int, rest: int) -> int:
    """Return what is surely there while other groups of zones have not been counted."""
    return found if rest == 1 else 0


def _raw(counter: _Counter, part: Domains) -> int:
    return prod(counter.weight(zone, domain) for zone, domain in part)


def _steps(counter: _Counter, part: Domains) -> Iterator[tuple[int, int] | None]:
    """Yield how many combinations fit of how many, branch by branch, and None at each pause."""
    yield None
    for branch in _branched(counter, part):
        yield None
        if branch is not None:
            times, left = branch
            found = yield from counter.count(left)
            yield times * found, times * _raw(counter, left)


def _branched(counter: _Counter, part: Domains) -> Iterator[tuple[int, Domains] | None]:
    """Yield weights and what is left open, for the classes of one zone, and below it of another.

    What is shut at once is left out. Yields None at each pause.
    """
    if len(part) <= 2 or (yield from counter.known(part)):
        yield 1, part
        return
    for times, left in (yield from counter.branches(part)):
        if len(left) <= 2 or (yield from counter.known(left)):
            yield times, left
            continue
        for more, deeper in (yield from counter.branches(left)):
            yield times * more, deeper


def count_all(tables: Tables | Merged) -> int:
    """Return the exact number of combinations that fit, however long it takes."""
    *_, last = counting(tables)
    return last.found


def _bits(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def _indices(mask: int, size: int) -> npt.NDArray[np.intp]:
    raw = np.frombuffer(mask.to_bytes((size + 7) // 8, "little"), dtype=np.uint8)
    return np.flatnonzero(np.unpackbits(raw, count=size, bitorder="little"))
