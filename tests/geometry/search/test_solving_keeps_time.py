"""What is asked of the tables ends when its time is over, and is heard from often until then.

The clock is one of its own, which goes on by so much work and not by how quick a machine is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from geometry.search.solving import count as count_module
from geometry.search.solving import eliminate
from geometry.search.solving.count import Counting, counting
from geometry.search.solving.tables import Merged, Tables, merged


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
