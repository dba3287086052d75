"""What of two options falls short most: as drawn, else once every dimension is off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product

import numpy as np

from geometry.layout import Settings
from geometry.margins import judged, required_mm
from geometry.measures.broadphase import Indices
from geometry.measures.clearance import bounds_gap, clearance
from geometry.measures.overlap import parting_shift
from geometry.measures.prism import Bounds
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.scene import Scene, build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant import worst_case_counts
from geometry.search.judging.units import role_margins
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listing.option import Option
from geometry.search.listing.zone_lister import with_parts
from geometry.search.problem import Problem, combined
from geometry.search.short_at_worst import Places, ShortAtWorst
from geometry.search.unit_gaps import UnitGaps
from geometry.stackup.figures import Tolerances
from geometry.stackup.restacked import Restacked


@dataclass(frozen=True)
class Meeting:
    """The pair of solids of two options that falls short most, as drawn or only `at_worst`."""

    first: Solid
    second: Solid
    gap_mm: float
    short_mm: float
    at_worst: bool = False


@dataclass(frozen=True)
class Meetings:
    """Measures options of two zones against each other.

    `anew` places stacks with one number off. Options share most of their solids, so what is left
    between two of them at worst is measured once for all that hold both.
    """

    problem: Problem
    zones: tuple[ZoneOptions, ZoneOptions]
    anew: Restacked
    known: dict[Places, float] = field(default_factory=dict)

    @classmethod
    def of(cls, problem: Problem, zones: tuple[int, int]) -> Meetings:
        """Return what measures options of two zones of a search."""
        wishes = problem.wishes
        parts = (*wishes.exchangers, *wishes.fans, *wishes.pumps)
        anew = Restacked(with_parts(problem.base.scene.layout, parts))
        return cls(problem, (problem.zones[zones[0]], problem.zones[zones[1]]), anew)

    @cached_property
    def units(self) -> UnitGaps:
        """What measures the units of both zones against each other, as drawn."""
        one, other = self.zones
        settings = self.problem.base.scene.layout.settings
        return UnitGaps((one.makeup, other.makeup), role_margins(settings))

    def at_worst(self, pairs: Indices) -> ShortAtWorst | None:
        """Return what is known of pairs of options at worst, by number, shape (n, 2).

        None where the worst case does not count.
        """
        a, b = (zone.tolerant for zone in self.zones)
        if a is None or b is None:
            return None
        return ShortAtWorst.between((a, b), pairs, self.units.margins, self.known)

    def meeting(self, pair: tuple[int, int], enough_mm: float) -> Meeting | None:
        """Return what of two options, by number, falls short most; None when nothing does.

        Or anything that falls short by `enough_mm`, where something does.
        """
        problem = self.problem
        first, second = (zone.options[k] for zone, k in zip(self.zones, pair, strict=True))
        base = problem.base.scene.layout
        layout = combined(base, problem.wishes, (first, second))
        scene = build_scene(layout, problem.base.scene)
        sides = (_solids_of(scene, first), _solids_of(scene, second))
        met = _worst_of(scene.layout.settings, *sides, enough_mm)
        if met is None and worst_case_counts(base, problem.wishes):
            # Where states are chosen zones may stand elsewhere.
            anew = None if first.states or second.states else self.anew
            tolerances = Tolerances(scene, NO_DEPTHS, known_anew=anew)
            places = [
                [None] * len(solids) if anew is None else _places(zone, k, solids)
                for zone, k, solids in zip(self.zones, pair, sides, strict=True)
            ]
            return self._at_worst(tolerances, sides, places, enough_mm)
        return met

    def _at_worst(
        self,
        tolerances: Tolerances,
        sides: Sequence[Sequence[Solid]],
        places: Sequence[Sequence[int | None]],
        enough_mm: float,
    ) -> Meeting | None:
        """Return the pair of solids that falls short most once every dimension is off.

        Or one that falls short by `enough_mm`. `places` are those at which the search knows them.
        """
        settings = tolerances.scene.layout.settings
        far = [
            [_far(tolerances, zone, place, solid) for solid, place in zip(*side, strict=True)]
            for zone, side in zip(self.zones, zip(sides, places, strict=True), strict=True)
        ]
        at_most: list[tuple[float, int, int]] = []
        for i, one in enumerate(sides[0]):
            for j, other in enumerate(sides[1]):
                need = required_mm(settings, one, other)
                gap = bounds_gap(far[0][i], far[1][j])
                apart = gap > 0.0 and meets(gap, need)
                if judged(one, other) and not one.bolted_to(other) and not apart:
                    at_most.append((gap - need, i, j))
        worst: tuple[float, int, int, float] | None = None
        # Those first that may be short of most: what the others may be short of is not measured.
        for least, i, j in sorted(at_most):
            if worst is not None and -least < -worst[0] - LENGTH_EPS_MM:
                break
            need = required_mm(settings, sides[0][i], sides[1][j])
            key = places[0][i], places[1][j]
            left = self.known.get(key)
            if left is None:
                left = tolerances.between((sides[0][i],), (sides[1][j],)).worst.worst_mm
                if None not in key:
                    self.known[key] = left
            if not meets(left, need) and (worst is None or (left - need, i, j) < worst[:3]):
                worst = (left - need, i, j, left)
                if need - left >= enough_mm:
                    break
        if worst is None:
            return None
        short, i, j, left = worst
        return Meeting(sides[0][i], sides[1][j], max(left, 0.0), -short, at_worst=True)


def _places(zone: ZoneOptions, k: int, solids: Sequence[Solid]) -> Sequence[int | None]:
    """Return the places at which the search knows the solids of an option; None for unknown."""
    tolerant = zone.tolerant
    if tolerant is not None:
        own = tolerant.held[tolerant.starts[k] : tolerant.starts[k + 1]].astype(np.intp)
        bounds = np.array([solid.bounds for solid in solids]).reshape(-1, 6)
        known = tolerant.bounds(own)
        if len(own) == len(bounds) and np.abs(known - bounds).max(initial=0.0) < LENGTH_EPS_MM:
            found: list[int | None] = own.tolist()
            return found
    return [None] * len(solids)


def _far(tolerances: Tolerances, zone: ZoneOptions, place: int | None, solid: Solid) -> Bounds:
    """Return the bounds that a solid never passes."""
    if place is None or zone.tolerant is None:
        return tolerances.far_out(solid)
    x, y, z, u, v, w = zone.tolerant.far(np.array([place]))[0].tolist()
    return (x, y, z, u, v, w)


def _worst_of(
    settings: Settings, first: Sequence[Solid], second: Sequence[Solid], enough_mm: float
) -> Meeting | None:
    """Return the pair of solids that falls short most as drawn, or one that does by `enough_mm`."""
    worst: Meeting | None = None
    for one, other in product(first, second):
        if not judged(one, other):
            continue
        need = required_mm(settings, one, other)
        shift = parting_shift(one.prisms, other.prisms)
        gap = -shift.mm if shift is not None else 0.0
        if shift is None:
            gap = clearance(one.prisms, other.prisms, need).mm
            if meets(gap, need):
                continue
        if worst is None or need - gap > worst.short_mm:
            worst = Meeting(one, other, gap, need - gap)
            if worst.short_mm >= enough_mm:
                return worst
    return worst


def _solids_of(scene: Scene, option: Option) -> list[Solid]:
    """Return the solids of an option: its stack, its free part, or the obstacles that it moves."""
    if option.stack is not None:
        return [s for s in scene.movable if s.stack == option.stack.id]
    if option.free is not None:
        return list(scene.solids_of[option.free.id])
    return [s for s in scene.fixed if _belongs(scene, s.owner, option.zone)]


def _belongs(scene: Scene, owner: str | None, root: str) -> bool:
    obstacles = {o.id: o for o in scene.layout.enclosure.obstacles}
    while owner in obstacles:
        if owner == root:
            return True
        owner = obstacles[owner].owner
    return False
