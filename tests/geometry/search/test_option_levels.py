"""Levels of options are picked some at a time, so that many options take little memory."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest

from geometry.search.judging import units
from geometry.search.judging.units import worst_over

OPTIONS, EACH, THINGS, COLUMNS = 4000, 5, 300, 2000


def test_many_options_take_little_more_memory_than_their_levels(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # At once 4,000 x 5 x 2,000 levels would be picked: 40 MB. The result has 8 MB.
    monkeypatch.setattr(units, "MOST_PICKED", 2**20)
    rng = np.random.default_rng(1)
    numbers = rng.integers(0, THINGS, OPTIONS * EACH).astype(np.intp)
    starts = np.arange(0, OPTIONS * EACH + 1, EACH, dtype=np.intp)
    rows = np.flatnonzero(rng.random(THINGS) < 0.7).astype(np.intp)
    levels = rng.integers(0, 3, (len(rows) + 1, COLUMNS)).astype(np.uint8)
    levels[-1] = 0
    tracemalloc.start()
    found = worst_over((numbers, starts), THINGS, levels, rows)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    every = np.zeros((THINGS, COLUMNS), dtype=np.uint8)
    every[rows] = levels[:-1]
    assert (found == every[numbers.reshape(OPTIONS, EACH)].max(axis=1)).all()
    assert most < 2 * found.nbytes
