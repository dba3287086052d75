"""Where two outlines share room most widely: told in closed form where one of them is round."""

from __future__ import annotations

import random
from unittest.mock import patch

import pytest

from geometry.measures.planar import shared_spot
from geometry.measures.prism import Rect, Round
from geometry.measures.strips import Strip, strips

SEED = 9_021


def outline(rng: random.Random) -> Rect | Round:
    a, b, da, db = (
        rng.uniform(-10, 10),
        rng.uniform(-10, 10),
        rng.uniform(1, 9),
        rng.uniform(1, 9),
    )
    if rng.random() < 0.5:
        return Rect(a, b, a + da, b + db)
    along_a = rng.random() < 0.5
    if rng.random() < 0.5:
        return Round(a, b, a, b, da)
    return Round(a, b, a + da * along_a, b + db * (not along_a), rng.uniform(1, 6))


def width_at(one: Rect | Round, spot: tuple[float, float]) -> tuple[float, float]:
    """The span of an outline at the height of a spot, least and greatest."""
    across = [s for s in strips(one, 0) if s.t0 - 1e-9 <= spot[1] <= s.t1 + 1e-9]
    return min(s.left(spot[1]) for s in across), max(s.right(spot[1]) for s in across)


def test_the_spot_is_as_wide_as_a_search_finds_it_and_in_the_middle() -> None:
    rng = random.Random(SEED)
    shared = 0
    for _ in range(400):
        p, q = outline(rng), outline(rng)
        with patch.object(Strip, "level", False):
            try:
                sought = shared_spot(p, q)
            except ValueError:
                with pytest.raises(ValueError, match="share no area"):
                    shared_spot(p, q)
                continue
        found = shared_spot(p, q)
        wide = []
        for spot in (sought, found):
            (a0, a1), (b0, b1) = width_at(p, spot), width_at(q, spot)
            low, high = max(a0, b0), min(a1, b1)
            wide.append(high - low)
            assert spot[0] == pytest.approx((low + high) / 2, abs=1e-6)
        assert wide[1] == pytest.approx(wide[0], abs=1e-9)
        shared += 1
    assert shared > 80


def test_a_circle_on_a_wider_face_is_met_in_its_middle() -> None:
    assert shared_spot(Round(3.0, 4.0, 3.0, 4.0, 2.0), Rect(0.0, 0.0, 9.0, 9.0)) == (3.0, 4.0)
    # Of a face that ends at a = 3.5 the circle shares most at its own height, from 1 to 3.5.
    assert shared_spot(Rect(0.0, 0.0, 3.5, 9.0), Round(3.0, 4.0, 3.0, 4.0, 2.0)) == (2.25, 4.0)
