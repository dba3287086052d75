"""Counts of more than a million that fit, against a solver that lists part of each combination.

CP-SAT lists every choice for the first three zones, and for each of them the choices left for the
last two are counted pair by pair. Conflicts come from the distances of the drawn boxes, so nothing
here goes by the tables, the merging or the summing of the search.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt
import pytest
from trade_zones import drawn, interval_tables, makeups, plain_clash

from geometry.search.solving.count import count_all

Bools = npt.NDArray[np.bool_]

ROOM = (550.0, 205.0, 440.0)
LISTED = 3
"""Zones of which CP-SAT lists every choice; two are left to be counted."""


def listed_by_solver(clash: dict[tuple[int, int], Bools], size: int) -> list[tuple[int, ...]]:
    """Return every choice for the first zones that stands together, as CP-SAT lists it."""
    cp_model = pytest.importorskip("ortools.sat.python.cp_model")
    model = cp_model.CpModel()
    picks = [[model.new_bool_var("") for _ in range(size)] for _ in range(LISTED)]
    for zone in picks:
        model.add_exactly_one(zone)
    for i, j in combinations(range(LISTED), 2):
        for a, b in np.argwhere(clash[i, j]).tolist():
            model.add_bool_or([~picks[i][a], ~picks[j][b]])
    found: list[tuple[int, ...]] = []

    class Lister(cp_model.CpSolverSolutionCallback):  # type: ignore[misc, name-defined]
        def on_solution_callback(self) -> None:
            found.append(
                tuple(next(k for k, p in enumerate(z) if self.boolean_value(p)) for z in picks)
            )

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.enumerate_all_solutions = True
    assert solver.solve(model, Lister()) == cp_model.OPTIMAL
    assert len(set(found)) == len(found)
    return found


def completions(clash: dict[tuple[int, int], Bools], choice: tuple[int, ...]) -> int:
    """Return how many pairs of options of the last two zones stand beside a choice."""
    third, fourth = (
        ~np.any([clash[z, last][k] for z, k in enumerate(choice)], axis=0)
        for last in (LISTED, LISTED + 1)
    )
    return int((~clash[LISTED, LISTED + 1][np.ix_(third, fourth)]).sum())


def agrees(size: int, seed: int) -> None:
    case = drawn(LISTED + 2, size, ROOM, seed)
    clash = {
        (i, j): plain_clash(case.boxes[i], case.boxes[j])
        for i, j in combinations(range(LISTED + 2), 2)
    }
    every = sum(completions(clash, choice) for choice in listed_by_solver(clash, size))
    assert every > 1_000_000
    assert count_all(interval_tables(makeups(case))) == every


def test_count_over_a_million_equals_what_a_solver_lists() -> None:
    agrees(30, seed=1)


@pytest.mark.nightly
@pytest.mark.parametrize("seed", range(4))
def test_larger_counts_equal_what_a_solver_lists(seed: int) -> None:
    agrees(50, seed)
