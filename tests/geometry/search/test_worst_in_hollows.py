"""What hangs in a hollow falls short in the worst case of a search as it does in the check."""

from __future__ import annotations

import random

import numpy as np
import pytest
from notched_rooms import notched_room

from geometry.scene import build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.units import ROLES
from geometry.search.judging.worst import short_options
from geometry.search.long_work import run_through
from geometry.stackup.figures import Tolerances


def told_alike(seeds: range) -> int:
    """Return how often search and check were asked about a block in a hollow, at some margins."""
    count = 0
    for seed in seeds:
        scene = build_scene(notched_room(random.Random(seed)))
        tolerances = Tolerances(scene, NO_DEPTHS)
        (a,) = scene.solids_of["P"]
        (b,) = (one for one in scene.solids if one.owner == "duct")
        figure = tolerances.between((a,), (b,))
        mine, theirs = (
            Tolerant.of([[(Kind.of(tolerances, one), (0.0, 0.0, 0.0))]]) for one in (a, b)
        )
        worst = figure.worst.worst_mm
        for need in (worst - 0.3, worst - 1e-4, worst + 1e-4, worst + 0.3):
            if 0.0 < need < figure.nominal.nominal_mm - 1e-3:
                margins = np.full((len(ROLES), len(ROLES)), need)
                short = run_through(short_options(mine, theirs, margins))
                assert bool(short[0, 0]) == (worst < need), (seed, need, worst)
                count += 1
    return count


def test_search_tells_of_hollows_what_the_check_tells() -> None:
    assert told_alike(range(80)) > 80


def test_what_a_slope_loses_to_all_at_once_counts_where_each_by_itself_takes_less() -> None:
    # By 0.003 mm: two sides of the hollow that lean go with both of their ends.
    assert told_alike(range(787, 788)) > 0


@pytest.mark.nightly
def test_search_tells_of_many_hollows_what_the_check_tells() -> None:
    assert told_alike(range(100, 1000)) > 900
