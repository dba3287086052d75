"""A search driven from the command line: it tells how far it is, and keeps what it has."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from geometry.layout import Layout
from geometry.search.count import Counting, counting
from geometry.search.problem import Problem, Progress, SearchError, prepared
from geometry.search.tables import merged
from geometry.search.wishes import Wishes

Tell = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class Searched:
    """What a search found; `stopped` tells what was cut short."""

    problem: Problem
    count: Counting
    stopped: str = ""


def searched(layout: Layout, wishes: Wishes, seconds: float, tell: Tell) -> Searched:
    """Run a search. Raises SearchError where it cannot begin, KeyboardInterrupt before it has."""
    problem: Problem | None = None
    for step in prepared(layout, wishes):
        if isinstance(step, Progress):
            tell(f"{step.what}: {step.done} of {step.of}")
        else:
            problem = step
    if problem is None:
        raise SearchError("nothing was made ready")
    count = Counting(0, problem.tables.combinations, 0.0, done=False)
    stopped = ""
    try:
        for count in counting(merged(problem.tables), seconds):
            tell(f"counting: {count.found:,} so far, {count.share:.0%} looked at")
    except KeyboardInterrupt:
        stopped = "the count was stopped"
    return Searched(problem, count, stopped)
