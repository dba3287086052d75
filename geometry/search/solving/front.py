"""The best trade-offs: combinations that no other beats in one measure without losing in another.

Two measures: the best in the first, then the best in the first with more of the second, and so on;
each step is a proof, so the front is whole. More measures: one branch and bound that keeps all
that is not beaten yet and leaves a branch when what at most comes of it is beaten already.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import inf
from time import perf_counter

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.search.long_work import Pauses, told_as
from geometry.search.solving.best import YIELD_EVERY, Bounding, Climber, Combination, Kind
from geometry.search.solving.dominance import sifting
from geometry.search.solving.tables import Merged

FOR_DOMINANCE = 0.5
"""The share of the time at most in which it is looked what others can stand in for."""


@dataclass(frozen=True)
class FrontPoint:
    """One trade-off: worthy options by number, and its values, more is better."""

    combination: Combination
    values: tuple[float, ...]


@dataclass(frozen=True)
class Front:
    """The trade-offs found so far, best in the first measure first; proven whole when `done`.

    `at_most` is what the first measure of those that may still be missing does not pass.
    """

    points: tuple[FrontPoint, ...]
    done: bool
    at_most: float | None = None


def front(
    classes: Merged,
    values: Sequence[Floats],
    kinds: Sequence[Kind],
    seconds: float | None = None,
) -> Iterator[Front]:
    """Search for the front of some measures; the last one that is yielded is the end of it.

    `values[z]` has shape (options of zone z, measures), more is better. Combinations number all
    options, merged or not.
    """
    start = perf_counter()
    if not all(classes.tables.sizes):
        yield Front((), done=True)
    elif not classes.members:
        nothing = tuple(0.0 if kind == "sum" else inf for kind in kinds)
        yield Front((FrontPoint((), nothing),), done=True)
    elif len(kinds) == 2 and "least" in kinds:
        yield from _by_thresholds(classes, values, kinds, seconds)
    else:
        least = None if seconds is None else FOR_DOMINANCE * seconds
        left = yield from told_as(sifting(classes, values, least), partial(_so_far, ()))
        climber = Climber(left, kinds)
        steps = _step_by_step if len(kinds) <= 2 else _all_at_once
        rest = None if seconds is None else seconds - (perf_counter() - start)
        for state in steps(climber, rest):
            points = tuple(FrontPoint(left.original(p.combination), p.values) for p in state.points)
            yield Front(points, state.done, state.at_most)


def _so_far(points: Sequence[FrontPoint], _: None) -> Front:
    return Front(tuple(points), done=False)


def _by_thresholds(
    classes: Merged, values: Sequence[Floats], kinds: Sequence[Kind], seconds: float | None
) -> Iterator[Front]:
    """Yield the front of two measures of which one is the least over the zones.

    Options under a threshold of that one are left out; then the other alone is a plain best, and
    the highest threshold with the same best is found by halving.
    """
    start = perf_counter()
    floor_at = 1 if kinds[1] == "least" else 0
    other = 1 - floor_at
    levels = np.unique(np.concatenate([v[:, floor_at] for v in values]))
    # No combination's least value passes the best of the zone that has the worst best.
    levels = levels[levels <= min(float(v[:, floor_at].max()) for v in values)]
    points: list[FrontPoint] = []
    low = 0
    known: dict[int, Bounding] = {}

    def best_above(at: int) -> Pauses[Bounding]:
        if at not in known:
            left = None if seconds is None else seconds - (perf_counter() - start)
            if left is not None and left < 0.0 and known:
                return Bounding(None, (), inf, done=False)
            known[at] = yield from _best_with(
                classes, values, floor_at, other, kinds[other], levels[at], left
            )
        return known[at]

    def point(state: Bounding) -> list[FrontPoint]:
        if state.combination is None:
            return []
        least = min(float(v[k, floor_at]) for v, k in zip(values, state.combination, strict=True))
        pair = (state.values[0], least) if floor_at == 1 else (least, state.values[0])
        return [FrontPoint(state.combination, pair)]

    while low < len(levels):
        here = yield from told_as(best_above(low), partial(_so_far, points))
        if not here.done:
            yield Front((*points, *point(here)), done=False)
            return
        if here.combination is None:
            break
        high = len(levels) - 1
        same = low
        while same < high:
            middle = (same + high + 1) // 2
            there = yield from told_as(best_above(middle), partial(_so_far, points))
            if not there.done:
                yield Front((*points, *point(known.get(same, here))), done=False)
                return
            if there.combination is not None and there.values[0] >= here.values[0] - 1e-9:
                same = middle
            else:
                high = middle - 1
        points += point(known.get(same, here))
        yield Front(tuple(points), done=False)
        low = same + 1
    points.sort(key=lambda p: tuple(-v for v in p.values))
    yield Front(tuple(points), done=True)


def _best_with(
    classes: Merged,
    values: Sequence[Floats],
    floor_at: int,
    other: int,
    kind: Kind,
    floor: float,
    seconds: float | None,
) -> Pauses[Bounding]:
    """Return the best of one measure among options that reach a floor in another."""
    reaches = [v[:, floor_at] >= floor for v in values]
    members = [
        [m[reach[m]] for m in zone] for zone, reach in zip(classes.members, reaches, strict=True)
    ]
    used = [np.array([c for c, m in enumerate(zone) if len(m)], dtype=np.intp) for zone in members]
    few = Merged(
        classes.tables.kept(used), tuple(tuple(m for m in zone if len(m)) for zone in members)
    )
    if not all(few.tables.sizes):
        return Bounding(None, (), -inf, done=True)
    start = perf_counter()
    least = None if seconds is None else FOR_DOMINANCE * seconds
    left = yield from sifting(few, [v[:, [other]] for v in values], least)
    rest = None if seconds is None else seconds - (perf_counter() - start)
    last = Bounding(None, (), inf, done=False)
    for state in Climber(left, [kind]).climb(seconds=rest):
        last = state
        yield
    if last.combination is None:
        return last
    return replace(last, combination=left.original(last.combination))


def _step_by_step(climber: Climber, seconds: float | None) -> Iterator[Front]:
    start = perf_counter()
    points: list[FrontPoint] = []
    floors = [-inf] * len(climber.kinds)
    while True:
        left = None if seconds is None else seconds - (perf_counter() - start)
        last: Bounding | None = None
        for state in climber.climb(floors, left):
            last = state
            yield Front(tuple(points), done=False, at_most=state.at_most)
        if last is None or not last.done:
            return
        if last.combination is None:
            break
        points.append(FrontPoint(last.combination, last.values))
        if len(climber.kinds) == 1 or last.values[1] == inf:
            break
        floors[1] = _above(last.values[1])
    yield Front(tuple(points), done=True)


def _above(value: float) -> float:
    """Return the least figure that counts as more than a value, sums being off by rounding."""
    return value + 1e-9 * max(1.0, abs(value))


def _all_at_once(climber: Climber, seconds: float | None) -> Iterator[Front]:
    start = perf_counter()
    gathering = _Gathering(climber)
    whole = {z: (1 << n) - 1 for z, n in enumerate(climber.worthy.tables.sizes)}
    # A first climb for each measure gives something that beats much of the rest at once.
    for first in range(len(climber.kinds)):
        gathering.greedy(first, whole)
    top = climber.at_most(whole, gathering.nothing)[0]
    for _ in gathering.descend(whole, gathering.nothing):
        yield replace(gathering.state(done=False), at_most=top)
        if seconds is not None and perf_counter() - start > seconds:
            return
    yield gathering.state(done=True)


class _Gathering:
    """Branch and bound with an archive of all that nothing found so far beats."""

    def __init__(self, climber: Climber) -> None:
        self.of = climber
        self.archive: dict[tuple[float, ...], Combination] = {}
        self.picked: dict[int, int] = {}
        self.nodes = 0
        self.nothing = tuple(0.0 if kind == "sum" else inf for kind in climber.kinds)

    def state(self, *, done: bool) -> Front:
        points = [FrontPoint(found, values) for values, found in self.archive.items()]
        points.sort(key=lambda p: tuple(-v for v in p.values))
        return Front(tuple(points), done)

    def beaten(self, values: tuple[float, ...]) -> bool:
        """Whether something found is at least as good in every measure."""
        return any(
            all(a >= v - 1e-9 for a, v in zip(known, values, strict=True)) for known in self.archive
        )

    def keep(self, values: tuple[float, ...]) -> None:
        """Put what is picked into the archive, and drop what it beats."""
        found = tuple(self.of.ranked[z][self.picked[z]] for z in range(len(self.of.ranked)))
        self.archive = {
            known: combination
            for known, combination in self.archive.items()
            if not all(v >= k for v, k in zip(values, known, strict=True))
        }
        self.archive[values] = found

    def greedy(self, measure: int, domains: dict[int, int]) -> None:
        """Fill the zones one by one with the best that is open in one measure."""
        so_far, left = self.nothing, dict(domains)
        while left:
            zone = min(left, key=self.of.order.index)
            mask = next(m for _, m in self.of.levels[zone][measure] if m & left[zone])
            pick = mask & left[zone]
            k = (pick & -pick).bit_length() - 1
            self.picked[zone] = k
            so_far = self.of.added(so_far, zone, k)
            left = self.of.narrowed(left, zone, k)
            if not all(left.values()):
                return
        if not self.beaten(so_far):
            self.keep(so_far)

    def descend(self, domains: dict[int, int], so_far: tuple[float, ...]) -> Iterator[None]:
        if not domains:
            if not self.beaten(so_far):
                self.keep(so_far)
            return
        zone = min(domains, key=self.of.order.index)
        domain = domains[zone]
        while domain:
            low = domain & -domain
            domain ^= low
            k = low.bit_length() - 1
            self.nodes += 1
            if self.nodes % YIELD_EVERY == 0:
                yield
            left = self.of.narrowed(domains, zone, k)
            if not all(left.values()):
                continue
            here = self.of.added(so_far, zone, k)
            if self.beaten(self.of.at_most(left, here)):
                continue
            self.picked[zone] = k
            yield from self.descend(left, here)
