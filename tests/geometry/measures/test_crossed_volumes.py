"""The room shared by unions of many-sided prisms of all three axes, against manifold3d.

Between two breakpoints two places stand for a whole stretch, so one that is missed shows.
"""

from __future__ import annotations

import math
import random

import pytest
from prism_oracles import shared, solid

from geometry.measures.overlap import overlap_volume_mm3
from geometry.measures.prism import Poly, Prism, Rect

FEW, MANY = 40, 1_000
LEAST_MM3 = 1_000.0
"""Less shared room than this is compared as if it were so much."""


@pytest.mark.parametrize("seed", range(FEW))
def test_unions_of_stars_along_three_axes(seed: int) -> None:
    _compare(seed)


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(10))
def test_many_unions_of_stars(block: int) -> None:
    for seed in range(FEW + block * MANY // 10, FEW + (block + 1) * MANY // 10):
        _compare(seed)


def test_bars_of_many_sides_along_three_axes() -> None:
    across = [Prism(k, _circle(24, 0.0, 20.0), -15, 15) for k in (0, 1)]
    upright = [Prism(2, _circle(24, 18.0, 0.0), 0, 40)]
    assert overlap_volume_mm3(upright, across) == pytest.approx(
        shared(solid(upright), solid(across)), rel=1e-10
    )


def _compare(seed: int) -> None:
    rng = random.Random(seed)
    one, other = ([_prism(rng) for _ in range(rng.randint(1, 3))] for _ in range(2))
    measured, found = overlap_volume_mm3(one, other), shared(solid(one), solid(other))
    assert measured == pytest.approx(found, abs=1e-10 * max(found, LEAST_MM3))


def _prism(rng: random.Random) -> Prism:
    lo = rng.uniform(-15, 5)
    block = Rect(*(rng.uniform(-9, -1) for _ in range(2)), *(rng.uniform(1, 9) for _ in range(2)))
    outline = _star(rng) if rng.random() < 0.8 else block
    return Prism(rng.randrange(3), outline, lo, lo + rng.uniform(3, 20))


def _star(rng: random.Random) -> Poly:
    sides, turn = rng.randint(3, 9), rng.random()
    a, b = (rng.uniform(-5, 5) for _ in range(2))
    corners = []
    for k in range(sides):
        angle, r = 2 * math.pi * (k + turn) / sides, rng.uniform(4, 20)
        corners.append((a + r * math.cos(angle), b + r * math.sin(angle)))
    return Poly(tuple(corners))


def _circle(sides: int, a: float, b: float) -> Poly:
    angles = (2 * math.pi * k / sides + 0.1 for k in range(sides))
    return Poly(tuple((a + 20 * math.cos(t), b + 20 * math.sin(t)) for t in angles))
