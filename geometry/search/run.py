"""A whole search as a generator of progress, which a window or a command line drives.

Whoever drives it may stop at any yield: the last state holds what was found so far.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.layout import Layout
from geometry.search.answers import Answer, Measure, answers, domains
from geometry.search.excludes import Exclusion, Largest, excluding, largest
from geometry.search.finer_exclusions import FinerExclusions, finer_exclusions
from geometry.search.listing.option import Option, holds_pump
from geometry.search.making_ready import Progress, prepared
from geometry.search.problem import Listed, Problem
from geometry.search.solving.by_domains import counting_each, estimating_rest
from geometry.search.solving.count import Counting, count_all
from geometry.search.solving.estimate import Estimate
from geometry.search.stage import Doing, Stage
from geometry.search.wishes import Wishes

FOR_ESTIMATES = 0.1
"""The share of the time that is taken to estimate what could not be counted in it."""


@dataclass(frozen=True, eq=False)
class Searched:
    """What a search has found; `estimate` stands in for the count where that did not end in time.

    `empty` of the combinations that fit put nothing in at all: one with all zones empty, or one for
    each choice of states of obstacles. `excluded_share` of the groups of options (0 to 1) has been
    looked at for what excludes what; `finer` has that by thickness and fans for each two zones.
    `pump_fits` where a pump fits while all else is left empty.
    `done` once everything has been looked at: until then rows may be missing.
    """

    problem: Problem
    wanted: tuple[Measure, ...]
    count: Counting
    answer: Answer
    empty: int = 0
    pump_fits: bool = False
    estimate: Estimate | None = None
    exclusions: tuple[Exclusion, ...] = ()
    excluded_share: float = 0.0
    finer: tuple[FinerExclusions, ...] = ()
    largest: tuple[Largest, ...] = ()
    done: bool = False

    @property
    def only_empty(self) -> bool:
        """Whether it is sure that nothing of what may be put in fits."""
        return self.count.done and self.count.found == self.empty


@dataclass(frozen=True, eq=False)
class Searching:
    """How far a search has come: what it is at, and what was found, once there is something.

    `listed` tells of the zones whose options are listed and judged, from the start.
    """

    stage: Stage
    found: Searched | None = None
    listed: tuple[Listed, ...] = ()


def search(
    layout: Layout, wishes: Wishes, wanted: Sequence[Measure], seconds: float
) -> Iterator[Searching]:
    """Search; the last state yielded is the end, with `found.done`.

    `seconds` bounds the trade-offs, and the exact count before it becomes an estimate. Raises
    SearchError where the search cannot begin.
    """
    problem: Problem | None = None
    for step in prepared(layout, wishes):
        if isinstance(step, Progress):
            yield Searching(step.stage, listed=step.listed)
        else:
            problem = step
    assert problem is not None, "making ready ends with the problem"
    listed = tuple(Listed(z.zone, z.listed, z.fit_alone) for z in problem.zones)
    for stage, found in _found(problem, wanted, seconds):
        yield Searching(stage, found, listed)


def _found(
    problem: Problem, wanted: Sequence[Measure], seconds: float
) -> Iterator[tuple[Stage, Searched]]:
    """Yield what a search that is made ready finds, stage by stage."""
    uncounted = Counting(0, problem.combinations, 0.0, done=False)
    answer = Answer((), done=False)
    found = Searched(
        problem, tuple(wanted), uncounted, answer, _empty(problem), _pump_fits(problem)
    )
    for answer in answers(problem, wanted, seconds):
        found = replace(found, answer=answer)
        so_far = f"{len(answer.rows)} so far{_bound_text(answer)}"
        yield Stage(Doing.RANKING, so_far=so_far), found
    every = domains(problem)
    parts: Sequence[Counting] = ()
    for parts in counting_each(problem.tables, every, seconds):
        count = Counting.total(parts)
        found = replace(found, count=count)
        so_far = f"{count.found:,} so far, at most {count.at_most:,}"
        yield Stage(Doing.COUNTING, share=count.share, so_far=so_far), found
    if not found.count.done:
        for guess in estimating_rest(problem.tables, every, parts, FOR_ESTIMATES * seconds):
            found = replace(found, estimate=guess)
            so_far = f"about {guess.mean:.3g} by {guess.runs:,} random samples"
            yield Stage(Doing.ESTIMATING, so_far=so_far), found
    for share, one in excluding(problem):
        more = () if one is None else (one,)
        found = replace(found, exclusions=(*found.exclusions, *more), excluded_share=share)
        yield Stage(Doing.EXCLUDING, share=share), found
    found = replace(found, excluded_share=1.0)
    for share, more_finely in finer_exclusions(problem):
        if more_finely is not None:
            found = replace(found, finer=(*found.finer, more_finely))
        yield Stage(Doing.EXCLUDING_FINER, share=share), found
    if found.answer.rows:
        best = found.answer.rows[0].combination
        stacked = [z for z, n in enumerate(problem.zones) if n.options.which(_has_stack).any()]
        found = replace(found, largest=tuple(largest(problem, z, best) for z in stacked))
    yield Stage(Doing.ENDING), replace(found, done=True)


def _empty(problem: Problem) -> int:
    """Return how many combinations that fit put nothing in."""
    if problem.wishes.pump == "required":
        return 0
    keep = [np.flatnonzero(zone.options.which(_puts_nothing_in)) for zone in problem.zones]
    return count_all(problem.tables.kept(keep))


def _pump_fits(problem: Problem) -> bool:
    """Whether an option with a pump fits while the other zones are empty."""
    pumps = [np.flatnonzero(zone.options.which(holds_pump)) for zone in problem.zones]
    empty = [np.flatnonzero(zone.options.which(_puts_nothing_in)) for zone in problem.zones]
    return any(
        count_all(problem.tables.kept([*empty[:z], carriers, *empty[z + 1 :]]))
        for z, carriers in enumerate(pumps)
        if len(carriers)
    )


def _puts_nothing_in(option: Option) -> bool:
    return option.layers is None and option.free is None


def _has_stack(option: Option) -> bool:
    return option.layers is not None


def _bound_text(answer: Answer) -> str:
    """Say what at most the best can still be, while that is not proven."""
    if answer.done or answer.at_most is None:
        return ""
    measure, mm = answer.at_most
    return f", {measure.name} at most {mm:.4g} {measure.unit}".rstrip()
