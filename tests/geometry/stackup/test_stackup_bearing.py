"""Several parts side by side under one: the thickest carries it, worked by hand.

Two fans of a layer are two parts, and an exchanger lies on both, exact in size. A bar hangs over it
alone, so high that 5 mm are left as drawn; all else is exact.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from small_rooms import exchanger, fan, layout, one, room, row, stack, zone

from catalog.enclosure import Obstacle
from catalog.model import Dimension, FrozenMap
from catalog.shapes import Box
from geometry.checks.finding_figures import depth_figure
from geometry.checks.runner import check_layout
from geometry.finding import Report, Verdict
from geometry.layout import Item, Layer, Layout, Settings
from geometry.stackup.bearing import Bearing, Thick
from geometry.stackup.stack_ups import Figure

Off = tuple[float, float]
"""By how much a dimension is off, minus and plus."""

CORE = ("core_thickness_mm", "port_tank.thickness_mm", "return_tank.thickness_mm")


def off(by: Off) -> Dimension:
    return Dimension(minus_mm=by[0], plus_mm=by[1], origin="measured")


def under_one(*fans: tuple[float, Off], bar: Off = (0.0, 0.0), top: float | None = None) -> Layout:
    """Fans side by side, each so thick and off, under an exchanger and a bar."""
    parts = [
        fan(mm).but(id=f"f{k}", name=f"Fan {k}", dimensions=FrozenMap({"thickness_mm": off(by)}))
        for k, (mm, by) in enumerate(fans)
    ]
    exact = FrozenMap(dict.fromkeys(CORE, off((0.0, 0.0))))
    core = exchanger(len(fans), 30).but(dimensions=exact)
    high = 35.0 + (max(mm for mm, _ in fans) if top is None else top)
    long = 120 * len(fans)
    box = Box(at_mm=(90, 60, high), size_mm=(long - 40, 80, 10))
    enclosure = room(
        (80 + long + 100, 200, 200),
        [zone("fz", "floor", (80, 40, 0), "+x", "+y", row(len(fans)))],
        [Obstacle(id="bar", name="bar", shapes=(box,))],
    ).but(dimensions=FrozenMap({"obstacles[0].shapes[0].at_mm[2]": off(bar)}))
    items = tuple(Item(id=f"F{k}", part=part.id, cell=f"c{k + 1}") for k, part in enumerate(parts))
    layers = (Layer(id="L", items=items), one("E", core))
    return layout(enclosure, [*parts, core], [stack("S", "fz", *layers)], settings=Settings())


def depth(of: Report) -> Figure:
    figure = depth_figure(of, of.depths[0].least)
    assert figure is not None
    assert figure.nominal.nominal_mm == pytest.approx(5.0)
    return figure


@pytest.mark.parametrize(
    ("first", "second", "lost", "won"),
    [
        # As thick: either may be the thicker, and either is at least 24.8.
        ((25.0, (0.2, 0.2)), (25.0, (0.2, 0.2)), 0.2, 0.2),
        # The first holds it at 24.95 at least, whatever the second does.
        ((25.0, (0.05, 0.05)), (25.0, (0.2, 0.2)), 0.2, 0.05),
        ((25.0, (1.0, 1.0)), (25.0, (0.0, 3.0)), 3.0, 0.0),
        # 25.2 against 25.1.
        ((25.0, (0.2, 0.2)), (24.9, (0.2, 0.2)), 0.2, 0.2),
        # 25.4 against 25.2; at least 24.8 and 24.4.
        ((25.0, (0.2, 0.2)), (24.9, (0.5, 0.5)), 0.4, 0.2),
        ((25.0, (1.0, 0.5)), (25.0, (1.0, 0.4)), 0.5, 1.0),
        # The second never reaches it.
        ((25.0, (0.2, 0.2)), (20.0, (2.0, 2.0)), 0.2, 0.2),
    ],
)
def test_the_thickest_alone_counts(
    first: tuple[float, Off], second: tuple[float, Off], lost: float, won: float
) -> None:
    for fans in ((first, second), (second, first)):
        figure = depth(check_layout(under_one(*fans), remedies=False).report)
        (counted,) = figure.worst.contributors
        assert figure.worst.worst_mm == pytest.approx(5.0 - lost)
        assert figure.most_mm == pytest.approx(5.0 + won)
        assert (counted.loss_mm, counted.gain_mm) == pytest.approx((lost, won))


def test_what_the_thickest_leaves_is_clear() -> None:
    # 5 - 3 = 2, just the margin; 3 + 1 would have taken 1 mm more than there is.
    report = check_layout(under_one((25.0, (1.0, 1.0)), (25.0, (0.0, 3.0)))).report
    (said,) = [f for f in report.findings if f.kind in ("leftover_depth", "worst_case")]
    assert said.verdict is Verdict.CLEAR


def test_the_thickest_of_three() -> None:
    # 25 + 0.2, 24.9 + 0.5 and 24 + 2; at least 24.8 of the first.
    fans = ((25.0, (0.2, 0.2)), (24.9, (0.5, 0.5)), (24.0, (2.0, 2.0)))
    figure = depth(check_layout(under_one(*fans), remedies=False).report)
    assert figure.worst.worst_mm == pytest.approx(4.0)
    assert figure.most_mm == pytest.approx(5.2)


def test_what_more_is_off_adds_to_the_thickest() -> None:
    # The bar by 0.3: 5 - 0.2 - 0.3. Of two alike the thicker is off by 0.5642 of a standard
    # deviation on the average, 0.0376; what lies beyond 3.205 adds up to what one has beyond 3.
    fans = ((25.0, (0.2, 0.2)), (25.0, (0.2, 0.2)))
    figure = depth(check_layout(under_one(*fans, bar=(0.3, 0.3)), remedies=False).report)
    assert figure.worst.worst_mm == pytest.approx(4.5)
    mean, spread = 0.5642 * 0.2 / 3, (3.205 - 0.5642) * 0.2 / 3
    likely = 5.0 - mean - sqrt(spread**2 + 0.3**2)
    assert figure.likely_least_mm == pytest.approx(likely, abs=1e-3)


@pytest.mark.parametrize("other_mm", [0.1, 0.3, 1.0])
def test_statistical_limits_of_the_thickest_cover_what_they_say(other_mm: float) -> None:
    kinds = ((25.0, (0.2, 0.2)), (24.9, (0.2, 0.4)), (24.9, (0.3, 0.3)))
    report = check_layout(under_one(*kinds, bar=(other_mm, other_mm)), remedies=False).report
    figure = depth(report)
    draw, count = np.random.default_rng(7), 400_000
    thickest = np.max(
        [
            mm + (plus - minus) / 2 + draw.normal(0.0, (plus + minus) / 6, count)
            for mm, (minus, plus) in kinds
        ],
        axis=0,
    )
    left = 30.0 + draw.normal(0.0, other_mm / 3, count) - thickest
    assert 0.0008 < float(np.mean(left < figure.likely_least_mm)) < 0.0016
    assert float(np.mean(left > figure.likely_most_mm)) < 0.0016


def test_what_hangs_below_loses_what_none_holds_up() -> None:
    # Lifts the other way: at least 24.8 of the first, so 0.2 are lost, not 0.2 + 0.5.
    found = Bearing.of((Thick(0.0, 0.2, 0.2), Thick(0.1, 0.5, 0.5)))
    assert (found.plus_mm, found.minus_mm) == pytest.approx((0.4, 0.2))
    second = Thick(0.1, 0.5, 0.5)
    assert found.decides == 1
    assert found.lift_mm(1, second, 0.5) == pytest.approx(0.4)
    assert found.lift_mm(1, second, -0.5) == pytest.approx(-0.2)
    assert found.lift_mm(0, Thick(0.0, 0.2, 0.2), 0.2) == 0.0
