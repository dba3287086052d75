"""What excludes what: options of two zones that cannot stand together, and what is in the way.

And for one zone, given the rest: the thickest, the longest and the deepest that still goes in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product

import numpy as np

from geometry.finding import Verdict
from geometry.margins import judged, required_mm
from geometry.measures.broadphase import Bools, Indices
from geometry.measures.clearance import bounds_gap, clearance
from geometry.measures.overlap import parting_shift
from geometry.measures.solid import Solid
from geometry.measures.tolerance import meets
from geometry.part_solids import seat_thickness_mm
from geometry.scene import Scene, build_scene
from geometry.search.excluded_pairs import ExcludedPairs, groups
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant import worst_case_counts
from geometry.search.judging.units import role_margins
from geometry.search.listing.option import Option, holds_pump
from geometry.search.listing.option_rows import Options
from geometry.search.listing.zone_lister import with_parts
from geometry.search.problem import Problem, combined
from geometry.search.short_bounds import nearest_pairs
from geometry.stackup.anew import Anew
from geometry.stackup.figures import Tolerances


@dataclass(frozen=True)
class Exclusion:
    """Two groups of options of which some or all pairs cannot stand together.

    `always` when no pair of the two groups can. `first` and `second` name what meets in the pair
    that comes nearest to standing together, and `short_mm` how much is missing there to the margin.
    `sure` tells that no pair comes nearer; else it is the nearest of those that were measured.
    """

    zones: tuple[str, str]
    patterns: tuple[str, str]
    excluded: int
    pairs: int
    first: str
    second: str
    verdict: Verdict
    short_mm: float
    sure: bool = True

    @property
    def always(self) -> bool:
        """Whether the two never stand together."""
        return self.excluded == self.pairs

    @property
    def how_near(self) -> str:
        """How sure it is that no pair comes nearer, in words before what meets."""
        return "at best" if self.sure else "at best of those measured"


@dataclass(frozen=True)
class Meeting:
    """The pair of solids of two options that falls short most."""

    first: Solid
    second: Solid
    gap_mm: float
    short_mm: float


MOST_LOOKED_AT = 60
"""So many pairs of options of two groups are measured for the one that misses least, those first of
which bounds say that the least may be missing."""

SAME_MM = 1e-9


def excluding(problem: Problem) -> Iterator[tuple[float, Exclusion | None]]:
    """Yield how much of the groups of options was looked at (0 to 1), and what was found there."""
    known = [groups(zone.options) for zone in problem.zones]
    every = [
        ((i, j), pair)
        for i, j in sorted(problem.tables.clash)
        for pair in product(known[i].items(), known[j].items())
    ]
    for at, (zones, ((row, mine), (column, theirs))) in enumerate(every, start=1):
        pairs = ExcludedPairs(problem.tables.clash[zones], mine, theirs)
        found = None
        if pairs.count:
            found = _exclusion(problem, zones, (row, column), pairs)
        yield at / len(every), found


def _exclusion(
    problem: Problem, zones: tuple[int, int], patterns: tuple[str, str], pairs: ExcludedPairs
) -> Exclusion:
    names = (problem.zones[zones[0]].zone, problem.zones[zones[1]].zone)
    least, sure = _nearest(problem, zones, pairs)
    if least is None:
        # Nothing of them meets: they exclude each other by what was asked for, or by a depth.
        of_zones = zip(zones, (pairs.mine, pairs.theirs), strict=True)
        some = [problem.zones[z].options[group.first[0]] for z, group in of_zones]
        if all(option.pump for option in some):
            both, short_mm = ("a pump", "a second pump"), 0.0
        else:
            both, short_mm = _past_nominal(problem, zones, pairs) or (patterns, 0.0)
        return Exclusion(names, patterns, pairs.count, pairs.of, *both, Verdict.BLOCKED, short_mm)
    return Exclusion(
        names,
        patterns,
        pairs.count,
        pairs.of,
        least.first.name,
        least.second.name,
        Verdict.BLOCKED if least.gap_mm < 0 else Verdict.TIGHT,
        least.short_mm,
        sure,
    )


def _nearest(
    problem: Problem, zones: tuple[int, int], pairs: ExcludedPairs
) -> tuple[Meeting | None, bool]:
    """Return what meets in the excluded pair that misses least, and whether no other misses less.

    None where nothing of them meets.
    """
    one, other = (problem.zones[z] for z in zones)
    makeups = one.makeup.some(pairs.mine.first), other.makeup.some(pairs.theirs.first)
    options = one.options.some(pairs.mine.first), other.options.some(pairs.theirs.first)
    # What bounds say is clear is excluded for what may be off, or by what was asked for; states of
    # obstacles have no bounds.
    known = all(makeup.units.prisms for makeup in makeups)
    by_worst_case = worst_case_counts(problem.base.scene.layout, problem.wishes)
    pumps = [some.which(holds_pump) for some in options]

    def maybe(rows: Indices, columns: Indices) -> Bools:
        two_pumps = pumps[0][rows, None] & pumps[1][None, columns]
        return (~two_pumps & by_worst_case) | (not known)

    margins = role_margins(problem.base.scene.layout.settings)
    bounds = nearest_pairs(makeups, pairs, margins, maybe, MOST_LOOKED_AT + 1)
    measuring = _Measuring.of(problem)
    nearest: Meeting | None = None
    for number, (a, b) in enumerate(bounds.pairs.tolist()):
        if nearest is not None and bounds.least_mm[number] >= nearest.short_mm - SAME_MM:
            return nearest, True
        if number == MOST_LOOKED_AT:
            return nearest, False
        enough_mm = np.inf if nearest is None else nearest.short_mm - SAME_MM
        met = measuring.meeting(options[0][a], options[1][b], enough_mm)
        if met is not None and (nearest is None or met.short_mm < nearest.short_mm - SAME_MM):
            nearest = met
    return nearest, True


def _past_nominal(
    problem: Problem, zones: tuple[int, int], pairs: ExcludedPairs
) -> tuple[tuple[str, str], float] | None:
    """Return what is past its nominal depth with nothing ahead of it, and by how much the least is.

    None where neither of the two is.
    """
    sides = ((pairs.mine, pairs.rows), (pairs.theirs, pairs.columns))
    for at, (group, excluded) in enumerate(sides):
        zone = problem.zones[zones[at]]
        first = group.first[excluded]
        past = first[zone.left_mm[first] < 0]
        if len(past):
            told = ((-float(zone.left_mm[k]), zone.options[k].pattern) for k in past.tolist())
            short_mm, pattern = min(told)
            why = f"nothing ahead, past the nominal depth of {problem.names[zone.zone]}"
            return ((pattern, why) if at == 0 else (why, pattern)), short_mm
    return None


@dataclass(frozen=True)
class _Measuring:
    """Measures what of two options falls short; `anew` places stacks with one number off."""

    problem: Problem
    anew: Anew

    @classmethod
    def of(cls, problem: Problem) -> _Measuring:
        """Return what measures options of a search."""
        wishes = problem.wishes
        parts = (*wishes.exchangers, *wishes.fans, *wishes.pumps)
        return cls(problem, Anew(with_parts(problem.base.scene.layout, parts)))

    def meeting(self, first: Option, second: Option, enough_mm: float) -> Meeting | None:
        """Return what of two options falls short most of its margin; None when nothing does.

        Or anything that falls short by `enough_mm`, where something does.
        """
        problem = self.problem
        base = problem.base.scene.layout
        layout = combined(base, problem.wishes, (first, second))
        scene = build_scene(layout, problem.base.scene)
        sides = [_solids_of(scene, option) for option in (first, second)]
        met = _worst_of(scene, *sides, enough_mm)
        if met is None and worst_case_counts(base, problem.wishes):
            # Where states are chosen zones may stand elsewhere.
            anew = None if first.states or second.states else self.anew
            return _at_worst(Tolerances(scene, NO_DEPTHS, known_anew=anew), *sides, enough_mm)
        return met


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


def _at_worst(
    tolerances: Tolerances, first: Sequence[Solid], second: Sequence[Solid], enough_mm: float
) -> Meeting | None:
    """Return the pair of solids that falls short most once every dimension is off.

    Or one that falls short by `enough_mm`.
    """
    settings = tolerances.scene.layout.settings
    at_most = []
    for number, (one, other) in enumerate(product(first, second)):
        need = required_mm(settings, one, other)
        far = bounds_gap(tolerances.far_out(one), tolerances.far_out(other))
        if judged(one, other) and not one.bolted_to(other) and not (far > 0.0 and meets(far, need)):
            at_most.append((far - need, number, one, other))
    worst: tuple[float, int, Meeting] | None = None
    # Those first that may be short of most: what the others may be short of need not be measured.
    for least, number, one, other in sorted(at_most, key=lambda pair: pair[:2]):
        if worst is not None and -least < worst[0] - SAME_MM:
            break
        need = required_mm(settings, one, other)
        left = tolerances.between((one,), (other,)).worst.worst_mm
        short = need - left
        if not meets(left, need) and (worst is None or (-short, number) < (-worst[0], worst[1])):
            worst = (short, number, Meeting(one, other, max(left, 0.0), short))
            if short >= enough_mm:
                break
    return None if worst is None else worst[2]


def _worst_of(
    scene: Scene, first: Sequence[Solid], second: Sequence[Solid], enough_mm: float
) -> Meeting | None:
    """Return the pair of solids that falls short most as drawn, or one that does by `enough_mm`."""
    settings = scene.layout.settings
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
        met = problem.tables.against(zone, other, k) if other != zone else None
        if met is not None:
            open_here &= ~met
    fits = options.some(np.flatnonzero(open_here))
    return Largest(
        problem.zones[zone].zone,
        _most(fits, _thickness_mm),
        _most(fits, _length_mm),
        _most(fits, partial(stack_depth_mm, problem)),
    )


def _most(options: Options, of: Callable[[Option], float]) -> tuple[Option, float] | None:
    """Return the first option of those with the largest measure (mm); None where none has any."""
    figures = options.figures(of)
    if not (figures > 0.0).any():
        return None
    first = int(figures.argmax())
    return options[first], float(figures[first])


def _thickness_mm(option: Option) -> float:
    return max((core.core_thickness_mm for core in option.cores), default=0.0)


def _length_mm(option: Option) -> float:
    return max((core.core_length_mm for core in option.cores), default=0.0)


def stack_depth_mm(problem: Problem, option: Option) -> float:
    """Return how thick the layers of an option are together on one side of the plate (mm).

    On the side on which they are thicker, where there are some on both.
    """
    if option.base is None:
        return 0.0
    wishes = problem.wishes
    parts = {p.id: p for p in (*wishes.exchangers, *wishes.fans, *wishes.pumps)}
    stacks = [column.base for column in option.columns if column.base is not None]
    sides = [side for stack in stacks for side in (stack.inner, stack.outer)]
    return max(
        sum(max(seat_thickness_mm(parts[i.part]) for i in layer.items) for layer in side)
        for side in sides
    )
