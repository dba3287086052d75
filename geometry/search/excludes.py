"""What excludes what: options of two zones that cannot stand together, and what is in the way.

And for one zone, given the rest: the thickest, the longest and the deepest that still goes in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Literal

import numpy as np

from geometry.finding import Verdict
from geometry.part_solids import seat_thickness_mm
from geometry.search.excluded_pairs import ExcludedPairs, groups
from geometry.search.listing.option import Option, holds_pump
from geometry.search.listing.option_rows import Options
from geometry.search.long_work import Steps, told_as
from geometry.search.meetings import Meetings
from geometry.search.nearest_excluded import NearestExcluded
from geometry.search.problem import Problem

Judged = Literal["as drawn", "worst case", "rule"]
"""By what two options exclude each other: by dimensions as drawn, only once every dimension is off,
or by a rule that has no length, as that of one pump."""

ONE_PUMP = ("a pump", "a second pump")
"""What meets where options exclude each other since each holds a pump."""


@dataclass(frozen=True)
class Exclusion:
    """Two groups of options of which some or all pairs cannot stand together.

    `always` when no pair of the two groups can. `first` and `second` name what meets in the pair
    that comes nearest to standing together, and `short_mm` how much is missing there to the margin,
    `judged` by these dimensions. `sure` tells that no pair comes nearer; else it is the nearest of
    those that were measured. `nearest` numbers its two options, where something of them meets.
    """

    zones: tuple[str, str]
    patterns: tuple[str, str]
    excluded: int
    pairs: int
    first: str
    second: str
    verdict: Verdict
    short_mm: float
    judged: Judged
    sure: bool = True
    nearest: tuple[int, int] | None = None

    @property
    def always(self) -> bool:
        """Whether the two never stand together."""
        return self.excluded == self.pairs

    @property
    def how_near(self) -> str:
        """How sure it is that no pair comes nearer, in words before what meets."""
        return "at best" if self.sure else "at best of those measured"


def excluding(problem: Problem) -> Iterator[tuple[float, Exclusion | None]]:
    """Yield how much of the groups of options was looked at (0 to 1), and what was found there."""
    known = [groups(zone.options) for zone in problem.zones]
    every = [
        ((i, j), pair)
        for i, j in sorted(problem.tables.clash)
        for pair in product(known[i].items(), known[j].items())
    ]
    meetings = {zones: Meetings.of(problem, zones) for zones in problem.tables.clash}
    for at, (zones, ((row, mine), (column, theirs))) in enumerate(every, start=1):
        pairs = ExcludedPairs(problem.tables.clash[zones], mine, theirs)
        if _all_hold_pumps(problem, zones, pairs):
            yield at / len(every), _one_pump(problem, zones, (row, column), pairs)
            continue
        yield from told_as(pairs.counting(), partial(_share, at - 1, len(every), (0.0, COUNTING)))
        found = None
        if pairs.count:
            looking = _exclusion(problem, zones, (row, column), pairs, meetings[zones])
            told = partial(_share, at - 1, len(every), (COUNTING, 1.0))
            found = yield from told_as(looking, told)
        yield at / len(every), found


COUNTING = 0.2
"""The share of the work on two groups that is done when their pairs are counted."""

Span = tuple[float, float]


def _share(before: int, of: int, span: Span, done: float) -> tuple[float, None]:
    """Return how much is looked at, and that nothing was found, within one of some groups."""
    return (before + span[0] + (span[1] - span[0]) * done) / of, None


def _exclusion(
    problem: Problem,
    zones: tuple[int, int],
    patterns: tuple[str, str],
    pairs: ExcludedPairs,
    meetings: Meetings,
) -> Steps[Exclusion]:
    names = (problem.zones[zones[0]].zone, problem.zones[zones[1]].zone)
    told = partial(Exclusion, names, patterns, pairs.count, pairs.of)
    looking = NearestExcluded(problem, zones, pairs, meetings)
    yield from looking.looking()
    sure = looking.sure
    if looking.found is not None:
        least, nearest = looking.found
        verdict = Verdict.BLOCKED if least.gap_mm < 0 else Verdict.TIGHT
        judged: Judged = "worst case" if least.at_worst else "as drawn"
        first, second = least.first.name, least.second.name
        return told(first, second, verdict, least.short_mm, judged, sure, nearest)
    # Nothing of them meets: they exclude each other by a depth, or by what was asked for.
    past = _past_nominal(problem, zones, pairs)
    if past is not None:
        return told(*past[0], Verdict.BLOCKED, past[1], "as drawn", sure)
    return told(*patterns, Verdict.BLOCKED, 0.0, "rule", sure)


def _one_pump(
    problem: Problem, zones: tuple[int, int], patterns: tuple[str, str], pairs: ExcludedPairs
) -> Exclusion:
    """Return that two groups exclude each other since all of both hold a pump."""
    names = (problem.zones[zones[0]].zone, problem.zones[zones[1]].zone)
    told = (pairs.of, pairs.of, *ONE_PUMP)
    return Exclusion(names, patterns, *told, Verdict.BLOCKED, 0.0, "rule")


def _all_hold_pumps(problem: Problem, zones: tuple[int, int], pairs: ExcludedPairs) -> bool:
    """Whether all of two groups put in a pump, so that none of them ever stand together."""
    of_zones = zip(zones, (pairs.mine, pairs.theirs), strict=True)
    return all(
        bool(problem.zones[zone].options.some(group.first).which(holds_pump).all())
        for zone, group in of_zones
    )


def _past_nominal(
    problem: Problem, zones: tuple[int, int], pairs: ExcludedPairs
) -> tuple[tuple[str, str], float] | None:
    """Return what is past its nominal depth with nothing ahead of it, and by how much the least is.

    None where neither of the two is.
    """
    sides = ((pairs.mine, pairs.rows), (pairs.theirs, pairs.columns))
    for at, (group, excluded) in enumerate(sides):
        zone = problem.zones[zones[at]]
        left_mm = group.numbers.least(zone.left_mm)[excluded]
        past = left_mm < 0
        if past.any():
            first = group.first[excluded][past].tolist()
            patterns = (zone.options[k].pattern for k in first)
            short_mm, pattern = min(zip((-left_mm[past]).tolist(), patterns, strict=True))
            why = f"nothing ahead, past the stated depth of {problem.names[zone.zone]}"
            return ((pattern, why) if at == 0 else (why, pattern)), short_mm
    return None


@dataclass(frozen=True)
class Largest:
    """What of one zone still goes in, given the rest: the options and their measures (mm)."""

    zone: str
    thickest: tuple[Option, float] | None
    longest: tuple[Option, float] | None
    deepest: tuple[Option, float] | None


def largest(problem: Problem, zone: int, rest: Sequence[int]) -> Largest:
    """Return the thickest core, longest core and deepest stack on a zone, the rest being given.

    `rest` numbers an option of every zone; that of the zone asked for does not count. Where a pump
    is required and the rest has none, it holds one.
    """
    options = problem.zones[zone].options
    open_here = np.ones(len(options), dtype=bool)
    for other, k in enumerate(rest):
        met = problem.tables.against(zone, other, k) if other != zone else None
        if met is not None:
            open_here &= ~met
    others = (problem.zones[z].options[k] for z, k in enumerate(rest) if z != zone)
    if problem.wishes.pump == "required" and not any(map(holds_pump, others)):
        open_here &= options.which(holds_pump)
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
    if option.layers is None:
        return 0.0
    wishes = problem.wishes
    parts = {p.id: p for p in (*wishes.exchangers, *wishes.fans, *wishes.pumps)}
    stacks = [column.layers for column in option.columns if column.layers is not None]
    sides = [side for stack in stacks for side in (stack.inner, stack.outer)]
    return max(
        sum(max(seat_thickness_mm(parts[i.part]) for i in layer.items) for layer in side)
        for side in sides
    )
