"""The lower statistical limit of the nearest of several faces: by theory and by sampling."""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import erfc, pi, sqrt
from statistics import NormalDist

import numpy as np
import pytest
from small_rooms import block, fan, fan_layer, layout, room, row, zone
from small_rooms import stack as stack_of

from catalog.iso2768 import KnownDimension
from geometry.checks.finding_figures import depth_figure, stack_figure
from geometry.checks.runner import check_layout
from geometry.measures.broadphase import Floats
from geometry.stackup.stack_ups import (
    TAIL,
    Contributor,
    Figure,
    Near,
    StackUp,
    least_limit_mm,
    stack_up,
)

NORMAL = NormalDist()


def gap(nominal: float, **by: float) -> StackUp:
    """A gap that each named dimension changes by so much at its upper limit."""
    return stack_up(
        nominal,
        [
            Contributor(
                name, name, "length_mm", KnownDimension(10, 1, 1, "drawing", False), mm, -mm
            )
            for name, mm in by.items()
        ],
    )


def limit(*gaps: StackUp) -> float:
    return least_limit_mm([Near(one) for one in gaps])


def many(count: int, prefix: str = "d") -> dict[str, float]:
    """Several dimensions of 1 mm, so that the worst case lies far below the statistical limits."""
    return {f"{prefix}{k}": 1.0 for k in range(count)}


def test_the_tail_is_that_of_three_standard_deviations() -> None:
    # Tables of the normal distribution: 99.73 % within three standard deviations.
    assert pytest.approx(0.00135, abs=5e-7) == TAIL
    assert pytest.approx(NORMAL.cdf(-3)) == TAIL
    assert limit(gap(5.0, **many(16))) == pytest.approx(5.0 - 4.0)


@pytest.mark.parametrize("count", [2, 3, 5, 10])
def test_of_independent_gaps_it_is_the_exact_one_but_for_a_trifle(count: int) -> None:
    # The least of n independent ones is below x in 1 - (1 - F(x))^n; Boole's bound is n F(x).
    gaps = [gap(0.0, **many(16, f"{k}-")) for k in range(count)]
    exact = NORMAL.inv_cdf(1 - (1 - TAIL) ** (1 / count)) * 4 / 3
    told = limit(*gaps)
    assert exact - 0.001 < told <= exact


def share_below_of_two(limit: float, rho: float) -> float:
    """The share in which the lesser of two standard normal values of a correlation is below.

    Both are under h together in F(h)^2 + 1/(2 pi) times the integral of exp(-h^2 / (1 + r)) /
    sqrt(1 - r^2) over r from 0 to rho (Plackett, Biometrika 41, 1954; from memory).
    """
    r = np.sin(np.linspace(0.0, np.arcsin(rho), 4001))
    both = NORMAL.cdf(limit) ** 2
    both += float(np.trapezoid(np.exp(-(limit**2) / (1 + r)), np.arcsin(r))) / (2 * pi)
    return 2 * NORMAL.cdf(limit) - both


@pytest.mark.parametrize("shared", [1, 4, 8, 12, 15])
def test_of_two_gaps_with_dimensions_in_common_it_is_never_too_high(shared: int) -> None:
    common = many(shared, "common-")
    told = limit(*(gap(0.0, **common, **many(16 - shared, f"{k}-")) for k in "ab"))
    share = share_below_of_two(told * 3 / 4, shared / 16)
    assert share <= TAIL
    # And it is too low by 0.2 standard deviations of 4/3 at most.
    assert -4 - 0.21 * 4 / 3 < told < -4


def test_the_formula_for_two_agrees_with_the_mean_of_the_lesser_by_clark() -> None:
    # Clark 1961: the lesser of two standard normal values has the mean -sqrt((1 - rho) / pi).
    # From the shares: the mean is the integral of 1 - F over x > 0 less that of F over x < 0.
    for rho in (0.0, 0.5, 0.9):
        x = np.linspace(0.0, 6.0, 601)
        below = [share_below_of_two(-float(v), rho) for v in x]
        above = [1.0 - share_below_of_two(float(v), rho) for v in x]
        mean = float(np.trapezoid(above, x) - np.trapezoid(below, x))
        assert mean == pytest.approx(-sqrt((1 - rho) / pi), abs=2e-4)


def test_what_moves_with_a_nearer_one_does_not_count() -> None:
    # The second stands 1 mm farther and only "b" (0.5) tells them apart: it never is the nearest.
    first = gap(5.0, a=1.0, **many(16))
    second = gap(6.0, a=1.0, b=0.5, **many(16))
    assert second.never_under(first)
    assert not first.never_under(second)
    assert limit(first, second) == limit(first)
    # At 5.4 it may be, by 0.1.
    third = gap(5.4, a=1.0, b=0.5, **many(16))
    assert not third.never_under(first)
    assert limit(first, third) < limit(first)
    # Two faces of one thing count once.
    assert limit(first, gap(5.0, a=1.0, **many(16))) == limit(first)


