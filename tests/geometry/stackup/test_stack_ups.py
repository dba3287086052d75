"""The arithmetic of stack-ups against published examples."""

from __future__ import annotations

from math import sqrt

import pytest

from catalog.iso2768 import KnownDimension
from geometry.stackup.stack_ups import Contributor, StackUp, stack_up


def part_of_a_gap(name: str, nominal: float, plus: float, minus: float, sense: int) -> Contributor:
    """A dimension along the gap: sense +1 where the gap grows with it, -1 where it shrinks."""
    known = KnownDimension(nominal, minus, plus, "drawing", general=False)
    return Contributor(name, name, "length_mm", known, sense * plus, -sense * minus)


def test_clearance_of_a_fit_of_iso_286() -> None:
    # ISO 286-1, 50 H8/f7: hole 50 +0.039/0, shaft 50 -0.025/-0.050, which is 49.975 +0/-0.025.
    # Least clearance 50 - 49.975 = 0.025, greatest 50.039 - 49.950 = 0.089.
    gap = stack_up(
        50.0 - 49.975,
        [
            part_of_a_gap("hole", 50.0, 0.039, 0.0, +1),
            part_of_a_gap("shaft", 49.975, 0.0, 0.025, -1),
        ],
    )
    assert (gap.worst_mm, gap.most_mm) == (pytest.approx(0.025), pytest.approx(0.089))
    # The mean lies between, (0.025 + 0.089) / 2, and the root of 0.0195^2 + 0.0125^2 about it.
    assert gap.mean_mm == pytest.approx(0.057)
    assert gap.likely_most_mm - gap.mean_mm == pytest.approx(sqrt(0.0195**2 + 0.0125**2))
    assert [one.name for one in gap.contributors] == ["hole", "shaft"]


def test_three_collars_on_a_shouldered_screw() -> None:
    # The textbook case of a screw that holds three hollow parts (Shigley, Mechanical Engineering
    # Design, example on tolerance stack-up; from memory, in inches): a = 1.750 +- 0.003,
    # b = 0.750 +- 0.001, c = 0.120 +- 0.005, d = 0.875 +- 0.001, gap w = a - b - c - d.
    # w = 0.005 +- 0.010, so from -0.005 to 0.015.
    gap = stack_up(
        1.750 - 0.750 - 0.120 - 0.875,
        [
            part_of_a_gap("a", 1.750, 0.003, 0.003, +1),
            part_of_a_gap("b", 0.750, 0.001, 0.001, -1),
            part_of_a_gap("c", 0.120, 0.005, 0.005, -1),
            part_of_a_gap("d", 0.875, 0.001, 0.001, -1),
        ],
    )
    assert gap.nominal_mm == pytest.approx(0.005)
    assert gap.worst_mm == pytest.approx(-0.005)
    assert gap.most_mm == pytest.approx(0.015)
    # Root sum square: 9 + 1 + 25 + 1 = 36 thousandths squared, 0.006.
    assert gap.likely_least_mm == pytest.approx(-0.001)
    assert gap.likely_most_mm == pytest.approx(0.011)
    assert [one.name for one in gap.contributors] == ["c", "a", "b", "d"]
    assert [gap.share(one) for one in gap.contributors] == pytest.approx([0.5, 0.3, 0.1, 0.1])


def test_equal_tolerances_add_by_the_root_of_their_number() -> None:
    # Common textbook remark: n equal tolerances T give n T at worst and sqrt(n) T statistically.
    gap = stack_up(10.0, [part_of_a_gap(f"{k}", 5.0, 0.2, 0.2, -1) for k in range(4)])
    assert gap.worst_mm == pytest.approx(9.2)
    assert gap.likely_least_mm == pytest.approx(9.6)


def test_uniform_and_normal_shares_add_as_in_the_guide_to_uncertainty() -> None:
    # JCGM 100:2008 (GUM), example H.1, an end gauge of 50 mm, from memory: standard uncertainties
    # 25 nm (the standard) and 9.7 nm (the comparison), a difference of expansion within +-1e-6 per
    # kelvin at 0.1 K, 50e6 nm x 1e-6 x 0.1 = 5 nm, and a difference of temperature within +-0.05 K
    # at 11.5e-6 per kelvin, 50e6 x 11.5e-6 x 0.05 = 28.75 nm, both rectangular, so 2.9 and
    # 16.6 nm. The guide's combined standard uncertainty is 32 nm.
    def within(name: str, half: float, *, uniform: bool) -> Contributor:
        known = KnownDimension(0.0, half, half, "drawing", general=False)
        return Contributor(name, name, "length_mm", known, half, -half, uniform)

    length = stack_up(
        0.0,
        [
            within("standard", 3 * 25.0, uniform=False),
            within("comparison", 3 * 9.7, uniform=False),
            within("expansion", 5.0, uniform=True),
            within("temperature", 28.75, uniform=True),
        ],
    )
    assert length.spread_mm / 3 == pytest.approx(32, abs=0.5)
    assert [one.spread_mm / 3 for one in length.contributors] == pytest.approx(
        [25.0, 9.7, 16.6, 2.9], abs=0.02
    )


def test_statistical_limits_never_pass_the_worst_case() -> None:
    # One uniform share of 0.5: three standard deviations, 0.866, are more than there is.
    known = KnownDimension(0.0, 0.5, 0.5, "assumed", general=False)
    gap = stack_up(2.0, [Contributor("a", "a", "screw_play[0]", known, -0.5, 0.5, uniform=True)])
    assert gap.spread_mm == pytest.approx(0.5 * sqrt(3))
    assert (gap.likely_least_mm, gap.likely_most_mm) == pytest.approx((1.5, 2.5))


def test_what_changes_nothing_is_left_out() -> None:
    still = part_of_a_gap("still", 5.0, 0.0, 0.0, +1)
    assert stack_up(1.0, [still]) == StackUp(1.0, ())
    assert StackUp(1.0, ()).share(still) == 0.0
