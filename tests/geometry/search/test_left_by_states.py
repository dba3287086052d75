"""The depth left, and the room for cables, are those beside the states that a combination chooses.

Each row is held against a room that stands in these states from the start, and against the depths
that the check measures there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from math import inf

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from plain_tables import whole
from search_oracle import made_ready
from small_rooms import IN_OR_OUT, block, exchanger, fan, layout, room, row, zone

from catalog.enclosure import Enclosure, ObstacleState, ZoneSide
from geometry.checks.runner import check_layout
from geometry.layout import Layout, Settings
from geometry.search import left_settled, making_ready
from geometry.search.answers import MEASURES, Measure, answers, as_listed, measured
from geometry.search.fault import SearchError
from geometry.search.judging import left_over
from geometry.search.listing.families import with_states
from geometry.search.long_work import Steps
from geometry.search.problem import Problem
from geometry.search.solving.count import count_all
from geometry.search.wishes import Wishes

WISHES = Wishes(
    exchangers=(exchanger(1, 30.0),),
    fans=(fan(15), fan(25)),
    fan_places=("none", "far"),
    slide_steps=1,
    obstacle_states=True,
    tight_allowed=True,
)

WANTED = [MEASURES[key] for key in ("area", "fans", "leftover", "cables")]

RAISED = ObstacleState(id="up", name="raised", shift_mm=(0, 0, 30))


@st.composite
def boxes(draw: st.DrawFn) -> Enclosure:
    """A floor zone, one on a bracket or on the outer side of the front, two things that move."""
    on_bracket = draw(st.booleans())
    at = 330.0 if on_bracket else 350.0
    outer = None if on_bracket else ZoneSide(plate_mm=2.0, depth_mm=40.0)
    zones = [
        zone("floor-zone", "floor", (draw(st.sampled_from([20.0, 60.0])), 40, 0), "+x", "+y",
             row(1)),
        zone("front-zone", "bracket" if on_bracket else "front", (at, 40, 130), "+z", "+y", row(1),
             outer=outer),
    ]  # fmt: skip
    z, x = draw(st.sampled_from([60.0, 90.0, 140.0])), draw(st.sampled_from([40.0, 100.0]))
    peg = block("peg", (x, 60, z), (x + 30, 100, z + 25), states=(*IN_OR_OUT, RAISED))
    side = draw(st.sampled_from([190.0, 240.0]))
    cage = block("cage", (side, 60, 10), (side + 30, 100, draw(st.sampled_from([40.0, 220.0]))),
                 states=IN_OR_OUT)  # fmt: skip
    things = [peg, cage]
    if on_bracket:
        back = ObstacleState(id="back", name="set back", shift_mm=(-25.0, 0, 0))
        things.append(
            block("bracket", (at, 30, 100), (at + 2, 170, 260), states=(IN_OR_OUT[0], back))
        )
    return room((350, 200, 300), zones, things)


def boxed(enclosure: Enclosure) -> Layout:
    return layout(enclosure, [], settings=Settings(judge="nominal", margin_mm=2.0))


class Truth:
    """What is left of stacks in rooms that stand in their states from the start."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._rooms: dict[object, Problem] = {}

    def figures(self, combination: tuple[int, ...]) -> tuple[float, ...]:
        """What a combination makes of each measure, more being better, by other searches."""
        states = {k: v for o in self._problem.options(combination) for k, v in o.states.items()}
        key = tuple(sorted(states.items()))
        if key not in self._rooms:
            there = with_states(self._problem.base.scene.layout, states)
            wishes = replace(self._problem.wishes, obstacle_states=False)
            self._rooms[key] = made_ready(there, wishes)
        plain = self._rooms[key]
        numbers = []
        for of_zone in plain.zones:
            stack = next(
                o.stack for o in self._problem.options(combination) if o.zone == of_zone.zone
            )
            listed = [k for k, o in enumerate(of_zone.options) if o.stack == stack]
            assert len({(of_zone.left_mm[k], of_zone.ends_mm[k]) for k in listed}) == 1
            numbers.append(listed[0])
        return tuple(_of(plain, numbers, measure) for measure in WANTED)


