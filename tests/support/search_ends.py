"""What a search that pauses finds in the end, for tests that do not ask what it tells before."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.measures.broadphase import Floats
from geometry.search.answers import pattern_counting
from geometry.search.long_work import run_through
from geometry.search.problem import Problem
from geometry.search.solving.count import Counting
from geometry.search.solving.dominance import Worthy, sifting
from geometry.search.solving.estimate import Estimate, estimating
from geometry.search.solving.tables import Merged


def worthy(classes: Merged, values: Sequence[Floats]) -> Worthy:
    """Return the options that no other can stand in for; `values[z]` is (options, measures)."""
    return run_through(sifting(classes, values))


def estimate(classes: Merged, seconds: float, seed: int = 1) -> Estimate:
    """Estimate how many combinations fit, in about so many seconds, by runs drawn with a seed."""
    *_, last = estimating(classes, seconds, seed)
    return last


def pattern_count(
    problem: Problem, pattern: Sequence[str], seconds: float | None = None
) -> Counting:
    """Return how many combinations with one pattern a zone fit, as far as counted in so long."""
    *_, last = pattern_counting(problem, pattern, seconds)
    return last
