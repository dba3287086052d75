"""What a search looks at some at a time comes out the same however many these are."""

from __future__ import annotations

import pytest
from odd_rooms import odd_case
from search_oracle import made_ready

from geometry.search.judging import alone, left_over, standing
from geometry.search.problem import Problem
from geometry.search.solving import lists

AT_ONCE = (
    (alone, "SIFTED_AT_ONCE", 7),
    (left_over, "OPTIONS_AT_ONCE", 3),
    (standing, "OPTIONS_AT_ONCE", 3),
    (lists, "LISTS_AT_ONCE", 3),
)


def told(problem: Problem) -> tuple[object, ...]:
    options = [[str(option) for option in zone.options] for zone in problem.zones]
    clash = {pair: table.full().tolist() for pair, table in problem.tables.clash.items()}
    return options, [zone.listed for zone in problem.zones], clash


@pytest.mark.parametrize("seed", [1, 3, 4, 8])
def test_options_are_the_same_when_few_are_looked_at_at_once(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = odd_case(seed).case
    every = told(made_ready(case.layout, case.wishes))
    for module, name, few in AT_ONCE:
        assert getattr(module, name) > 1_000
        monkeypatch.setattr(module, name, few)
    problem = made_ready(case.layout, case.wishes)
    assert max(len(zone.options) for zone in problem.zones) > 2 * 7
    assert told(problem) == every
