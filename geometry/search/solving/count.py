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

from geometry.search.solving.eliminate import Factor, summed_out
from geometry.search.solving.tables import Merged, Tables, merged

Domains = tuple[tuple[int, int], ...]
"""Zones, each with a bit set of its classes that are still open."""

MOST_REMEMBERED = 100_000_000
"""What is remembered of what was counted takes so much memory at most (bytes, an estimate)."""

BYTES_A_ZONE = 150
"""What a zone takes in it beside its bit set."""

MOST_CELLS = 2**26
"""Tables are summed out where they have so many truth values in all at most, a byte each."""


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
        self.rows: dict[tuple[int, int], list[int]] = {}
        for (i, j), table in self.tables.clash.items():
            self.rows[i, j] = table.opposite().masks()
            self.rows[j, i] = table.turned().opposite().masks()
        self.ints = [[int(w) for w in zone] for zone in self.weights]
        self.floats = [zone.astype(np.float64) for zone in self.weights]

    def weight(self, zone: int, domain: int) -> int:
        if domain == self.full[zone]:
            return int(self.weights[zone].sum())
        return int(self.weights[zone][_indices(domain, self.tables.sizes[zone])].sum())

    def count(self, domains: Domains) -> int:
        """Return the number of combinations of zones, each with its domain as a bit set."""
        if any(not domain for _, domain in domains):
            return 0
        total = 1
        for part in self.parts(domains):
            total *= self._connected(part)
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
        rows = self.rows.get((one[0], other[0]))
        if rows is None:
            return False
        mine, theirs = one[1], other[1]
        return any(theirs & ~rows[x] for x in _bits(mine))

    def _connected(self, part: Domains) -> int:
        if len(part) == 1:
            return self.weight(*part[0])
        known = self.memory.get(part)
        if known is None:
            known = self._leaf(part)
            if known is None:
                known = sum(times * self.count(rest) for times, rest in self.branches(part))
            self._remember(part, known)
        return known

    def _remember(self, part: Domains, known: int) -> None:
        """Keep a count; what was kept before is forgotten where it becomes too much."""
        self.remembered += sum(BYTES_A_ZONE + self.tables.sizes[z] // 8 for z, _ in part)
        if self.remembered > MOST_REMEMBERED:
            self.memory.clear()
            self.remembered = 0
        self.memory[part] = known

    def known(self, domains: Domains) -> bool:
        """Whether zones can be counted at once; if so they have been, and it is remembered."""
        found = self.memory.get(domains)
        if found is None:
            found = self._leaf(domains)
            if found is not None:
                self._remember(domains, found)
        return found is not None

    def branches(self, part: Domains) -> list[tuple[int, Domains]]:
        """Return weights and what is left of the other zones, for each class of one zone."""
        best: dict[tuple[int, ...], int] | None = None
        chosen = 0
        for k, (zone, domain) in enumerate(part):
            others = [(self.rows.get((zone, z)), d) for z, d in part if z != zone]
            groups: dict[tuple[int, ...], int] = {}
            weights = self.ints[zone]
            for x in _bits(domain):
                key = tuple([d if rows is None else rows[x] & d for rows, d in others])
                groups[key] = groups.get(key, 0) + weights[x]
            if best is None or len(groups) < len(best):
                best, chosen = groups, k
        assert best is not None
        zones = [z for k, (z, _) in enumerate(part) if k != chosen]
        return [
            (times, tuple(zip(zones, key, strict=True))) for key, times in best.items() if all(key)
        ]

    def _leaf(self, part: Domains) -> int | None:
        """Return the count of some zones by summing them out; None where that takes too much."""
        picks = {z: _indices(d, self.tables.sizes[z]) for z, d in part}
        factors, cells = [], 0
        for (i, j), table in self.tables.clash.items():
            if i in picks and j in picks:
                rows, at = np.unique(table.rows[picks[i]], return_inverse=True)
                columns, beside = np.unique(table.columns[picks[j]], return_inverse=True)
                cells += len(rows) * len(columns)
                if cells > MOST_CELLS:
                    return None
                fits = table.cells.part(rows, columns)
                np.logical_not(fits, out=fits)
                factors.append(Factor((i, j), (at, beside), fits))
        return summed_out({z: self.floats[z][pick] for z, pick in picks.items()}, factors)


def counting(tables: Tables | Merged, seconds: float | None = None) -> Iterator[Counting]:
    """Count what fits, yielding how far it has come; the last one is exact unless stopped.

    Stops after `seconds` with what was found so far.
    """
    start = perf_counter()
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
        for times, left in _steps(counter, part):
            if seconds is not None and perf_counter() - start > seconds:
                at_most = known * (found + sizes[at] - seen) * rest
                yield Counting(_sure(known * found, rest), at_most, seen / sizes[at], done=False)
                return
            found += times * counter.count(left)
            seen += times * _raw(counter, left)
            at_most = known * (found + max(0, sizes[at] - seen)) * rest
            yield Counting(_sure(known * found, rest), at_most, seen / sizes[at], done=False)
        known *= found
        if not known:
            break
    yield Counting(known, known, 1.0, done=True)


def _sure(found: int, rest: int) -> int:
    """Return what is surely there while other groups of zones have not been counted."""
    return found if rest == 1 else 0


def _raw(counter: _Counter, part: Domains) -> int:
    return prod(counter.weight(zone, domain) for zone, domain in part)


def _steps(counter: _Counter, part: Domains) -> Iterator[tuple[int, Domains]]:
    """Yield weights and what is left open, for the classes of one zone, and below it of another.

    What is shut at once is left out.
    """
    if len(part) <= 2 or counter.known(part):
        yield 1, part
        return
    for times, left in counter.branches(part):
        if len(left) <= 2 or counter.known(left):
            yield times, left
            continue
        for more, deeper in counter.branches(left):
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
