"""How much two things overlap at worst, where they are parted along one axis or another.

Two cubes of 40 mm, exact in size. One stands with its middle at 100, the other up to 40 farther, so
that by ISO 2768-1 class m the places are off by 0.3 (up to 120) and 0.5 (up to 400).
"""

from __future__ import annotations

import pytest
from small_rooms import block, brick, free, layout, room

from app.cli.tolerance_json import tolerance_entry
from catalog.model import Dimension, FrozenMap
from geometry.checks.runner import check_layout
from geometry.layout import Layout, Settings
from geometry.stackup.figure_words import limits_words
from geometry.stackup.stack_ups import Figure

NONE = Dimension(minus_mm=0.0, plus_mm=0.0, origin="measured")
SIZES = ("length_mm", "width_mm", "height_mm")


def cubes(x_mm: float, y_mm: float) -> Layout:
    """Two cubes that overlap so much along x and y."""
    cube = brick("cube", (40, 40, 40)).but(dimensions=FrozenMap(dict.fromkeys(SIZES, NONE)))
    places = ((100.0, 100.0, 0.0), (140.0 - x_mm, 140.0 - y_mm, 0.0))
    stand = [free(name, cube, at) for name, at in zip("AB", places, strict=True)]
    return layout(room((400, 400, 200)), [cube], frees=stand, settings=Settings())


def overlap(of: Layout) -> Figure:
    (only,) = [f for f in check_layout(of).report.findings if f.kind == "overlap"]
    assert only.tolerance is not None
    assert only.tolerance.nominal.nominal_mm == pytest.approx(only.measured_mm)
    return only.tolerance


@pytest.mark.parametrize(("x_mm", "y_mm"), [(1.0, 1.0), (1.2, 1.3), (1.3, 1.2), (1.0, 1.5)])
def test_all_off_at_once_both_ways_out_are_longer(x_mm: float, y_mm: float) -> None:
    # Each way out is 0.3 + 0.5 longer at worst, and the shorter of both is still the way.
    figure = overlap(cubes(x_mm, y_mm))
    least = min(x_mm, y_mm)
    assert figure.worst.worst_mm == pytest.approx(-(least + 0.8))
    assert figure.nominal.nominal_mm == pytest.approx(-least)
    assert sorted(one.loss_mm for one in figure.worst.contributors) == pytest.approx([0.3, 0.5])


def test_the_drawing_lies_within_the_statistical_limits() -> None:
    # sqrt(0.3^2 + 0.5^2) = 0.583. Of two ways alike the shorter is up to 0.1 shorter at its limit.
    figure = overlap(cubes(1.0, 1.0))
    assert figure.likely_least_mm == pytest.approx(-1.583, abs=1e-3)
    assert -1.0 + 0.583 < figure.likely_most_mm < -1.0 + 0.583 + 0.1


def test_another_way_that_decides_at_worst_is_told() -> None:
    # Along x 1.2, and 1.2 + 0.3 + 0.5 = 2.0 at worst. The post is exact along y: 1.5 there, and
    # 1.8 at worst.
    here = cubes(50.0, 50.0)
    post = block("post", (118.8, 118.5, 0.0), (160.0, 160.0, 60.0))
    half = Dimension(minus_mm=0.5, plus_mm=0.5, origin="measured")
    at = "obstacles[0].shapes[0].at_mm"
    given = FrozenMap({f"{at}[0]": half, f"{at}[1]": NONE})
    enclosure = here.enclosure.model_copy(update={"obstacles": (post,), "dimensions": given})
    figure = overlap(here.but(enclosure=enclosure, free=here.free[:1]))
    assert figure.nominal.nominal_mm == pytest.approx(-1.2)
    assert figure.worst.nominal_mm == pytest.approx(-1.5)
    assert figure.worst.worst_mm == pytest.approx(-1.8)
    assert "at post, along y" in limits_words(figure, lambda mm: f"{mm:.1f}", "mm")
    entry = tolerance_entry(figure)
    assert entry is not None
    # Best: along y 1.5 - 0.3 = 1.2, along x 1.2 - 0.8 = 0.4.
    assert entry.most_mm == pytest.approx(-0.4)