def _of(problem: Problem, numbers: list[int], measure: Measure) -> float:
    own = [float(measured(z, measure)[k]) for z, k in zip(problem.zones, numbers, strict=True)]
    return sum(own) if measure.kind == "sum" else min(own, default=inf)


def combinations(problem: Problem) -> Iterator[tuple[int, ...]]:
    """All combinations that fit by the tables."""
    every = product(*(range(n) for n in problem.tables.sizes))
    return (one for one in every if problem.tables.fits(one))


def agrees(enclosure: Enclosure) -> int:
    """Hold figures and rows of a search against rooms in their states; count what was split."""
    problem = made_ready(boxed(enclosure), WISHES)
    truth = Truth(problem)
    told = {}
    for one in combinations(problem):
        key = tuple((o.stack, tuple(o.states.items())) for o in problem.options(one))
        assert key not in told, "no combination is listed twice"
        numbers = list(one)
        told[key] = truth.figures(one)
        assert tuple(_of(problem, numbers, m) for m in WANTED) == pytest.approx(told[key])
    assert count_all(whole(problem.tables)) == len(told)
    *_, answer = answers(problem, WANTED)
    assert answer.done
    assert not answer.refused
    rows = {tuple(round(float(r.figures[m.key]), 6) for m in WANTED) for r in answer.rows}
    assert len(rows) == len(answer.rows)
    figures = {tuple(round(v, 6) for v in values) for values in told.values()}
    assert rows == {
        one
        for one in figures
        if not any(
            other != one and all(a >= b for a, b in zip(other, one, strict=True))
            for other in figures
        )
    }
    return sum(len(z.options) - z.options.how_many for z in problem.zones)


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
@given(enclosure=boxes())
def test_each_combination_has_what_is_left_in_its_states_and_the_rows_are_the_best(
    enclosure: Enclosure,
) -> None:
    agrees(enclosure)


@pytest.mark.nightly
@settings(max_examples=48, deadline=None, suppress_health_check=list(HealthCheck))
@given(enclosure=boxes())
def test_that_is_so_in_many_rooms(enclosure: Enclosure) -> None:
    agrees(enclosure)


def caged() -> Layout:
    """A floor zone for one fan, a cage 45 mm above the plate, and a peg 20 mm above that."""
    cage = block("cage", (0, 0, 45), (200, 200, 55), states=IN_OR_OUT)
    peg = block("peg", (80, 80, 75), (120, 120, 95), states=(*IN_OR_OUT, RAISED))
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    return boxed(room((200, 200, 200), [floor], [cage, peg]))


FANS = replace(WISHES, exchangers=(), fans=(fan(25),))


def test_an_option_is_listed_once_for_each_figure_that_it_may_have() -> None:
    problem = made_ready(caged(), FANS)
    of_zone = problem.zones[0]
    # 45 mm to the cage, with or without the peg; else 75 to the peg, 105 to it raised, 200.
    assert of_zone.left_mm.tolist() == [inf, 20.0, 50.0, 175.0, 80.0]
    assert of_zone.options.how_many == of_zone.fit_alone == 2
    assert problem.combinations == 2 * 2 * 3
    cage, peg = (problem.tables.clash[0, other].full().tolist() for other in (1, 2))
    assert cage == [[False, False], [False, True], *([[True, False]] * 3)]
    assert peg == [
        [False] * 3,
        [False] * 3,
        [False, True, True],
        [True, False, True],
        [True, True, False],
    ]


