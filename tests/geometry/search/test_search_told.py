"""However much there is to judge, little of it passes between two words of how far a search is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from catalog.store import Library
from geometry.layout import Layout
from geometry.search.judging import levels, worst, worst_pairs
from geometry.search.judging.tolerant import OPTIONS_A_STEP, _Shared
from geometry.search.judging.tolerant_faces import KINDS_A_STEP
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.worst import MEASURED_AT_ONCE, PAIRS_AT_ONCE
from geometry.search.judging.worst_pairs import FacePairs
from geometry.search.making_ready import Progress, prepared
from geometry.search.problem import Problem
from geometry.search.stage import Doing, Stage
from geometry.search.usual import usual
from geometry.search.wishes import Wishes, wishes_from

FEW_PAIRS = 20_000
"""A step of pairs of units, so that even a small enclosure takes several."""

LARGEST_SOLID = 60
"""So many prisms a solid has at most here: pairs of solids are never parted."""


def counting(
    monkeypatch: pytest.MonkeyPatch,
    work: Counter[str],
    owner: object,
    name: str,
    of: Callable[..., int],
) -> None:
    """Count what a function is asked for, under its name."""
    told = getattr(owner, name)

    def counted(*args: Any, **more: Any) -> Any:
        work[name] += of(*args)
        return told(*args, **more)

    monkeypatch.setattr(owner, name, counted)


@pytest.mark.parametrize("judge", ["worst case", "nominal"])
def test_no_more_than_a_step_of_work_passes_between_two_words(
    judge: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    cube = Layout(name="cube", enclosure=Library().enclosure("small-cube"))
    every = wishes_from([p for p in Library().parts.values() if usual(p)], Wishes(judge=judge))
    wishes = replace(every, exchangers=every.exchangers[::2])
    monkeypatch.setattr(levels, "PAIRS_A_STEP", FEW_PAIRS)
    work: Counter[str] = Counter()
    counting(monkeypatch, work, _Shared, "made_of", lambda *_: 1)
    counting(monkeypatch, work, FacePairs, "by_arrays", lambda pairs: len(pairs.i))
    counting(monkeypatch, work, worst_pairs, "falls_short", lambda *_: 1)
    counting(monkeypatch, work, worst.Facing, "_of_options", lambda *_: 1)
    counting(monkeypatch, work, levels, "pair_levels", lambda a, b, _: len(a) * len(b))
    moves = Kind.moves

    def filled(kind: Kind) -> Any:
        if "known_moves" not in vars(kind):
            work["moves"] += 1
            vars(kind)["known_moves"] = moves.func(kind)
        return vars(kind)["known_moves"]

    monkeypatch.setattr(Kind, "moves", property(filled))
    most: Counter[str] = Counter()
    stages: list[Stage] = []
    for step in prepared(cube, wishes):
        most |= work
        work.clear()
        if isinstance(step, Progress):
            stages.append(step.stage)
        else:
            assert isinstance(step, Problem)
    assert most["made_of"] <= OPTIONS_A_STEP + 1
    assert most["moves"] <= KINDS_A_STEP
    assert most["falls_short"] <= MEASURED_AT_ONCE
    assert most["by_arrays"] <= PAIRS_AT_ONCE + LARGEST_SOLID**2
    assert most["_of_options"] <= 2
    assert 0.5 * FEW_PAIRS < most["pair_levels"] <= FEW_PAIRS
    assert (most["moves"] > 0) == (judge == "worst case")
    assert len(stages) > (40 if judge == "worst case" else 10)


def test_what_is_told_of_a_pair_of_zones_never_goes_back() -> None:
    cube = Layout(name="cube", enclosure=Library().enclosure("small-cube"))
    every = wishes_from(
        [p for p in Library().parts.values() if usual(p)], Wishes(judge="worst case")
    )
    wishes = replace(every, exchangers=every.exchangers[::2])
    told: dict[str, list[float]] = {}
    for step in prepared(cube, wishes):
        if isinstance(step, Progress) and step.stage.doing is Doing.PAIRING and step.stage.on:
            assert step.stage.share is not None
            told.setdefault(step.stage.on, []).append(step.stage.share)
    assert max(map(len, told.values())) > 5
    for pair, shares in told.items():
        assert shares == sorted(shares), (pair, shares)


def test_what_is_judged_in_part_is_never_told_as_all_of_it() -> None:
    # Rounded to the nearest, the last half percent read as if it were over.
    told = Stage(Doing.JUDGING, "front wall", 0.996)
    assert told.text == "Checking stacks on front wall, 99%"
    assert replace(told, share=1.0).text == "Checking stacks on front wall, 100%"
