"""The pair told of two groups that exclude each other is the one that misses least, by measuring
every pair; and what goes in deepest counts on either side of the plate."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from odd_rooms import odd_case
from prism_worlds import prisms
from search_oracle import exclusions, made_ready, nearest_of_all
from small_rooms import exchanger, fan, layout, room, row, zone

from catalog.enclosure import ZoneSide
from geometry.checks.runner import check_layout
from geometry.finding import Verdict
from geometry.layout import Settings
from geometry.measures.broadphase import Floats
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.prism import Prism
from geometry.measures.solid import Role
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search import boxes_between, missing_more, nearest_excluded, short_bounds
from geometry.search.boxes_between import Boxes
from geometry.search.excluded_pairs import ExcludedPairs, groups
from geometry.search.excludes import Exclusion, excluding, largest
from geometry.search.judging.units import Makeup, UnitSet, role_margins
from geometry.search.long_work import Steps, run_through
from geometry.search.meetings import Meeting, Meetings
from geometry.search.missing_more import MissingMore
from geometry.search.problem import Problem
from geometry.search.solving import bits
from geometry.search.wishes import Wishes


def crossing(judge: str = "nominal") -> Problem:
    """A floor and a front zone with slots, whose stacks of one fan or two come near each other."""
    box = room(
        (300, 200, 400),
        [
            zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(2, slot_u_mm=9.0)),
            zone("front-zone", "front", (300, 40, 40), "+z", "+y", row(2, slot_u_mm=12.0)),
        ],
    )
    wishes = Wishes(
        exchangers=(exchanger(1, 30), exchanger(1, 45)), fans=(fan(25), fan(15)),
        fan_places=("none", "plate", "far"), slide_steps=5,
    )  # fmt: skip
    return made_ready(layout(box, [], settings=Settings(judge=judge)), wishes)  # type: ignore[arg-type]


def few_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the search look at few pairs of options and of boxes at once."""
    monkeypatch.setattr(short_bounds, "PAIRS_AT_FIRST", 50)
    monkeypatch.setattr(short_bounds, "PAIRS_AT_ONCE", 50)
    monkeypatch.setattr(short_bounds, "ROWS_AT_ONCE", 20)
    monkeypatch.setattr(short_bounds, "BOUNDED_AT_ONCE", 20)
    monkeypatch.setattr(short_bounds, "FEW_PAIRS", 5)
    monkeypatch.setattr(boxes_between, "BOXES_AT_ONCE", 500)
    monkeypatch.setattr(missing_more, "BOXES_A_TILE", 7)
    monkeypatch.setattr(missing_more, "PAIRS_AT_ONCE", 50)


def short_by_the_check(problem: Problem, pair: tuple[int, int]) -> float:
    """What a pair is short of at its worst gap, as the full check says."""
    report = check_layout(problem.judged_layout(pair), remedies=False).report
    return max(
        -f.to_margin_mm
        for f in report.findings
        if f.verdict is not Verdict.CLEAR and f.to_margin_mm is not None
    )


def test_of_hundreds_of_pairs_the_one_that_misses_least_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = crossing()
    floor, front = (zone.options for zone in problem.zones)
    clash = problem.tables.clash[0, 1].full()
    told = exclusions(problem)
    assert max(one.excluded for one in told) > 300
    for one in told:
        assert one.sure
        excluded = [
            (a, b)
            for a, b in product(range(len(floor)), range(len(front)))
            if clash[a, b] and (floor[a].pattern, front[b].pattern) == one.patterns
        ]
        assert one.excluded == len(excluded)
        some = np.random.default_rng(1).permutation(len(excluded))[:60].tolist()
        least = min(short_by_the_check(problem, excluded[k]) for k in some)
        assert one.short_mm <= least + 1e-6
        if len(some) == len(excluded):
            assert one.short_mm == pytest.approx(least)
    # What bounds call the nearest is measured first, so a few are enough, found by small steps.
    few_at_once(monkeypatch)
    monkeypatch.setattr(nearest_excluded, "MOST_MEASURED", 4)
    assert [one.short_mm for one in exclusions(problem)] == [one.short_mm for one in told]


