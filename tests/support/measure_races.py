"""Our measures and python-fcl's on the same parts, side by side, with times and agreement.

Both take turns, and of each move or layout the least time of the processor counts, as others may
use the machine meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from time import process_time
from typing import TypeVar

import numpy as np
from fcl_scene import FclScene
from table_gaps import all_gaps, gaps_of

from geometry.measures.batch import signed_gaps
from geometry.measures.broadphase import near, near_pairs
from geometry.measures.prism import Prism, shifted
from geometry.measures.prism_table import PrismTable

T = TypeVar("T")
Part = tuple[Prism, ...]

MARGIN_MM = 5.0
STEP_MM = (0.25, -0.5, 0.125)


@dataclass
class Times:
    """Least seconds of one way of doing each of several things."""

    least: dict[Hashable, float] = field(default_factory=dict)

    @property
    def median_ms(self) -> float:
        return float(np.median(list(self.least.values()))) * 1e3

    @property
    def worst_ms(self) -> float:
        """The 99th percentile."""
        return float(np.percentile(list(self.least.values()), 99)) * 1e3


def timed(into: Times, key: Hashable, what: Callable[..., T], *args: object) -> T:
    start = process_time()
    result = what(*args)
    took = process_time() - start
    into.least[key] = min(took, into.least.get(key, took))
    return result


@dataclass
class MoveRace:
    """One part of many moves a little: all its gaps. `alike` is the share of equal answers."""

    ours: Times
    floor: Times
    update: Times
    theirs: Times
    moves: list[tuple[int, list[Prism]]]
    alike: float

    @property
    def ratio(self) -> float:
        return self.ours.median_ms / (self.theirs.median_ms + self.update.median_ms)

    def __str__(self) -> str:
        return (
            f"ours {self.ours.median_ms:.3f} ms (99 %: {self.ours.worst_ms:.2f}), "
            f"floor {self.floor.median_ms:.3f}, python-fcl {self.update.median_ms:.3f} to update "
            f"and {self.theirs.median_ms:.3f} to measure (99 %: {self.theirs.worst_ms:.2f}); "
            f"ratio {self.ratio:.2f}, without the update "
            f"{self.ours.median_ms / self.theirs.median_ms:.2f}"
        )


def race_moves(parts: Sequence[Part], chosen: Sequence[int], turns: int = 3) -> MoveRace:
    """Move each of the chosen parts by `STEP_MM`; a turn is all moves by ours, then by theirs."""
    # Turns of single moves would chill the other's caches.
    ours, floor, update, theirs = Times(), Times(), Times(), Times()
    table = PrismTable.of(parts)
    all_gaps(table, MARGIN_MM)
    scene = FclScene(parts, MARGIN_MM)
    back = [-v for v in STEP_MM]
    for _ in range(turns):
        # A part that moves is a new one each time, which remembers nothing of itself.
        moves = [(k, [shifted(p, STEP_MM) for p in parts[k]]) for k in chosen]
        found = [timed(ours, k, gaps_of, moved, table, MARGIN_MM, k) for k, moved in moves]
        for k, _ in moves:
            timed(floor, k, near, tuple(table.whole[k].tolist()), table.whole, MARGIN_MM)
        expected = []
        for k, _ in moves:
            timed(update, k, scene.move, k, STEP_MM)
            expected.append(timed(theirs, k, scene.gaps_of, k))
            scene.move(k, back)
    alike = sum(map(_same, found, expected)) / len(moves)
    return MoveRace(ours, floor, update, theirs, moves, alike)


def _same(ours: dict[int, float], theirs: dict[int, float]) -> bool:
    # Round bars are inscribed polygons there, so gaps may differ by a few hundredths.
    return all(
        abs(max(ours.get(j, MARGIN_MM), 0.0) - max(theirs.get(j, MARGIN_MM), 0.0)) < 0.05
        for j in ours.keys() | theirs.keys()
    )


@dataclass
class WholeRace:
    """All gaps of a layout from nothing; python-fcl builds its scene, then measures it."""

    ours: Times = field(default_factory=Times)
    build: Times = field(default_factory=Times)
    theirs: Times = field(default_factory=Times)

    @property
    def ratio(self) -> float:
        return self.ours.median_ms / (self.theirs.median_ms + self.build.median_ms)

    def __str__(self) -> str:
        ours = f"ours {self.ours.median_ms:.2f} ms"
        if not self.theirs.least:
            return ours
        return (
            f"{ours}, python-fcl {self.build.median_ms:.1f} ms to build its scene and "
            f"{self.theirs.median_ms:.2f} to measure it; ratio {self.ratio:.2f}, without building "
            f"{self.ours.median_ms / self.theirs.median_ms:.2f}"
        )


def race_whole(
    layouts: int,
    make: Callable[[int], Sequence[Part]],
    *,
    turns: int = 3,
    fcl: bool = True,
    movable: int | None = None,
) -> WholeRace:
    """Measure all gaps of several layouts, made afresh each turn: nothing is kept from before.

    With `movable` only pairs with one of the first so many parts are looked at.
    """
    race = WholeRace()
    for layout in list(range(layouts)) * turns:
        parts = make(layout)
        first = len(parts) if movable is None else movable
        timed(race.ours, layout, _gaps_from_nothing, parts, first)
        if fcl:
            scene = timed(race.build, layout, FclScene, parts, MARGIN_MM)
            timed(race.theirs, layout, scene.all_gaps, first)
    return race


def _gaps_from_nothing(parts: Sequence[Part], movable: int) -> list[float]:
    table = PrismTable.of(parts)
    pairs = near_pairs(table.whole, MARGIN_MM)
    gaps: list[float] = signed_gaps(table, pairs[pairs[:, 0] < movable], MARGIN_MM).tolist()
    return gaps
