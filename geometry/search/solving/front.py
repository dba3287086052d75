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

from geometry.measures.broadphase import Floats
from geometry.search.long_work import told_as
from geometry.search.solving.best import YIELD_EVERY, Bounding, Climber, Combination, Kind, climbing
from geometry.search.solving.best_above import BestAbove
from geometry.search.solving.tables import Merged


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
    if not all(classes.tables.sizes):
        yield Front((), done=True)
    elif not classes.members:
        nothing = tuple(0.0 if kind == "sum" else inf for kind in kinds)
        yield Front((FrontPoint((), nothing),), done=True)
    elif len(kinds) == 2 and "least" in kinds:
        yield from _by_thresholds(classes, values, kinds, seconds)
    else:
        sifting = climbing(classes, values, kinds, seconds)
        climber, rest = yield from told_as(sifting, partial(_so_far, ()))
        steps = _step_by_step if len(kinds) <= 2 else _all_at_once
        original = climber.worthy.original
        for state in steps(climber, rest):
            points = tuple(FrontPoint(original(p.combination), p.values) for p in state.points)
            yield Front(points, state.done, state.at_most)


def _so_far(points: Sequence[FrontPoint], _: None) -> Front:
    return Front(tuple(points), done=False)


def _by_thresholds(
    classes: Merged, values: Sequence[Floats], kinds: Sequence[Kind], seconds: float | None
) -> Iterator[Front]:
    """Yield the front of two measures of which one is the least over the zones.

    Options under a level of that one are left out; then the other alone is a plain best, and of the
    levels with the same best the highest is one of the front.
    """
    floor_at = 1 if kinds[1] == "least" else 0
    least, other = ([v[:, m] for v in values] for m in (floor_at, 1 - floor_at))
    above = BestAbove(classes, least, other, kinds[1 - floor_at], seconds)
    points: list[FrontPoint] = []
    low = 0
    while low < len(above.levels):
        found, same = yield from told_as(above.highest_alike(low), partial(_so_far, points))
        if found.combination is not None:
            pair = (found.values[0], above.least_of(found.combination))
            points.append(FrontPoint(found.combination, pair if floor_at == 1 else pair[::-1]))
        if not found.done:
            yield Front(tuple(points), done=False)
            return
        if found.combination is None:
            break
        yield Front(tuple(points), done=False)
        low = same + 1
    points.sort(key=lambda p: tuple(-v for v in p.values))
    yield Front(tuple(points), done=True)


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