def test_what_was_not_measured_to_the_end_is_told_as_such(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = crossing("worst case")
    monkeypatch.setattr(nearest_excluded, "MOST_MEASURED", 1)
    unsure = [one for one in exclusions(problem) if not one.sure]
    assert unsure
    assert {one.how_near for one in unsure} == {"at best of those measured"}


def least_of_all(problem: Problem, one: Exclusion, seed: int) -> tuple[float | None, bool]:
    """What the excluded pairs of two groups miss at least, by measuring each; None for nothing.

    Where there are many, some that a seed draws: whether that is all of them is told too.
    """
    i, j = ([z.zone for z in problem.zones].index(zone) for zone in one.zones)
    mine, theirs = (
        groups(problem.zones[z].options)[pattern]
        for z, pattern in zip((i, j), one.patterns, strict=True)
    )
    never = ExcludedPairs(problem.tables.clash[i, j], mine, theirs).never.full()
    every = [
        (int(mine.first[a]), int(theirs.first[b])) for a, b in zip(*never.nonzero(), strict=True)
    ]
    assert len(every) == one.excluded
    some = random.Random(seed).sample(every, min(len(every), MOST_MEASURED))
    met = by_themselves(problem, (i, j), some)
    short = [found.short_mm for found in met if found is not None]
    return min(short, default=None), len(some) == len(every)


MOST_MEASURED = 200
"""So many pairs of two groups are measured by themselves."""


def by_themselves(
    problem: Problem, zones: tuple[int, int], pairs: list[tuple[int, int]]
) -> Iterator[Meeting | None]:
    """Measure pairs of options in full, so that nothing is known from others."""
    meetings = Meetings.of(problem, zones)
    for pair in pairs:
        meetings.known.clear()
        yield meetings.meeting(pair, np.inf)


def holds(problem: Problem, seed: int) -> Counter[str]:
    """What is told as sure is the least of all pairs; and what is told holds of the pair told."""
    seen: Counter[str] = Counter()
    for one in exclusions(problem):
        if one.nearest is None:
            assert one.judged == "rule" or "nothing ahead" in one.first + one.second
            continue
        zones = [z.zone for z in problem.zones]
        i, j = (zones.index(zone) for zone in one.zones)
        met = Meetings.of(problem, (i, j)).meeting(one.nearest, np.inf)
        assert met is not None
        assert one.short_mm == pytest.approx(met.short_mm, abs=1e-9)
        assert (one.first, one.second) == (met.first.name, met.second.name)
        assert (one.judged == "worst case") == met.at_worst
        least, all_measured = least_of_all(problem, one, seed)
        assert least is not None or not all_measured
        if least is not None and (one.sure or all_measured):
            seen[f"{one.judged}, {'sure' if one.sure else 'not sure'}"] += 1
            if one.sure:
                assert one.short_mm <= least + 2e-6
            if all_measured:
                assert one.short_mm >= least - 2e-6
    return seen


@pytest.mark.parametrize("judge", ["nominal", "worst case"])
def test_what_is_sure_is_the_least_of_all_pairs_measured_by_themselves(judge: str) -> None:
    seen = holds(crossing(judge), 1)
    assert seen["as drawn, sure" if judge == "nominal" else "worst case, sure"] > 1


def bounds_hold(problem: Problem, seed: int) -> Counter[str]:
    """What units say of pairs of options is what they miss, and at worst no more than that."""
    seen: Counter[str] = Counter()
    for zones, table in problem.tables.clash.items():
        if not all(problem.zones[z].makeup.units.prisms for z in zones):
            continue
        every = np.argwhere(table.full())
        drawn = np.random.default_rng(seed).permutation(len(every))[:MOST_MEASURED]
        pairs = every[drawn]
        meetings = Meetings.of(problem, zones)
        short_mm = run_through(meetings.units.most_short_mm(pairs, np.inf))
        at_worst = meetings.at_worst(pairs)
        worst_mm = short_mm if at_worst is None else at_worst.least_mm()
        told = zip(by_themselves(problem, zones, pairs.tolist()), short_mm, worst_mm, strict=True)
        for met, short, worst in told:
            if met is None or met.at_worst:
                assert short <= LENGTH_EPS_MM
            if met is not None and not met.at_worst:
                # Prisms of one solid may have to be parted together.
                several = len(met.first.prisms) + len(met.second.prisms) > 2
                assert short <= met.short_mm + 2e-6
                assert several or short == pytest.approx(met.short_mm, abs=2e-6)
                seen["as drawn"] += 1
            elif met is not None:
                assert worst <= met.short_mm + LENGTH_EPS_MM
                seen["worst case" if worst > 0.0 else "not known"] += 1
            elif at_worst is not None:
                assert worst in (0.0, np.inf)
                seen["nothing"] += 1
    return seen


@pytest.mark.parametrize("judge", ["nominal", "worst case"])
def test_what_is_known_of_solids_holds_of_the_options_made_of_them(judge: str) -> None:
    seen = bounds_hold(crossing(judge), 1)
    assert seen["as drawn"] > 100
    assert judge == "nominal" or seen["worst case"] > 5


@pytest.mark.parametrize("seed", range(8))
def test_what_is_known_of_solids_holds_in_odd_rooms(seed: int) -> None:
    case = odd_case(seed).case
    for judge in ("nominal", "worst case"):
        bounds_hold(made_ready(case.layout, replace(case.wishes, judge=judge)), seed)


SEEDS = range(8)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_sure_is_the_least_of_all_pairs_in_odd_rooms(seed: int) -> None:
    case = odd_case(seed).case
    for judge in ("nominal", "worst case"):
        holds(made_ready(case.layout, replace(case.wishes, judge=judge)), seed)


def test_of_too_many_pairs_what_is_told_is_no_nearer_and_is_not_sure(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = crossing()
    exact = exclusions(problem)
    monkeypatch.setattr(short_bounds, "MOST_PAIRS", 200)
    some = exclusions(problem)
    # How often they exclude each other is counted in full.
    assert [(e.patterns, e.excluded, e.pairs) for e in some] == [
        (e.patterns, e.excluded, e.pairs) for e in exact
    ]
    many = [n for n, one in enumerate(exact) if one.pairs > 2 * 200]
    assert many
    assert not any(some[n].sure for n in many)
    for one, other in zip(some, exact, strict=True):
        assert one.short_mm >= other.short_mm or one.judged == "rule"


def test_what_excludes_what_is_told_in_small_steps_that_never_go_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = crossing()
    # So few are looked at and bounded at once as if there were many more of them.
    monkeypatch.setattr(bits, "CELLS_AT_ONCE", 500)
    few_at_once(monkeypatch)
    work: Counter[str] = Counter()
    gaps, looked_at = boxes_between.gaps_between, MissingMore.rows

    def bounding(a: Floats, b: Floats) -> Any:
        work["bounded"] += a.shape[1]
        return gaps(a, b)

    def looking(more: MissingMore, first: int, stop: int) -> Any:
        found = looked_at(more, first, stop)
        work["looked at"] += 8 * found.size
        return found

    for module in (boxes_between, missing_more):
        monkeypatch.setattr(module, "gaps_between", bounding)
    monkeypatch.setattr(MissingMore, "rows", looking)
    shares, found, most = [], 0, Counter[str]()
    for share, one in excluding(problem):
        most |= work
        work.clear()
        shares.append(share)
        found += one is not None
    assert found
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert len(shares) > 10 * found
    # A row at least is looked at at once, and for what is farther and for what meets.
    longest = max(len(zone.options) for zone in problem.zones)
    assert 0 < most["looked at"] <= 2 * (longest + 8)
    assert 0 < most["bounded"] <= 5_000


def test_of_fewer_options_at_once_it_is_found_what_they_miss_where_the_others_are_many(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = crossing()
    told = [one.short_mm for one in exclusions(problem)]
    monkeypatch.setattr(short_bounds, "FOUND_AT_ONCE", 5_000)
    finding, most = MissingMore.of, 0

    def found(mine: Boxes, theirs: Boxes, *more: Any) -> Steps[MissingMore]:
        nonlocal most
        most = max(most, len(mine) * len(theirs))
        return finding(mine, theirs, *more)

    monkeypatch.setattr(MissingMore, "of", found)
    assert [one.short_mm for one in exclusions(problem)] == told
    assert 0 < most <= 5_000


@settings(max_examples=100)
@given(prisms(), prisms(), st.sampled_from((Role.BODY, Role.FITTING)), st.sampled_from((0.0, 2.0)))
def test_the_shortfall_lies_between_its_bounds(
    a: Prism, b: Prism, role: Role, margin: float
) -> None:
    made = []
    for prism in (a, b):
        units = UnitSet()
        made.append(([units.number(prism, role, "one")], units))
    one, other = (Makeup.of(units.units(), [numbers, []]) for numbers, units in made)
    margins = role_margins(Settings(margin_mm=margin))
    found = nearest_of_all(one, other, margins, 9, maybe=True)
    # Where one of the two is nothing, nothing is missing.
    assert found.pairs.tolist()[-1] == [0, 0]
    assert np.isneginf(found.least_mm[:3]).all()
    need = float(margins[one.units.role[0], other.units.role[0]])
    short = need - signed_gap_mm([a], [b])
    assert np.isneginf(found.least_mm[3]) or found.least_mm[3] - 1e-6 <= short
    assert short <= found.most_mm[3] + 1e-6
    if a.is_box and b.is_box:
        assert found.least_mm[3] == pytest.approx(short)
    clear = nearest_of_all(one, other, margins, 9)
    assert clear.pairs.tolist() == ([[0, 0]] if found.most_mm[3] > 0 else [])


@pytest.mark.parametrize("side", ["inner", "outer"])
def test_the_deepest_stack_is_told_on_either_side_of_the_plate(side: str) -> None:
    # Fans of 25 on both faces of a core of 30: 80 mm.
    sides = {"inner": None, "outer": None, side: ZoneSide(plate_mm=2.0)}
    own = zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(1), **sides)
    wishes = Wishes(exchangers=(exchanger(1, 30),), fans=(fan(25),), slide_steps=1)
    problem = made_ready(layout(room((300, 200, 400), [own]), []), wishes)
    deepest = largest(problem, 0, (0,)).deepest
    assert deepest is not None
    assert deepest[1] == 80.0
