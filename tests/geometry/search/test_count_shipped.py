"""Counts of a shipped enclosure against CP-SAT, which lists every combination one by one.

The solver is told which pairs conflict and nothing else: merging, summing out and branching of the
count are not its own. That the pairs are right is held against the full check, on combinations
drawn by a seed.
"""

from __future__ import annotations

import random

import numpy as np
import pytest
from plain_tables import whole
from search_oracle import made_ready, passes

from catalog.store import Library
from geometry.layout import Layout
from geometry.search.problem import Problem
from geometry.search.solving.count import count_all
from geometry.search.solving.tables import Tables
from geometry.search.wishes import Wishes, wishes_from

DRAWN = 25
"""So many combinations are checked in full."""


def tower(*parts: str) -> Problem:
    """The five zones of the tall tower, each stack in the middle of its slots."""
    library = Library()
    enclosure = library.enclosure("tall-tower")
    base = Layout(name="Tower", enclosure=enclosure)
    chosen = [library.part(part) for part in (*parts, "fan-120-25")]
    return made_ready(base, wishes_from(chosen, Wishes(slide_steps=1, judge="nominal")))


def listed_by_solver(tables: Tables) -> int:
    """Return how many combinations CP-SAT lists, each one different."""
    cp_model = pytest.importorskip("ortools.sat.python.cp_model")
    model = cp_model.CpModel()
    picks = [[model.new_bool_var("") for _ in range(size)] for size in tables.sizes]
    for zone in picks:
        model.add_exactly_one(zone)
    for (i, j), table in tables.clash.items():
        for a, b in np.argwhere(table.full()).tolist():
            model.add_bool_or([~picks[i][a], ~picks[j][b]])

    class Counter(cp_model.CpSolverSolutionCallback):  # type: ignore[misc, name-defined]
        count = 0

        def on_solution_callback(self) -> None:
            self.count += 1

    solver, counter = cp_model.CpSolver(), Counter()
    solver.parameters.num_workers = 1
    solver.parameters.enumerate_all_solutions = True
    assert solver.solve(model, counter) == cp_model.OPTIMAL
    return counter.count


def agrees_with_the_full_check(problem: Problem) -> None:
    pick = random.Random(7)
    for _ in range(DRAWN):
        one = tuple(pick.randrange(size) for size in problem.tables.sizes)
        assert problem.tables.fits(one) == passes(problem, problem.options(one))


def test_the_count_of_a_tower_equals_what_a_solver_lists() -> None:
    problem = tower("exchanger-3x120-60")
    agrees_with_the_full_check(problem)
    every = count_all(whole(problem.tables))
    assert every > 10_000
    assert listed_by_solver(whole(problem.tables)) == every
    assert every < problem.combinations


@pytest.mark.nightly
def test_a_count_of_over_a_million_of_a_tower_equals_what_a_solver_lists() -> None:
    parts = ("exchanger-3x120-60", "exchanger-2x120-60", "exchanger-2x120-30", "exchanger-1x120-30")
    problem = tower(*parts)
    agrees_with_the_full_check(problem)
    every = count_all(whole(problem.tables))
    assert every > 1_000_000
    assert listed_by_solver(whole(problem.tables)) == every