def test_a_stack_beside_other_states_is_the_listing_that_stands_with_them() -> None:
    problem = made_ready(caged(), FANS)
    assert as_listed(problem, (1, 1, 1)) == (3, 1, 1)
    assert as_listed(problem, (3, 1, 2)) == (4, 1, 2)
    assert as_listed(problem, (4, 0, 2)) == (1, 0, 2)
    cage = block("cage", (0, 0, 20), (200, 200, 55), states=IN_OR_OUT)
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    low = made_ready(boxed(room((200, 200, 200), [floor], [cage])), FANS)
    assert as_listed(low, (1, 0)) is None
    assert as_listed(low, (1, 1)) == (1, 1)


@pytest.mark.parametrize("tight", [True, False])
def test_listing_by_figures_leaves_the_count_as_it_is(
    monkeypatch: pytest.MonkeyPatch, tight: bool
) -> None:
    wishes = replace(WISHES, tight_allowed=tight)
    problem = made_ready(caged(), wishes)
    assert len(problem.zones[0].options) > problem.zones[0].options.how_many
    monkeypatch.setattr(making_ready, "left_settled", as_they_are)
    before = made_ready(caged(), wishes)
    assert len(before.zones[0].options) == before.zones[0].options.how_many
    assert count_all(whole(problem.tables)) == count_all(whole(before.tables)) > 0


def as_they_are(zones: object, tables: object, _: range) -> Steps[tuple[object, object]]:
    """Return zones and tables in which nothing is settled by states."""
    yield 1.0
    return zones, tables


def test_rows_have_the_depth_that_the_check_measures_in_their_states() -> None:
    problem = made_ready(caged(), replace(FANS, fans=(fan(15), fan(25))))
    *_, answer = answers(problem, [MEASURES["fans"], MEASURES["leftover"], MEASURES["parts"]])
    # One zone alone: no other stack stands in the way of what a row measures in place.
    (best,) = [r for r in answer.rows if r.figures["fans"] == 1]
    (depth,) = best.checked.report.depths
    assert best.figures["leftover"] == depth.least.mm == 200 - 15
    assert best.layout.states == {"cage": "out", "peg": "out"}


def test_an_obstacle_stays_where_it_is_if_what_counts_is_the_same_there() -> None:
    problem = made_ready(caged(), replace(FANS, fans=(fan(25),)))
    *_, answer = answers(problem, [MEASURES["fans"]])
    assert answer.rows[0].layout.states == {}
    # 45 mm to the cage whether the peg is there or not.
    wishes = replace(FANS, fans=(fan(25),))
    beside = room(
        (200, 200, 200),
        [zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))],
        [block("cage", (0, 0, 45), (200, 200, 55)),
         block("peg", (80, 80, 75), (120, 120, 95), states=IN_OR_OUT)],
    )  # fmt: skip
    *_, answer = answers(made_ready(boxed(beside), wishes), WANTED)
    assert all(not r.layout.states for r in answer.rows)


def test_a_search_with_too_many_choices_of_states_is_refused_in_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(left_over, "MOST_CHOICES", 6)
    made_ready(caged(), FANS)
    monkeypatch.setattr(left_over, "MOST_CHOICES", 5)
    with pytest.raises(SearchError, match='zone "floor-zone" depends on more than 5 choices'):
        made_ready(caged(), FANS)


def test_a_search_that_would_list_too_many_by_states_is_refused_in_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    listed = len(made_ready(caged(), FANS).zones[0].options)
    monkeypatch.setattr(left_settled, "MOST_LISTED", listed)
    made_ready(caged(), FANS)
    monkeypatch.setattr(left_settled, "MOST_LISTED", listed - 1)
    with pytest.raises(SearchError, match=f"in {listed} ways, more than {listed - 1} "):
        made_ready(caged(), FANS)


def test_the_check_agrees_with_the_room_that_stands_in_its_states() -> None:
    problem = made_ready(caged(), FANS)
    looked_at = 0
    for one in combinations(problem):
        if problem.options(one)[0].stack is None:
            continue
        (depth,) = check_layout(problem.judged_layout(one), remedies=False).report.depths
        assert problem.zones[0].left_mm[one[0]] == pytest.approx(depth.least.mm)
        looked_at += 1
    assert looked_at == 2 * 3
