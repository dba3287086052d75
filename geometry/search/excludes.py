"""What excludes what: options of two zones that cannot stand together, and what is in the way.

And for one zone, given the rest: the thickest, the longest and the deepest that still goes in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.finding import Verdict
from geometry.margins import judged, required_mm
from geometry.measures.clearance import clearance
from geometry.measures.overlap import parting_shift
from geometry.measures.solid import Solid
from geometry.measures.tolerance import meets
from geometry.part_solids import seat_thickness_mm
from geometry.scene import Scene, build_scene
from geometry.search.options import Option
from geometry.search.problem import Problem, combined
from geometry.search.tables import Bools


@dataclass(frozen=True)
class Exclusion:
    """Two groups of options of which some or all pairs cannot stand together.

    `always` when no pair of the two groups can. `first` and `second` name what meets in the pair
    that comes nearest to standing together, and `short_mm` how much is missing there to the margin.
    """

    zones: tuple[str, str]
    patterns: tuple[str, str]
    excluded: int
    pairs: int
    first: str
    second: str
    verdict: Verdict
    short_mm: float

    @property
    def always(self) -> bool:
        """Whether the two never stand together."""
        return self.excluded == self.pairs


@dataclass(frozen=True)
class Meeting:
    """The pair of solids of two options that falls short most."""

    first: Solid
    second: Solid
    gap_mm: float
    short_mm: float


MOST_LOOKED_AT = 60
"""So many pairs of options of two groups are measured for the one that misses least."""


def exclusions(problem: Problem) -> list[Exclusion]:
    """Return all groups of options by pattern that exclude each other, in whole or in part."""
    found: list[Exclusion] = []
    for (i, j), table in sorted(problem.tables.clash.items()):
        rows, columns = (_patterns(problem.zones[k].options) for k in (i, j))
        for row, mine in rows.items():
            for column, theirs in columns.items():
                part = table[np.ix_(mine, theirs)]
                if part.any():
                    found.append(_exclusion(problem, (i, j), (row, column), (mine, theirs), part))
    return found


def _patterns(options: Sequence[Option]) -> dict[str, list[int]]:
    groups: dict[str, list[int]] = {}
    for k, option in enumerate(options):
        groups.setdefault(option.pattern, []).append(k)
    return groups


def _exclusion(
    problem: Problem,
    zones: tuple[int, int],
    patterns: tuple[str, str],
    members: tuple[list[int], list[int]],
    part: Bools,
) -> Exclusion:
    pairs = np.argwhere(part)
    # Spread over all pairs, the same on every run.
    picked = pairs[np.unique(np.linspace(0, len(pairs) - 1, MOST_LOOKED_AT).astype(np.intp))]
    met = [
        m
        for a, b in picked.tolist()
        for m in (_meeting(problem, zones, members[0][a], members[1][b]),)
        if m is not None
    ]
    names = (problem.zones[zones[0]].zone, problem.zones[zones[1]].zone)
    if not met:
        return Exclusion(
            names, patterns, len(pairs), part.size, "a pump", "a second pump",
            Verdict.BLOCKED, 0.0,
        )  # fmt: skip
    least = min(met, key=lambda m: m.short_mm)
    return Exclusion(
        names,
        patterns,
        len(pairs),
        part.size,
        least.first.name,
        least.second.name,
        Verdict.BLOCKED if least.gap_mm < 0 else Verdict.TIGHT,
        least.short_mm,
    )


def _meeting(problem: Problem, zones: tuple[int, int], a: int, b: int) -> Meeting | None:
    """Return what of two options falls short most of its margin; None when nothing does."""
    options = (problem.zones[zones[0]].options[a], problem.zones[zones[1]].options[b])
    base = problem.base.scene.layout
    scene = build_scene(combined(base, problem.wishes, options), problem.base.scene)
    first, second = (option.stack for option in options)
    if first is None or second is None:
        return None
    return worst_meeting(scene, first.id, second.id)


def worst_meeting(scene: Scene, first: str, second: str) -> Meeting | None:
    """Return the pair of solids of two stacks that falls short most; None when none does."""
    settings = scene.layout.settings
    sides = [[s for s in scene.movable if s.stack == stack_id] for stack_id in (first, second)]
    worst: Meeting | None = None
    for one in sides[0]:
        for other in sides[1]:
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
    return worst


@dataclass(frozen=True)
class Largest:
    """What of one zone still goes in, given the rest: the options and their measures (mm)."""

    zone: str
    thickest: tuple[Option, float] | None
    longest: tuple[Option, float] | None
    deepest: tuple[Option, float] | None


def largest(problem: Problem, zone: int, rest: Sequence[int]) -> Largest:
    """Return the thickest core, longest core and deepest stack on a zone, the rest being given.

    `rest` numbers an option of every zone; that of the zone asked for does not count.
    """
    options = problem.zones[zone].options
    open_here = np.ones(len(options), dtype=bool)
    for other, k in enumerate(rest):
        table = problem.tables.between(zone, other) if other != zone else None
        if table is not None:
            open_here &= ~table[:, k]
    fits = [options[k] for k in np.flatnonzero(open_here).tolist()]
    cores = [o for o in fits if o.core is not None]
    layout = problem.base.scene.layout
    depth = {id(o): stack_depth_mm(problem, o) for o in fits if o.stack is not None}
    deep = [o for o in fits if o.stack is not None]
    thick = max(cores, key=lambda o: o.core.core_thickness_mm if o.core else 0.0, default=None)
    long = max(cores, key=lambda o: o.core.core_length_mm if o.core else 0.0, default=None)
    deepest = max(deep, key=lambda o: depth[id(o)], default=None)
    return Largest(
        next(z.name for z in layout.enclosure.zones if z.id == problem.zones[zone].zone),
        (thick, thick.core.core_thickness_mm) if thick is not None and thick.core else None,
        (long, long.core.core_length_mm) if long is not None and long.core else None,
        (deepest, depth[id(deepest)]) if deepest is not None else None,
    )


def stack_depth_mm(problem: Problem, option: Option) -> float:
    """Return how thick the layers of an option are together on the inner side (mm)."""
    if option.stack is None:
        return 0.0
    wishes = problem.wishes
    parts = {p.id: p for p in (*wishes.exchangers, *wishes.fans, *wishes.pumps)}
    return sum(
        max(seat_thickness_mm(parts[item.part]) for item in layer.items)
        for layer in option.stack.inner
    )
