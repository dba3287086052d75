"""What stands flush falls short in the worst case of a search as it does in the check."""

from __future__ import annotations

import numpy as np
import pytest
from flush_things import FLUSH, beside, near_things

from geometry.layout import Layout
from geometry.scene import build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.units import ROLES
from geometry.search.judging.worst import short_options
from geometry.search.long_work import run_through
from geometry.stackup.figures import Tolerances


def falls_short(of: Layout, need_mm: float) -> bool:
    """Whether a search says of the cube and the thing beside it that they are too near at worst."""
    scene = build_scene(of)
    tolerances = Tolerances(scene, NO_DEPTHS)
    solids = (scene.solids_of["P"][0], next(one for one in scene.solids if one.owner == "X"))
    mine, theirs = (Tolerant.of([[(Kind.of(tolerances, one), (0.0, 0.0, 0.0))]]) for one in solids)
    margins = np.full((len(ROLES), len(ROLES)), need_mm)
    return bool(run_through(short_options(mine, theirs, margins))[0, 0])


@pytest.mark.parametrize("name", FLUSH)
def test_what_may_touch_and_stands_flush_falls_short(name: str) -> None:
    assert falls_short(beside(FLUSH[name][0]), 0.0)


def test_search_tells_of_what_nearly_touches_what_the_check_tells() -> None:
    count = 0
    for seed, of, figure in near_things(range(80)):
        nominal, worst = figure.nominal.nominal_mm, figure.worst.worst_mm
        for need in {0.0, min(nominal, 0.25)}:
            if abs(worst - need) > 1e-3:
                assert falls_short(of, need) == (worst < need), (seed, need, worst)
                count += 1
    assert count > 50
