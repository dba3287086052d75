"""Round prisms of different axes: their clearance is iterated, to within the stated 1e-6 mm.

The oracle is a plain search of its own: with one bar along z and the other along x, the least of
hypot(how far x lies outside, distance of (y, 0) from the other's folded outline) over a grid of y
on the first one's rim, refined round the best place until the grid is finer than 1e-9 mm.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from prism_laws import posed
from rotations import all_rotations

from geometry.measures.clearance import clearance
from geometry.measures.pose import Pose
from geometry.measures.prism import Prism, Round

BOUND_MM = 1e-6
Bar = tuple[float, float, float, float, float, float]
"""Place and radius of a bar, the length of its straight sides on both axes, half its height."""


def searched(upright: Prism, lying: Prism) -> float:
    """Return the least distance of a bar along z and one along x."""
    a, b = upright.outline, lying.outline
    assert isinstance(a, Round)
    assert isinstance(b, Round)
    lo, hi = a.b0 - a.r, a.b1 + a.r
    best = np.inf
    while True:
        y = np.linspace(lo, hi, 2001)
        across = np.sqrt(np.maximum(0.0, a.r**2 - (y - np.clip(y, a.b0, a.b1)) ** 2))
        least_x, most_x = a.a0 - across, a.a1 + across
        u = np.maximum(0.0, np.maximum(lying.lo - most_x, least_x - lying.hi))
        outside = max(0.0, b.b0 - upright.hi, upright.lo - b.b1)
        v = np.maximum(0.0, np.hypot(y - np.clip(y, b.a0, b.a1), outside) - b.r)
        gaps = np.hypot(u, v)
        k = int(gaps.argmin())
        best = min(best, float(gaps[k]))
        if hi - lo < 1e-9:
            return best
        lo, hi = float(y[max(k - 2, 0)]), float(y[min(k + 2, 2000)])


def bar(axis: int, one: Bar, scale: float) -> Prism:
    a, b, r, long_a, long_b, length = (v * scale for v in one)
    return Prism(axis, Round(a, b, a + long_a, b + long_b, r), -length, length)


places = st.floats(-30, 30, width=32)
sides = st.sampled_from(((0.0, 0.0), (5.0, 0.0), (0.0, 5.0)))


@st.composite
def bars(draw: st.DrawFn) -> Bar:
    long_a, long_b = draw(sides)
    r, length = draw(st.floats(0.25, 12, width=32)), draw(st.floats(0.5, 20, width=32))
    return (draw(places), draw(places), r, long_a, long_b, length)


@settings(max_examples=150)
@given(
    bars(),
    bars(),
    st.sampled_from((0.001, 0.1, 1.0, 30.0, 300.0)),
    st.sampled_from(all_rotations()),
)
def test_any_two_round_bars(one: Bar, other: Bar, scale: float, turn: Pose) -> None:
    upright, lying = bar(2, one, scale), bar(0, other, scale)
    expected = searched(upright, lying)
    found = clearance(posed([upright], turn), posed([lying], turn))
    swapped = clearance([lying], [upright])
    assert abs(found.mm - expected) <= BOUND_MM
    assert abs(swapped.mm - expected) <= BOUND_MM


def test_the_search_finds_what_was_worked_by_hand() -> None:
    # Axes 20 mm apart, radii 5 and 7, far beyond each other's ends.
    assert _searched_bars((0, 0, 5), (20, 0, 7)) == pytest.approx(8.0, abs=1e-9)


def _searched_bars(one: Sequence[float], other: Sequence[float]) -> float:
    upright = Prism(2, Round(one[0], one[1], one[0], one[1], one[2]), -50, 50)
    return searched(
        upright, Prism(0, Round(other[0], other[1], other[0], other[1], other[2]), -50, 50)
    )
