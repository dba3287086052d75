"""Stack-ups against enclosures and parts of which every dimension is off at random.

Every placed part gets its own copy with its own deviations, and so do fittings and enclosure, and
sits somewhere in the play of its screws; what is then measured must lie between the worst case and
the best.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

import pytest
from off_layouts import Maker, in_their_play

from app.demo import demo_layout
from catalog.numbers import number_paths
from catalog.paths import length_at
from catalog.store import Library
from geometry.checks.finding_figures import depth_figure
from geometry.checks.runner import check_layout
from geometry.depths import measure_depths
from geometry.edits import flip_port_end
from geometry.layout import Layout
from geometry.scene import build_scene


def depths(
    of: Layout, draw_play: Callable[[], float]
) -> Iterator[tuple[tuple[str, str, str, str], float]]:
    for depth in measure_depths(in_their_play(build_scene(of), draw_play)).stacks:
        for left in depth.cells:
            yield (left.stack, left.side, left.cell, left.item), left.mm


@pytest.fixture(scope="module")
def demo() -> Layout:
    """The demo with its port end flipped, so that nothing stands in anything."""
    return flip_port_end(demo_layout(Library()), "E1")


@pytest.mark.parametrize("seed", range(6))
def test_no_set_of_deviations_leaves_less_than_the_worst_case(demo: Layout, seed: int) -> None:
    rng = random.Random(seed)
    report = check_layout(demo, remedies=False).report
    figures = {
        (left.stack, left.side, left.cell, left.item): depth_figure(report, left)
        for depth in report.depths
        for left in depth.cells
    }

    def at_a_limit(minus: float, plus: float) -> float:
        return rng.choice((-minus, plus))

    def anywhere(minus: float, plus: float) -> float:
        return rng.uniform(-minus, plus)

    seen = 0
    for draw in (at_a_limit, anywhere) * 4:
        for key, mm in depths(Maker(demo, draw).layout(), lambda d=draw: d(0.5, 0.5)):
            figure = figures.get(key)
            if figure is None:
                continue
            assert figure.worst.worst_mm - 1e-6 <= mm <= figure.nominal.most_mm + 1e-6, key
            seen += abs(mm - figure.nominal.nominal_mm) > 0.05
    assert seen > 10


def test_statistical_limits_hold_as_often_as_they_say(demo: Layout) -> None:
    # Each dimension normal with its tolerance as three standard deviations: 99.73 % lie within.
    # Of 400 depths 1.1 are expected outside; more than 8 would come once in a hundred thousand.
    rng = random.Random(7)
    report = check_layout(demo, remedies=False).report
    figures = {
        (left.stack, left.side, left.cell, left.item): depth_figure(report, left)
        for depth in report.depths
        for left in depth.cells
    }

    def normal(minus: float, plus: float) -> float:
        return rng.gauss((plus - minus) / 2, (plus + minus) / 6)

    count = outside = 0
    spread: dict[tuple[str, str, str, str], list[float]] = {}
    while count < 400:
        for key, mm in depths(Maker(demo, normal).layout(), lambda: rng.uniform(-0.5, 0.5)):
            figure = figures.get(key)
            if figure is None:
                continue
            count += 1
            likely = figure.nominal
            outside += not likely.likely_least_mm <= mm <= likely.likely_most_mm
            spread.setdefault(key, []).append((mm - likely.mean_mm) / likely.spread_mm)
    assert outside <= 8
    # And they are no wider than need be: the standard deviation is near a third of the spread.
    for key, values in spread.items():
        mean = sum(values) / len(values)
        sigma = (sum((v - mean) ** 2 for v in values) / (len(values) - 1)) ** 0.5
        assert 0.2 < sigma < 0.42, (key, sigma)


def test_numbers_by_path_are_all_found(demo: Layout) -> None:
    paths = list(number_paths(demo.enclosure))
    assert len(paths) == len(set(paths)) > 100
    assert all(isinstance(length_at(demo.enclosure, path), float) for path in paths)
