"""How long does a check take, from nothing and when one thing has moved?

Seeded halls of stacks and blocks (tests/support/large_rooms.py) and the demo. Times go to the
report; tests assert counters and ratios with room to spare, since a shared machine is no clock.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import cycle
from time import process_time

import pytest
from large_rooms import hall
from pytest_benchmark.fixture import BenchmarkFixture

from app.demo import demo_layout
from catalog.store import Library
from geometry.checks.runner import Checked, check_layout
from geometry.edits import move_free, set_slide
from geometry.layout import Layout

COUNTS = (40, 200)


@cache
def of(parts: int) -> Layout:
    return hall(parts)


@cache
def checked(parts: int) -> Checked:
    return check_layout(of(parts), remedies=False)


def counted(after: Checked) -> tuple[int, int]:
    """Pairs and items measured for this report, not taken over from the one before."""
    assert after.report.survey is not None
    return after.report.survey.pairs.measured_now, after.report.survey.depths.measured_now


def dragged(parts: int) -> Callable[[], Checked]:
    """Moves one block to and fro, each time checked on the report before, as a drag does."""
    block = of(parts).free[3]
    x, y, z = block.at_mm
    places = cycle([(x + mm, y, z) for mm in (0.5, 1.0, 1.5, 1.0)])
    last = [checked(parts)]

    def step() -> Checked:
        moved = move_free(last[0].scene.layout, block.id, next(places))
        last[0] = check_layout(moved, last[0], remedies=False)
        return last[0]

    return step


def slid(parts: int) -> Callable[[], Checked]:
    """Slides one stack to and fro in its slots."""
    slides = cycle((0.5, 1.0, 1.5, 1.0))
    last = [checked(parts)]

    def step() -> Checked:
        moved = set_slide(last[0].scene.layout, "s1", next(slides), 0.0)
        last[0] = check_layout(moved, last[0], remedies=False)
        return last[0]

    return step


@pytest.mark.parametrize("parts", COUNTS)
def test_full_check(benchmark: BenchmarkFixture, parts: int) -> None:
    after = benchmark(lambda: check_layout(of(parts), remedies=False))
    assert len(after.scene.placed) == parts


@pytest.mark.parametrize("parts", COUNTS)
def test_live_check_of_a_moving_block(benchmark: BenchmarkFixture, parts: int) -> None:
    after = benchmark(dragged(parts))
    pairs, items = counted(after)
    # A block and its plug: a handful of neighbours, and the stacks under it.
    assert pairs <= 12
    assert items <= 10


@pytest.mark.parametrize("parts", COUNTS)
def test_live_check_of_a_sliding_stack(benchmark: BenchmarkFixture, parts: int) -> None:
    after = benchmark(slid(parts))
    pairs, items = counted(after)
    assert pairs <= 60
    # The five items of the stack, and whatever looks along them.
    assert items <= 15


def test_check_of_the_demo_with_remedies(benchmark: BenchmarkFixture) -> None:
    demo = demo_layout(Library())
    after = benchmark(lambda: check_layout(demo))
    assert after.report.blocked + after.report.tight > 0


def test_five_times_the_parts_measure_about_five_times_the_pairs_not_twenty_five() -> None:
    few, many = (counted(checked(parts))[0] for parts in COUNTS)
    assert few > 0
    assert many / few <= 10


def test_moving_one_of_200_costs_a_small_share_of_a_full_check() -> None:
    check_layout(of(200), remedies=False)
    step = dragged(200)
    step()

    def cost(run: Callable[[], Checked], times: int) -> float:
        start = process_time()
        for _ in range(times):
            run()
        return (process_time() - start) / times

    moving = cost(step, 20)
    whole = cost(lambda: check_layout(of(200), remedies=False), 3)
    # About a fifteenth in the trial; half leaves room for a busy machine.
    assert moving <= whole / 2
