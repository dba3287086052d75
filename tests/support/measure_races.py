"""Our measures and python-fcl's on the same parts, side by side, with times and agreement."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from time import perf_counter
from typing import TypeVar

import numpy as np
from fcl_scene import FclScene

from geometry.measures.batch import all_gaps, signed_gaps
from geometry.measures.broadphase import near, near_pairs
from geometry.measures.gaps_of_one import gaps_of
from geometry.measures.prism import Prism, shifted
from geometry.measures.prism_table import PrismTable

T = TypeVar("T")
Part = tuple[Prism, ...]

MARGIN_MM = 5.0
STEP_MM = (0.25, -0.5, 0.125)


@dataclass
class Times:
    """Seconds of one way of doing something."""

    each: list[float] = field(default_factory=list)

    @property
    def median_ms(self) -> float:
        return float(np.median(self.each)) * 1e3

    @property
    def worst_ms(self) -> float:
        """The 99th percentile."""
        return float(np.percentile(self.each, 99)) * 1e3


def timed(into: Times, what: Callable[..., T], *args: object) -> T:
    start = perf_counter()
    result = what(*args)
    into.each.append(perf_counter() - start)
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


def race_moves(parts: Sequence[Part], chosen: Sequence[int]) -> MoveRace:
    """Move each of the chosen parts by `STEP_MM`, ours and theirs each in a run of its own."""
    # Turns would chill the other's caches.
    moves = [(k, [shifted(p, STEP_MM) for p in parts[k]]) for k in chosen]
    ours, floor, update, theirs = Times(), Times(), Times(), Times()
    table = PrismTable.of(parts)
    all_gaps(table, MARGIN_MM)
    found = [timed(ours, gaps_of, moved, table, MARGIN_MM, k) for k, moved in moves]
    for k, _ in moves:
        timed(floor, near, tuple(table.whole[k].tolist()), table.whole, MARGIN_MM)
    scene = FclScene(parts, MARGIN_MM)
    expected = []
    for k, _ in moves:
        timed(update, scene.move, k, STEP_MM)
        expected.append(timed(theirs, scene.gaps_of, k))
        scene.move(k, [-v for v in STEP_MM])
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
        ours = f"ours {self.ours.median_ms:.1f} ms"
        if not self.theirs.each:
            return ours
        return (
            f"{ours}, python-fcl {self.build.median_ms:.1f} ms to build its scene and "
            f"{self.theirs.median_ms:.1f} to measure it; ratio {self.ratio:.2f}, without building "
            f"{self.ours.median_ms / self.theirs.median_ms:.2f}"
        )


def race_whole(
    turns: int,
    make: Callable[[int], Sequence[Part]],
    *,
    fcl: bool = True,
    movable: int | None = None,
) -> WholeRace:
    """Measure all gaps of fresh parts each turn: nothing is kept from the one before.

    With `movable` only pairs with one of the first so many parts are looked at.
    """
    race = WholeRace()
    for turn in range(turns):
        parts = make(turn)
        first = len(parts) if movable is None else movable
        timed(race.ours, _gaps_from_nothing, parts, first)
        if fcl:
            scene = timed(race.build, FclScene, parts, MARGIN_MM)
            timed(race.theirs, scene.all_gaps, first)
    return race


def _gaps_from_nothing(parts: Sequence[Part], movable: int) -> list[float]:
    table = PrismTable.of(parts)
    pairs = near_pairs(table.whole, MARGIN_MM)
    gaps: list[float] = signed_gaps(table, pairs[pairs[:, 0] < movable], MARGIN_MM).tolist()
    return gaps
