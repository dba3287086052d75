"""The same search tells the same, however slow the machine and whatever the order of its sets."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from no_desk import ran
from small_rooms import IN_OR_OUT, block, exchanger, fan, layout, room, row, zone

from app.cli import search as search_command
from app.ui.search.worker import SearchOrder, Told, tellings
from geometry.layout import Layout
from geometry.layout_file import write_layout
from geometry.search.answers import MEASURES
from geometry.search.near import misses
from geometry.search.near.tries import Try
from geometry.search.near.words import ROWS_CUT_SHORT, extent_text
from geometry.search.problem import Problem
from geometry.search.run import search
from geometry.search.wishes import Wishes, wishes_from

PARTS = (exchanger(1, 30), exchanger(2, 30), fan(25))
SECONDS = 2.0
SLOW_S = 0.15


def two_near() -> Layout:
    """On either of two zones a two-fan exchanger runs 3 mm into a peg; turned, 5 mm into a rail."""
    zones, obstacles = [], []
    for name, y in (("near", 0.0), ("far", 220.0)):
        zones.append(zone(f"{name}-zone", "floor", (50, y + 40, 0), "+x", "+y", row(2)))
        obstacles.append(block(f"{name}-peg", (317, y + 90, 0), (337, y + 110, 200), kind="peg"))
        obstacles.append(
            block(f"{name}-rail", (0, y + 40, 0), (25, y + 160, 60), states=IN_OR_OUT, kind="frame")
        )
    return layout(room((500, 420, 300), zones, obstacles), PARTS)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "two.json"
    write_layout(path, two_near())
    return path


@pytest.fixture
def slowly(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Makes each look at a refused layout last so long that all of them pass the time limit."""
    looked = misses.refused

    def slow(problem: Problem, one: Try) -> object:
        time.sleep(SLOW_S)
        return looked(problem, one)

    return lambda: monkeypatch.setattr(misses, "refused", slow)


def test_a_slow_machine_lists_the_same_near_misses(
    capsys: pytest.CaptureFixture[str],
    file: Path,
    slowly: Callable[[], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = ("search", file, "--parts", *(p.id for p in PARTS), "--want", "area", "--json")
    fast = json.loads(ran(capsys, *asked)[1])
    monkeypatch.setattr(search_command, "USUAL_SECONDS", SECONDS)
    slowly()
    slow = json.loads(ran(capsys, *asked)[1])
    assert fast["near_misses"]
    assert slow["near_misses_looked_at"] * SLOW_S > SECONDS
    assert slow["near_misses_done"]
    assert slow == fast


def test_a_time_that_was_asked_for_cuts_near_misses_short_and_says_so(
    capsys: pytest.CaptureFixture[str], file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # By this clock each look at a refused layout takes ten seconds, and nothing else any.
    looked, looks = misses.refused, [0]

    def counted(problem: Problem, one: Try) -> object:
        looks[0] += 1
        return looked(problem, one)

    monkeypatch.setattr(misses, "refused", counted)
    monkeypatch.setattr(search_command, "perf_counter", lambda: 10.0 * looks[0])
    asked = ("search", file, "--parts", *(p.id for p in PARTS), "--want", "area")
    asked = (*asked, "--seconds", 25)
    said = json.loads(ran(capsys, *asked, "--json")[1])
    assert not said["near_misses_done"]
    assert not said["done"]
    assert said["near_misses_looked_at"] == 3 < said["near_misses_of"]
    text = " ".join(ran(capsys, *asked)[1].split())
    assert f"3 of {said['near_misses_of']} candidates checked; more time finds more" in text


def order() -> SearchOrder:
    wishes = wishes_from(PARTS, Wishes(slide_steps=1))
    return SearchOrder(two_near(), wishes, ("area",), SECONDS, near=True)


def told_names(told: Told) -> list[tuple[str, list[str]]]:
    assert told.near is not None
    return [(m.what, [one.name for one in m.relaxations]) for m in told.near.found]


def test_the_window_lists_the_same_near_misses_on_a_slow_machine_and_keeps_them_at_a_stop(
    slowly: Callable[[], None],
) -> None:
    *_, fast = tellings(order())
    slowly()
    every = list(tellings(order()))
    assert told_names(every[-1]) == told_names(fast)
    assert told_names(fast)
    # What is told last before a stop is what stays: those found by then, and how far it had come.
    found = [one.near for one in every[:-1] if one.near is not None]
    assert [len(near.found) for near in found] == sorted(len(near.found) for near in found)
    assert found[0].found == ()
    assert "candidates checked; more time finds more" in found[0].extent
    assert len(found[-1].found) > 0
    assert not found[-1].done
    assert "more time finds more" in found[-1].extent


def test_what_a_count_leaves_out_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(misses, "MOST_LOOKED_AT", 1)
    *_, last = tellings(order())
    assert last.near is not None
    assert last.near.done
    assert last.near.extent.startswith("checked the 1 of ")
    assert extent_text(misses.NearMisses(looked_at=3, of=3, done=True)) == ""


def test_the_order_of_sets_changes_nothing(file: Path) -> None:
    """Words hash to other numbers in every process, so that sets of them come in another order."""
    asked = ["search", str(file), "--parts", *(p.id for p in PARTS), "--allow-cutting", "--json"]
    said: list[Any] = []
    for seed in ("1", "2", "3"):
        run = subprocess.run(
            [sys.executable, "-m", "app", *asked],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        )
        said.append(run.stdout)
    assert json.loads(said[0])["near_misses"]
    assert said[0] == said[1] == said[2]


def test_near_misses_of_rows_that_time_cut_short_say_so() -> None:
    *_, last = search(two_near(), order().wishes, [MEASURES["area"]], 20.0)
    assert last.found is not None
    for whole in (True, False):
        answer = replace(last.found.answer, done=whole)
        states = list(misses.near_misses(last.found.problem, answer, [MEASURES["area"]]))
        assert all(state.rows_whole == whole for state in states)
        assert extent_text(states[-1]) == ("" if whole else ROWS_CUT_SHORT)
