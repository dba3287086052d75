"""What stands in an opening falls short in the worst case of a search as it does in the check."""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
import pytest
from joined_rooms import pegged_room
from pierced_rooms import pierced_room
from slanted_rooms import slanted_halves, slanted_room

from geometry.layout import Layout
from geometry.measures.clearance import bounds_gap
from geometry.scene import build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.units import ROLES
from geometry.search.judging.worst import short_options
from geometry.search.long_work import run_through
from geometry.stackup.figures import Tolerances


def told_alike(seeds: range, draw_room: Callable[[random.Random], Layout] = pierced_room) -> int:
    """Return how often search and check were asked about a solid and a wall, at several margins."""
    count = 0
    for seed in seeds:
        scene = build_scene(draw_room(random.Random(seed)))
        tolerances = Tolerances(scene, NO_DEPTHS)
        walls = [s for s in scene.walls.solids if s.hard]
        for a in (s for owner in scene.placed for s in scene.solids_of[owner] if s.hard):
            mine = Tolerant.of([[(Kind.of(tolerances, a), (0.0, 0.0, 0.0))]])
            for b in walls:
                if bounds_gap(a.bounds, b.bounds) > 10.0:
                    continue
                figure = tolerances.between((a,), (b,))
                theirs = Tolerant.of([[(Kind.of(tolerances, b), (0.0, 0.0, 0.0))]])
                worst = figure.worst.worst_mm
                for need in (worst - 0.3, worst - 1e-3, worst + 1e-3, worst + 0.3, 0.2):
                    if not 0.0 < need < figure.nominal.nominal_mm - 1e-3:
                        continue
                    margins = np.full((len(ROLES), len(ROLES)), need)
                    short = run_through(short_options(mine, theirs, margins))
                    assert bool(short[0, 0]) == (worst < need), (seed, a.id, b.id, need, worst)
                    count += 1
    return count


def test_search_tells_of_openings_what_the_check_tells() -> None:
    assert told_alike(range(24)) > 80


@pytest.mark.nightly
def test_search_tells_of_many_openings_what_the_check_tells() -> None:
    assert told_alike(range(100, 400)) > 1000


def test_search_tells_of_openings_across_slanted_walls_what_the_check_tells() -> None:
    assert told_alike(range(3), slanted_room) >= 6


@pytest.mark.nightly
def test_search_tells_of_many_openings_across_slanted_walls_what_the_check_tells() -> None:
    assert told_alike(range(100, 120), slanted_room) > 40


def test_search_tells_of_bars_between_openings_what_the_check_tells() -> None:
    assert told_alike(range(40), pegged_room) > 120
    assert told_alike(range(3), slanted_halves) > 3


@pytest.mark.nightly
def test_search_tells_of_many_bars_between_openings_what_the_check_tells() -> None:
    assert told_alike(range(100, 400), pegged_room) > 800
    assert told_alike(range(100, 130), slanted_halves) > 30
