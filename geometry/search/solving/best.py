"""The best combination by one measure: branch and bound over what dominance leaves.

A measure adds up over the zones, or is the least over them. Zones are filled one after the other,
best option first; a branch is left when even the best that is still open in every other zone
cannot beat what was found. Floors on other measures bound in the same way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf
from time import perf_counter
from typing import Literal

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.search.long_work import Pauses
from geometry.search.solving.dominance import Worthy, sifting
from geometry.search.solving.tables import Merged

Kind = Literal["sum", "least"]

YIELD_EVERY = 2000
"""So many branches are looked at between two pauses."""

FOR_DOMINANCE = 0.5
"""The share of the time at most in which it is looked what others can stand in for."""

Combination = tuple[int, ...]


@dataclass(frozen=True)
class Bounding:
    """How far the search for the best has come: the best found, and what at most there is.

    `combination` numbers the worthy options; None while nothing fits. `values` has one figure a
    measure. When `done`, the best is proven.
    """

    combination: Combination | None
    values: tuple[float, ...]
    at_most: float
    done: bool


@dataclass
class Climber:
    """Branch and bound over worthy options, for the first measure, then the second, and so on.

    `kinds` says how each measure goes together over the zones.
    """

    worthy: Worthy
    kinds: Sequence[Kind]
    order: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        sizes = self.worthy.tables.sizes
        zones = range(len(sizes))
        # Options are renumbered, best first, so that the lowest bit open is the best one open.
        self.ranked: list[list[int]] = []
        for z in zones:
            values = self.worthy.values[z]
            keys = [tuple(-v for v in row) for row in values.tolist()]
            self.ranked.append(sorted(range(sizes[z]), key=keys.__getitem__))
        self.value = [
            [tuple(self.worthy.values[z][k].tolist()) for k in self.ranked[z]] for z in zones
        ]
        self.open_rows: dict[tuple[int, int], list[int]] = {}
        ranked = [np.array(order, dtype=np.intp) for order in self.ranked]
        for (i, j), table in self.worthy.tables.clash.items():
            again = table.some(ranked[i], ranked[j])
            for one, other, side in ((i, j, again), (j, i, again.turned())):
                self.open_rows[one, other] = side.opposite().masks()
        self.levels = [[_levels(self.value[z], m) for m in range(len(self.kinds))] for z in zones]
        if not self.order:
            self.order = sorted(zones, key=lambda z: -self.worthy.tables.load(z))

    def at_most(self, domains: Mapping[int, int], so_far: tuple[float, ...]) -> tuple[float, ...]:
        """Return what at most comes of open domains, measure by measure."""
        out = []
        for m, kind in enumerate(self.kinds):
            total = so_far[m]
            for zone, domain in domains.items():
                level = next(level for level, mask in self.levels[zone][m] if mask & domain)
                total = total + level if kind == "sum" else min(total, level)
            out.append(total)
        return tuple(out)

    def added(self, so_far: tuple[float, ...], zone: int, k: int) -> tuple[float, ...]:
        """Return the values with one more option."""
        return tuple(
            s + v if kind == "sum" else min(s, v)
            for s, v, kind in zip(so_far, self.value[zone][k], self.kinds, strict=True)
        )

    def narrowed(self, domains: Mapping[int, int], zone: int, k: int) -> dict[int, int]:
        """Return what stays open in the other zones when one is filled."""
        left = {}
        for z, d in domains.items():
            if z != zone:
                rows = self.open_rows.get((zone, z))
                left[z] = d if rows is None else d & rows[k]
        return left

    def climb(
        self, floors: Sequence[float] | None = None, seconds: float | None = None
    ) -> Iterator[Bounding]:
        """Search for the best with every measure at least at its floor; the last one is the end.

        Ties of the first measure go to the best in the next ones.
        """
        run = _Climb(self, list(floors) if floors is not None else [-inf] * len(self.kinds))
        start = perf_counter()
        whole = {z: (1 << n) - 1 for z, n in enumerate(self.worthy.tables.sizes)}
        top = self.at_most(whole, run.nothing)
        for _ in run.descend(whole, run.nothing):
            yield run.state(top, done=False)
            if seconds is not None and perf_counter() - start > seconds:
                return
        yield run.state(top, done=True)


def climbing(
    classes: Merged, values: Sequence[Floats], kinds: Sequence[Kind], seconds: float | None
) -> Pauses[tuple[Climber, float | None]]:
    """Return what searches the options that no other stands in for, and the seconds left for it."""
    start = perf_counter()
    least = None if seconds is None else FOR_DOMINANCE * seconds
    climber = Climber((yield from sifting(classes, values, least)), kinds)
    return climber, None if seconds is None else seconds - (perf_counter() - start)


class _Climb:
    """One run: what was found so far."""

    def __init__(self, climber: Climber, floors: list[float]) -> None:
        self.of = climber
        self.floors = floors
        self.best: tuple[float, ...] | None = None
        self.picked: dict[int, int] = {}
        self.found: Combination | None = None
        self.nodes = 0
        self.nothing = tuple(0.0 if kind == "sum" else inf for kind in climber.kinds)

    def state(self, top: tuple[float, ...], *, done: bool) -> Bounding:
        at_most = self.best[0] if done and self.best is not None else top[0]
        return Bounding(self.found, self.best or (), at_most, done)

    def worse(self, bound: tuple[float, ...]) -> bool:
        """Whether a bound misses a floor, or cannot beat the best found."""
        for value, floor in zip(bound, self.floors, strict=True):
            if value < floor:
                return True
        return self.best is not None and bound <= self.best

    def descend(self, domains: dict[int, int], so_far: tuple[float, ...]) -> Iterator[None]:
        if not domains:
            self.best = so_far
            self.found = tuple(
                self.of.ranked[z][self.picked[z]] for z in range(len(self.of.ranked))
            )
            return
        zone = min(domains, key=self.of.order.index)
        domain = domains[zone]
        kinds, values = self.of.kinds, self.of.value[zone]
        others = [(z, d, self.of.open_rows.get((zone, z))) for z, d in domains.items() if z != zone]
        rest = self.of.at_most({z: d for z, d, _ in others}, so_far)
        while domain:
            low = domain & -domain
            domain ^= low
            k = low.bit_length() - 1
            quick = tuple(
                r + v if kind == "sum" else min(r, v)
                for r, v, kind in zip(rest, values[k], kinds, strict=True)
            )
            if self.best is not None and quick[0] < self.best[0]:
                return
            if self.worse(quick):
                continue
            self.nodes += 1
            if self.nodes % YIELD_EVERY == 0:
                yield
            left = {z: d if rows is None else d & rows[k] for z, d, rows in others}
            if not all(left.values()):
                continue
            here = self.of.added(so_far, zone, k)
            if self.worse(self.of.at_most(left, here)):
                continue
            self.picked[zone] = k
            yield from self.descend(left, here)


def _levels(values: Sequence[tuple[float, ...]], measure: int) -> list[tuple[float, int]]:
    """Return the distinct values of a measure, best first, each with the options that have it."""
    masks: dict[float, int] = {}
    for k, row in enumerate(values):
        masks[row[measure]] = masks.get(row[measure], 0) | 1 << k
    return sorted(masks.items(), reverse=True)
