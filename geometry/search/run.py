"""A whole search as a generator of progress, which a window or a command line drives.

Whoever drives it may stop at any yield: the last state holds what was found so far.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from time import perf_counter

from geometry.layout import Layout
from geometry.search.answers import Answer, Measure, answers, domains, narrowed
from geometry.search.count import Counting, counting
from geometry.search.estimate import Estimate, estimate
from geometry.search.excludes import Exclusion, Largest, exclusions, largest
from geometry.search.problem import Problem, Progress, prepared
from geometry.search.wishes import Wishes


@dataclass(frozen=True, eq=False)
class Searched:
    """What a search has found; `estimate` stands in for the count where that did not end in time.

    `done` once everything has been looked at: until then rows may be missing.
    """

    problem: Problem
    wanted: tuple[Measure, ...]
    count: Counting
    answer: Answer
    estimate: Estimate | None = None
    exclusions: tuple[Exclusion, ...] = ()
    largest: tuple[Largest, ...] = ()
    done: bool = False


@dataclass(frozen=True, eq=False)
class Searching:
    """How far a search has come: what it is at, and what was found, once there is something."""

    stage: str
    found: Searched | None = None


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
            yield Searching(f"{step.what}: {step.done} of {step.of}")
        else:
            problem = step
    assert problem is not None, "making ready ends with the problem"
    uncounted = Counting(0, problem.tables.combinations, 0.0, done=False)
    found = Searched(problem, tuple(wanted), uncounted, Answer((), done=False))
    for answer in answers(problem, wanted, seconds):
        found = replace(found, answer=answer)
        yield Searching(f"best trade-offs: {len(answer.rows)} so far", found)
    for count in _counted(problem, seconds):
        found = replace(found, count=count)
        yield Searching(f"counting: {count.found:,} so far, {count.share:.0%} looked at", found)
    if not found.count.done:
        parts = [estimate(narrowed(problem, d), seconds / 10) for d in domains(problem)]
        found = replace(found, estimate=Estimate.total(parts))
    yield Searching("what excludes what", found)
    found = replace(found, exclusions=tuple(exclusions(problem)))
    if found.answer.rows:
        best = found.answer.rows[0].combination
        most = tuple(largest(problem, z, best) for z in range(len(problem.zones)))
        found = replace(found, largest=most)
    yield Searching("done", replace(found, done=True))


def _counted(problem: Problem, seconds: float) -> Iterator[Counting]:
    """Count what fits, summed over the zones that could carry the pump where one must."""
    start = perf_counter()
    total = Counting(0, 0, 1.0, done=True)
    for domain in domains(problem):
        before = total
        for last in counting(narrowed(problem, domain), seconds - (perf_counter() - start)):
            total = Counting(
                before.found + last.found,
                before.at_most + last.at_most,
                min(before.share, last.share),
                before.done and last.done,
            )
            yield total
    yield total
