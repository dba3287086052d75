"""A combination is found under other numbers of its options wherever it stands under some."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations, product
from types import SimpleNamespace
from typing import cast

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from geometry.search.answers import as_listed
from geometry.search.problem import Problem
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.zone_tables import ZoneTables

Clash = Mapping[tuple[int, int], Sequence[Sequence[int]]]


def listed(different: Sequence[Sequence[int]], clash: Clash) -> Problem:
    """A search of which only the numbers of different options and what conflicts are known."""
    tables = ZoneTables(
        tuple(np.zeros(len(numbers), dtype=bool) for numbers in different),
        {pair: PairTable.of(np.array(table, dtype=bool)) for pair, table in clash.items()},
    )
    zones = [SimpleNamespace(options=SimpleNamespace(different=np.array(d))) for d in different]
    return cast(Problem, SimpleNamespace(tables=tables, zones=zones))


def test_two_zones_are_listed_anew_at_once() -> None:
    # A front stack, or another one that is listed with the cage out (1) and in (2); a roof stack
    # that is listed with the first one ahead of it (0) and with the cage, in, ahead of it (1).
    front_roof = [[0, 0], [1, 0], [1, 0]]
    front_cage = [[0, 0], [0, 1], [1, 0]]
    roof_cage = [[0, 0], [1, 0]]
    problem = listed(
        [[0, 1, 1], [0, 0], [0, 1]],
        {(0, 1): front_roof, (0, 2): front_cage, (1, 2): roof_cage},
    )
    assert as_listed(problem, (1, 0, 1)) == (2, 1, 1)
    assert as_listed(problem, (2, 0, 0)) is None
    assert as_listed(problem, (0, 1, 0)) == (0, 0, 0)


@st.composite
def problems(draw: st.DrawFn) -> tuple[Problem, list[list[int]]]:
    different = draw(st.lists(st.lists(st.integers(0, 1), min_size=1, max_size=4), max_size=4))
    clash: dict[tuple[int, int], list[list[int]]] = {}
    for i, j in combinations(range(len(different)), 2):
        if draw(st.booleans()):
            row = st.lists(
                st.integers(0, 1), min_size=len(different[j]), max_size=len(different[j])
            )
            clash[i, j] = [draw(row) for _ in different[i]]
    return listed(different, clash), different


@given(problems())
def test_whatever_stands_under_some_numbers_is_found(made: tuple[Problem, list[list[int]]]) -> None:
    problem, different = made

    def is_made_of(combination: Sequence[int]) -> tuple[int, ...]:
        return tuple(numbers[k] for numbers, k in zip(different, combination, strict=True))

    every = list(product(*(range(len(numbers)) for numbers in different)))
    standing = {is_made_of(one) for one in every if problem.tables.fits(one)}
    for one in every:
        found = as_listed(problem, one)
        assert (found is not None) == (is_made_of(one) in standing)
        if found is not None:
            assert problem.tables.fits(found)
            assert is_made_of(found) == is_made_of(one)
