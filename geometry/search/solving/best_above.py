"""The best of one measure among options that are not under a level of another.

The other is the least over the zones of a combination: so it reaches a level where all of its
options do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import inf
from time import perf_counter

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.search.long_work import Pauses
from geometry.search.solving.best import Bounding, Kind, climbing
from geometry.search.solving.tables import Merged

SAME = 1e-9
"""Two figures that differ by no more are the same best."""


@dataclass
class BestAbove:
    """The bests above levels, in so many seconds for all; what was found of one stays known.

    Of each option of each zone `least` has the figure of which the least over the zones counts, and
    `other` that by which it is the best.
    """

    classes: Merged
    least: Sequence[Floats]
    other: Sequence[Floats]
    kind: Kind
    seconds: float | None
    known: dict[int, Bounding] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._start = perf_counter()
        levels = np.unique(np.concatenate(self.least))
        # No combination's least value passes the best of the zone that has the worst best.
        self.levels = levels[levels <= min(float(of_zone.max()) for of_zone in self.least)]

    def least_of(self, combination: Sequence[int]) -> float:
        """Return the least figure of the options of a combination."""
        return min(float(v[k]) for v, k in zip(self.least, combination, strict=True))

    def highest_alike(self, low: int) -> Pauses[tuple[Bounding, int]]:
        """Return the best above a level, and the highest level above which there is as good a one.

        By halving. What is returned is that of the highest level; it is not done where the time was
        over before.
        """
        here = yield from self.best(low)
        if not here.done or here.combination is None:
            return here, low
        same, high = low, len(self.levels) - 1
        while same < high:
            middle = (same + high + 1) // 2
            there = yield from self.best(middle)
            if not there.done:
                return replace(self.known[same], done=False), same
            if there.combination is not None and there.values[0] >= here.values[0] - SAME:
                same = middle
            else:
                high = middle - 1
        return self.known[same], same

    def best(self, at: int) -> Pauses[Bounding]:
        """Return the best above a level; not done where the time was over before it was begun."""
        if at not in self.known:
            left = None if self.seconds is None else self.seconds - (perf_counter() - self._start)
            if left is not None and left < 0.0 and self.known:
                return Bounding(None, (), inf, done=False)
            self.known[at] = yield from self._looked_for(float(self.levels[at]), left)
        return self.known[at]

    def _looked_for(self, level: float, seconds: float | None) -> Pauses[Bounding]:
        reaches = [of_zone >= level for of_zone in self.least]
        members = [
            [m[reach[m]] for m in zone]
            for zone, reach in zip(self.classes.members, reaches, strict=True)
        ]
        used = [np.array([c for c, m in enumerate(zone) if len(m)], np.intp) for zone in members]
        few = Merged(
            self.classes.tables.kept(used),
            tuple(tuple(m for m in zone if len(m)) for zone in members),
        )
        if not all(few.tables.sizes):
            return Bounding(None, (), -inf, done=True)
        values = [of_zone[:, None] for of_zone in self.other]
        climber, rest = yield from climbing(few, values, [self.kind], seconds)
        last = Bounding(None, (), inf, done=False)
        for state in climber.climb(seconds=rest):
            last = state
            yield
        if last.combination is None:
            return last
        return replace(last, combination=climber.worthy.original(last.combination))
