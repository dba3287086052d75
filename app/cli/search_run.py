"""A search driven from the command line: it tells how far it is, and keeps what it has."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from time import perf_counter

from geometry.layout import Layout
from geometry.search.answers import Answer, Measure, answers, domains, narrowed
from geometry.search.count import Counting, counting
from geometry.search.estimate import Estimate, estimate
from geometry.search.excludes import Exclusion, Largest, exclusions, largest
from geometry.search.problem import Problem, Progress, SearchError, prepared
from geometry.search.wishes import Wishes

Tell = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class Searched:
    """What a search found; `stopped` tells what was cut short.

    `estimate` stands in for the count where that did not end in time.
    """

    problem: Problem
    wanted: tuple[Measure, ...]
    count: Counting
    estimate: Estimate | None
    answer: Answer
    exclusions: tuple[Exclusion, ...] = ()
    largest: tuple[Largest, ...] = ()
    stopped: str = ""


def searched(
    layout: Layout, wishes: Wishes, wanted: Sequence[Measure], seconds: float, tell: Tell
) -> Searched:
    """Run a search. Raises SearchError where it cannot begin, KeyboardInterrupt before it has."""
    problem: Problem | None = None
    for step in prepared(layout, wishes):
        if isinstance(step, Progress):
            tell(f"{step.what}: {step.done} of {step.of}")
        else:
            problem = step
    if problem is None:
        raise SearchError("nothing was made ready")
    answer = Answer((), done=False)
    count = Counting(0, problem.tables.combinations, 0.0, done=False)
    guess: Estimate | None = None
    excluded: tuple[Exclusion, ...] = ()
    most: tuple[Largest, ...] = ()
    stopped = ""
    try:
        for answer in answers(problem, wanted, seconds):
            tell(f"looking for the best trade-offs: {len(answer.rows)} so far")
        count = _counted(problem, seconds, tell)
        if not count.done:
            parts = [estimate(narrowed(problem, d), seconds / 10) for d in domains(problem)]
            guess = Estimate.total(parts)
        tell("what excludes what")
        excluded = tuple(exclusions(problem))
        if answer.rows:
            best = answer.rows[0].combination
            most = tuple(largest(problem, z, best) for z in range(len(problem.zones)))
    except KeyboardInterrupt:
        stopped = "stopped before it was done; what was found so far is kept"
    return Searched(problem, tuple(wanted), count, guess, answer, excluded, most, stopped)


def _counted(problem: Problem, seconds: float, tell: Tell) -> Counting:
    """Count what fits, summed over the zones that could carry the pump where one must."""
    start = perf_counter()
    total = Counting(0, 0, 1.0, done=True)
    for domain in domains(problem):
        last = Counting(0, 0, 0.0, done=True)
        for last in counting(narrowed(problem, domain), seconds - (perf_counter() - start)):
            tell(f"counting: {total.found + last.found:,} so far, {last.share:.0%} looked at")
        total = Counting(
            total.found + last.found,
            total.at_most + last.at_most,
            min(total.share, last.share),
            total.done and last.done,
        )
    return total
