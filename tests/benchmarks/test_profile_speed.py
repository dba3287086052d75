"""How long does an exact depth profile take, against sampling the depth every millimetre?

200 mixed obstacles over a footprint of 360 x 120 mm. A sample is the travel of a thin line over
the obstacles whose bounds lie before it, so the sampling does as little as it can. The aim is a
tenth; the test asserts a third, as a shared machine is no clock.
"""

from __future__ import annotations

import random
from statistics import median
from time import perf_counter

import numpy as np
from packings import random_prism

from geometry.measures.broadphase import bounds_array, near
from geometry.measures.pose import Way
from geometry.measures.prism import Prism, Rect, box
from geometry.measures.profile import depth_profile
from geometry.measures.travel import travel

SEED = 3
LENGTH_MM, WIDTH_MM = 360, 120
UP = Way(2, 1)


def _obstacles() -> list[tuple[int, list[Prism]]]:
    rng = random.Random(SEED)
    out = []
    for k in range(200):
        least = [rng.uniform(-20, 350), rng.uniform(-20, 110), rng.uniform(5, 200)]
        out.append((k, [random_prism(rng, least, [v + rng.uniform(5, 40) for v in least])]))
    return out


def _sampled(others: list[tuple[int, list[Prism]]]) -> list[float]:
    array = bounds_array([prisms[0] for _, prisms in others])
    depths = []
    for step in range(LENGTH_MM):
        t = step + 0.5
        line = box((t - 1e-3, 0, -1), (t + 1e-3, WIDTH_MM, 0))
        ahead = (t, 0, 0, t, WIDTH_MM, float(np.inf))
        before = [others[k] for k in near(ahead, array).tolist()]
        depths.append(travel([line], UP, before).mm)
    return depths


def test_depth_profile_against_sampling() -> None:
    others = _obstacles()
    footprint = Rect(0, 0, LENGTH_MM, WIDTH_MM)
    exact, sampled = [], []
    for _ in range(7):
        start = perf_counter()
        profile = depth_profile(footprint, 0.0, UP, 0, others)
        middle = perf_counter()
        depths = _sampled(others)
        exact.append((middle - start) * 1e3)
        sampled.append((perf_counter() - middle) * 1e3)
    ratio = median(exact) / median(sampled)
    print(
        f"\ndepth over {len(others)} obstacles (seed {SEED}): exact {median(exact):.2f} ms with "
        f"{len(profile.breakpoints_mm)} breakpoints, sampled every mm {median(sampled):.1f} ms; "
        f"ratio {ratio:.3f}"
    )
    # The samples lie on the profile, and the least of them is no less than its least.
    for step, depth in enumerate(depths):
        t = step + 0.5
        if all(abs(t - cut) > 2e-3 for cut in profile.breakpoints_mm):
            assert abs(profile.depth_at(t) - depth) < 0.5
    assert profile.least_mm <= min(depths)
    assert ratio < 1 / 3
