"""What is asked of the tables ends when its time is over, and is heard from often until then.

The clock is one of its own, which goes on by so much work and not by how quick a machine is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations, islice
from math import inf
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from geometry.measures.broadphase import Floats
from geometry.search.long_work import run_through
from geometry.search.solving import best, best_above, by_domains, dominance, eliminate
from geometry.search.solving import count as count_module
from geometry.search.solving import front as front_module
from geometry.search.solving.best import Kind
from geometry.search.solving.by_domains import estimating_rest
from geometry.search.solving.count import Counting, counting
from geometry.search.solving.estimate import Estimate
from geometry.search.solving.front import front
from geometry.search.solving.tables import Merged, Tables, merged
from geometry.search.solving.zone_tables import ZoneTables


@dataclass
class Clock:
    """A clock that goes on by a second for each call of what is watched."""

    now_s: float = 0.0

    def watch(self, monkeypatch: pytest.MonkeyPatch, where: Any, name: str) -> None:
        worked: Callable[..., object] = getattr(where, name)

        def working(*args: Any, **more: Any) -> object:
            self.now_s += 1.0
            return worked(*args, **more)

        monkeypatch.setattr(where, name, working)

    def rule(self, monkeypatch: pytest.MonkeyPatch, *modules: ModuleType) -> None:
        for module in modules:
            monkeypatch.setattr(module, "perf_counter", lambda: self.now_s)


def dense(zones: int = 5, options: int = 40) -> Merged:
    """Zones of which each conflicts with each other, so that every option differs."""
    rng = np.random.default_rng(7)
    pairs = combinations(range(zones), 2)
    clash = {pair: rng.random((options, options)) < 0.3 for pair in pairs}
    return merged(Tables.of((options,) * zones, clash))


@pytest.fixture(params=["tables", "branches"])
def slow_count(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> tuple[Clock, Merged]:
    """A count that takes long, by large tables or as these are not allowed to be made."""
    clock = Clock()
    clock.rule(monkeypatch, count_module)
    if request.param == "tables":
        monkeypatch.setattr(eliminate, "CELLS_AT_ONCE", 2000)
        clock.watch(monkeypatch, eliminate.Factor, "part")
        return clock, dense(4)
    monkeypatch.setattr(eliminate, "MOST_WORK", 0)
    monkeypatch.setattr(eliminate, "MOST_MULTIPLIED", 0)
    clock.watch(monkeypatch, count_module._Counter, "_connected")
    return clock, dense(5, 12)


def test_a_count_is_heard_from_often(slow_count: tuple[Clock, Merged]) -> None:
    clock, tables = slow_count
    told = [clock.now_s]
    for _ in counting(tables):
        told.append(clock.now_s)
    assert told[-1] > 60.0
    assert max(np.diff(told)) <= 12.0


def test_a_count_ends_when_its_time_is_over(slow_count: tuple[Clock, Merged]) -> None:
    clock, tables = slow_count
    every: Counting
    *_, every = counting(tables)
    clock.now_s = 0.0
    *_, some = counting(tables, 20.0)
    assert not some.done
    assert clock.now_s <= 32.0
    assert some.found <= every.found <= some.at_most


def figures(tables: Merged, measures: int) -> list[Floats]:
    rng = np.random.default_rng(3)
    return [rng.integers(0, 30, (n, measures)).astype(np.float64) for n in tables.tables.sizes]


def slow_front(monkeypatch: pytest.MonkeyPatch) -> tuple[Clock, Merged]:
    """A search for trade-offs of which putting aside what is worse takes long."""
    clock = Clock()
    clock.rule(monkeypatch, front_module, best_above, dominance, best)
    monkeypatch.setattr(dominance, "OPTIONS_AT_ONCE", 4)
    clock.watch(monkeypatch, dominance, "_may_stand_for")
    return clock, dense(3, 40)


BOTH_WAYS = pytest.mark.parametrize("kinds", [["sum", "sum", "sum"], ["sum", "least"]])


@BOTH_WAYS
def test_trade_offs_are_heard_from_often(
    monkeypatch: pytest.MonkeyPatch, kinds: list[Kind]
) -> None:
    clock, tables = slow_front(monkeypatch)
    told = [clock.now_s]
    for _ in front(tables, figures(tables, len(kinds)), kinds):
        told.append(clock.now_s)
    assert told[-1] > 40.0
    assert max(np.diff(told)) <= 5.0


@BOTH_WAYS
def test_trade_offs_end_in_time_with_what_was_found(
    monkeypatch: pytest.MonkeyPatch, kinds: list[Kind]
) -> None:
    clock, tables = slow_front(monkeypatch)
    values = figures(tables, len(kinds))
    *_, last = front(tables, values, kinds, 20.0)
    assert clock.now_s <= 25.0
    assert last.points
    for point in last.points:
        chosen = [v[k] for v, k in zip(values, point.combination, strict=True)]
        summed = [sum(v) if k == "sum" else min(v) for k, *v in zip(kinds, *chosen, strict=True)]
        assert point.values == pytest.approx(tuple(summed))


def test_what_was_counted_is_not_estimated(monkeypatch: pytest.MonkeyPatch) -> None:
    some, other = Counting(120, 120, 1.0, done=True), Counting(3, 400, 0.1, done=False)
    tables = ZoneTables((np.array([False] * 2 + [True] * 3), np.zeros(7, dtype=bool)), {})
    tried: list[tuple[int, ...]] = []

    def guesses(classes: Merged, _: float) -> Iterator[Estimate]:
        tried.append(tuple(int(w.sum()) for w in classes.weights))
        yield Estimate(50.0, 5.0, 512)

    monkeypatch.setattr(by_domains, "estimating", guesses)
    *_, last = estimating_rest(tables, tables.domains(), (some, other), 3.0)
    assert tried == [(3, 7)], "of the first zone those with a mark, of which there are three"
    assert last == Estimate(170.0, 5.0, 512)


def test_of_many_options_alike_that_do_not_beat_each_other_all_are_kept_in_few_steps() -> None:
    more = np.arange(3_000, dtype=np.float64)
    values = np.stack([more, more[::-1]], axis=1)
    alike = np.zeros(3_000, dtype=np.intp)
    assert len(list(dominance._best_of_each(alike, values))) < 100
    assert run_through(dominance._best_of_each(alike, values)).tolist() == list(range(3_000))


def test_the_best_of_options_alike_are_not_looked_for_once_time_is_over() -> None:
    values = np.array([[2.0], [1.0], [3.0]])
    alike = np.zeros(3, dtype=np.intp)
    assert run_through(dominance._best_of_each(alike, values)).tolist() == [2]
    assert run_through(dominance._best_of_each(alike, values, -inf)).tolist() == [0, 1, 2]


def test_an_option_without_a_value_is_kept_and_the_looking_ends() -> None:
    values = np.array([[2.0], [np.nan], [3.0]])
    steps = dominance._best_of_each(np.zeros(3, dtype=np.intp), values)
    assert len(list(islice(steps, 100))) < 100
    assert run_through(dominance._best_of_each(np.zeros(3, dtype=np.intp), values)).tolist() == [
        1,
        2,
    ]