def test_it_lies_between_the_worst_case_and_the_least_limit_alone() -> None:
    # One dimension each: three standard deviations are all there is, and so is the worst case.
    one, two = gap(5.0, a=1.0), gap(5.0, b=1.0)
    assert limit(one, two) == pytest.approx(4.0)
    rng = random.Random(5)
    for _ in range(50):
        gaps = [
            gap(rng.uniform(0, 2), **{rng.choice("abcdefgh"): rng.uniform(0, 1) for _ in range(4)})
            for _ in range(rng.randint(1, 6))
        ]
        told = limit(*gaps)
        assert min(g.worst_mm for g in gaps) <= told <= min(g.likely_least_mm for g in gaps)


def test_a_uniform_share_has_no_heavier_tail_than_it_is_taken_for() -> None:
    # The sum of a uniform and a normal value against a normal one of the same deviation: the share
    # below three deviations, integrated over the uniform one.
    for part in (0.1, 0.3, 0.5, 0.7, 0.9):
        half, sigma = sqrt(3 * part), sqrt(1 - part)
        u = np.linspace(-half, half, 4001)
        below = [erfc((3 + float(v)) / sigma / sqrt(2)) / 2 for v in u]
        assert float(np.trapezoid(below, u)) / (2 * half) <= TAIL


# ---- by sampling ----


def sampled(gaps: Sequence[StackUp], draws: int, seed: int) -> Floats:
    """Return the least of gaps, every dimension drawn anew each time."""
    rng = np.random.default_rng(seed)
    known = sorted({one.path + one.owner: one for g in gaps for one in g.contributors}.items())
    column = {key: k for k, (key, _) in enumerate(known)}
    values = rng.normal(0.0, 1 / 3, (draws, len(known)))
    for k, (_, one) in enumerate(known):
        if one.uniform:
            values[:, k] = rng.uniform(-1.0, 1.0, draws)
    rates = np.zeros((len(known), len(gaps)))
    for n, each in enumerate(gaps):
        for one in each.contributors:
            rates[column[one.path + one.owner], n] = one.at_plus_mm
    found: Floats = (values @ rates + np.array([g.nominal_mm for g in gaps])).min(axis=1)
    return found


@pytest.mark.parametrize("seed", range(6))
def test_no_more_than_it_says_fall_below(seed: int) -> None:
    # Five gaps about as near, of twelve dimensions that several of them share. Of 400,000 draws
    # 540 may fall below; five standard deviations of that, 116, are left for chance.
    rng = random.Random(seed)
    names = [f"d{k}" for k in range(24)]
    gaps = [
        gap(
            5 + rng.uniform(0, 0.3), **{n: rng.choice((-1, 1)) * 0.2 for n in rng.sample(names, 12)}
        )
        for _ in range(5)
    ]
    least = sampled(gaps, 400_000, seed)
    expected = TAIL * len(least)
    below = int((least < limit(*gaps)).sum())
    assert below <= expected + 5 * sqrt(expected)
    # It is no more cautious than need be, and the least of the limits alone would be too high.
    assert below > expected / 4
    alone = int((least < min(g.likely_least_mm for g in gaps)).sum())
    assert alone > expected + 5 * sqrt(expected)


def test_in_a_room_with_several_bars_as_near() -> None:
    # Five bars hang over a fan at 100, each off by 0.3 for itself; the zone and fan have no part
    # but for the fan's thickness, 0.2.
    bars = [block(f"bar-{k}", (45 + 20 * k, 50, 100), (55 + 20 * k, 150, 110)) for k in range(5)]
    part = fan().but(id="fan")
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    of = layout(
        room((400, 200, 300), [floor], bars),
        [part],
        [stack_of("S", "floor-zone", fan_layer("A", part, ["c1"]))],
    )
    report = check_layout(of).report
    figure = depth_figure(report, report.depths[0].least)
    assert isinstance(figure, Figure)
    assert len(figure.near) == 5
    least = sampled([near.gap for near in figure.near], 400_000, 3)
    expected = TAIL * len(least)
    assert (least < figure.likely_least_mm).sum() <= expected + 5 * sqrt(expected)
    assert (least < figure.nominal.likely_least_mm).sum() > 3 * expected
    assert figure.worst.worst_mm <= figure.likely_least_mm < figure.nominal.likely_least_mm


def test_the_least_of_a_stack_is_that_of_all_its_cells() -> None:
    # A bar over each of two fans, both at 100 and off by 0.3 for itself.
    bars = [block(f"bar-{k}", (60 + 120 * k, 50, 100), (80 + 120 * k, 150, 110)) for k in (0, 1)]
    part = fan().but(id="fan")
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(2))
    of = layout(
        room((400, 200, 300), [floor], bars),
        [part],
        [stack_of("S", "floor-zone", fan_layer("A", part, ["c1", "c2"]))],
    )
    report = check_layout(of).report
    figure = stack_figure(report, report.depths[0])
    cells = [depth_figure(report, cell) for cell in report.depths[0].cells]
    assert figure is not None
    own = [one for one in cells if one is not None]
    assert len(own) == 2
    assert figure.nominal.nominal_mm == min(one.nominal.nominal_mm for one in own)
    assert figure.worst.worst_mm == pytest.approx(100 - 25 - 0.3 - 0.2)
    assert figure.likely_least_mm == pytest.approx(
        least_limit_mm([Near(one.nominal) for one in own])
    )
    assert figure.likely_least_mm < min(one.likely_least_mm for one in own)
