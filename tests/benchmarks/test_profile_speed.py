"""How long does an exact depth profile take, against sampling the depth every millimetre?

200 mixed obstacles over a footprint of 360 x 120 mm. A sample is the travel of a thin line over
the obstacles whose bounds lie before it, so the sampling does as little as it can. Both take turns,
and of each the least time of the processor counts. The aim is a tenth; the test asserts a third, as
a shared machine is no clock.
"""

from __future__ import annotations

import random
from time import process_time

import numpy as np
from depth_profiles import breakpoints_mm, depth_at
from packings import random_prism

from geometry.measures.broadphase import bounds_array, near
from geometry.measures.pose import Way
from geometry.measures.prism import Prism, Rect, box
from geometry.measures.profile import depth_profile
from geometry.measures.travel import travel

SEED = 3
LENGTH_MM, WIDTH_MM = 360, 120
UP = Way(2, 1)
HALF_MM = 1e-5
"""Half the width of the line that samples: beside the rim of an arc of radius 20 it meets that
sqrt(2 * 20 * HALF_MM) mm too early at most."""
OFF_MM = 0.02


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
        line = box((t - HALF_MM, 0, -1), (t + HALF_MM, WIDTH_MM, 0))
        ahead = (t, 0, 0, t, WIDTH_MM, float(np.inf))
        before = [others[k] for k in near(ahead, array).tolist()]
        depths.append(travel([line], UP, before).mm)
    return depths


def test_depth_profile_against_sampling() -> None:
    footprint = Rect(0, 0, LENGTH_MM, WIDTH_MM)
    first, again, sampled = [], [], []
    for _ in range(9):
        # Outlines remember their strips: the first profile over fresh ones has to cut them.
        others = _obstacles()
        for times in (first, again):
            start = process_time()
            profile = depth_profile(footprint, 0.0, UP, 0, others)
            times.append((process_time() - start) * 1e3)
        start = process_time()
        depths = _sampled(others)
        sampled.append((process_time() - start) * 1e3)
    ratio = min(again) / min(sampled)
    print(
        f"\ndepth over {len(others)} obstacles (seed {SEED}): exact {min(again):.2f} ms with "
        f"{len(breakpoints_mm(profile))} breakpoints, sampled every mm {min(sampled):.1f} ms; "
        f"ratio {ratio:.3f}; over obstacles seen for the first time {min(first):.2f} ms, "
        f"{min(first) / min(sampled):.3f}"
    )
    # The samples lie on the profile, and the least of them is no less than its least.
    for step, depth in enumerate(depths):
        t = step + 0.5
        if all(abs(t - cut) > 2 * HALF_MM for cut in breakpoints_mm(profile)):
            assert depth_at(profile, t) == depth or abs(depth_at(profile, t) - depth) <= OFF_MM
    assert profile.least_mm <= min(depths)
    assert ratio < 1 / 3
