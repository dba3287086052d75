"""Two stacks that just exclude each other, put where a row has something else, or nothing.

What two zones take by themselves is in rows at the place that suits the rest; the places at which
two stacks come nearest to standing together are those that what excludes what has found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from geometry.checks.runner import check_layout
from geometry.search.answers import Answer, as_listed
from geometry.search.excludes import Exclusion
from geometry.search.listing.option import Option
from geometry.search.near.tries import GAIN_OF, LEAST_GAIN, Start, Try
from geometry.search.problem import Problem

MOST_PAIRS = 60
"""So many pairs are looked at, those that miss least first."""

Combination = tuple[int, ...]


def pair_tries(
    problem: Problem,
    answer: Answer,
    exclusions: Sequence[Exclusion],
    best: Mapping[str, float],
) -> Iterator[Try | None]:
    """Yield the pairs that would be more than any row, with what a row has on the other zones.

    None for a pair that would not.
    """
    number = {zone.zone: k for k, zone in enumerate(problem.zones)}
    rows = [(k, row.combination) for k, row in enumerate(answer.rows, start=1)]
    rows.append((0, (0,) * len(problem.zones)))
    near = sorted((e for e in exclusions if e.nearest is not None), key=lambda e: e.short_mm)
    for one in near[:MOST_PAIRS]:
        assert one.nearest is not None
        zones = number[one.zones[0]], number[one.zones[1]]
        yield _try(problem, rows, zones, one.nearest, one.short_mm, best)


def _try(
    problem: Problem,
    rows: Sequence[tuple[int, Combination]],
    zones: tuple[int, int],
    pair: tuple[int, int],
    short_mm: float,
    best: Mapping[str, float],
) -> Try | None:
    """Return two options with what the first row has beside them with which they gain."""
    first, second = (problem.zones[z].options[k] for z, k in zip(zones, pair, strict=True))
    if any(one.layers is None or one.states for one in (first, second)):
        return None
    for row, combination in rows:
        alone, other = (
            as_listed(problem, _with(combination, zones, some))
            for some in ((pair[0], 0), (0, pair[1]))
        )
        if alone is None or other is None:
            continue
        options = problem.options(alone)
        every = (*options, second)
        pumps = sum(option.pump for option in every)
        gains = {key: _sum(every, key) - most for key, most in best.items()}
        required = problem.wishes.pump == "required"
        if pumps > 1 or (required and not pumps) or max(gains.values()) <= LEAST_GAIN:
            continue
        checked = check_layout(problem.judged_layout(alone), problem.base, remedies=False)
        start = Start(row, checked, {option.zone: option for option in options}, first)
        return Try(start, second, gains, frozenset({f"on {first.zone}"}), short_mm)
    return None


def _with(combination: Combination, zones: tuple[int, int], pair: tuple[int, int]) -> Combination:
    """Return a combination with other options on two zones."""
    chosen = dict(zip(zones, pair, strict=True))
    return tuple(chosen.get(z, k) for z, k in enumerate(combination))


def _sum(options: Sequence[Option], key: str) -> float:
    return sum(float(getattr(option, GAIN_OF[key])) for option in options)
