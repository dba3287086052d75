"""What a search calls fitting is what the checks call so: every combination is checked in full."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import product
from math import prod

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from plain_tables import whole
from search_oracle import Case, consistent, every_option, made_ready, passes
from search_oracle import fits as together
from small_rooms import IN_OR_OUT, PUMP, block, exchanger, fan, layout, room, row, zone

from catalog.enclosure import Enclosure, ObstacleState, ZoneSide
from geometry.layout import Settings
from geometry.search.listing.option import Option
from geometry.search.problem import Problem
from geometry.search.solving.count import count_all
from geometry.search.wishes import FanPlace, Wishes

MOST_LOOKED_AT = 80
"""So many combinations of a case are checked in full; of more, as many drawn by a seed."""


def obstacles_beside(problem: Problem, option: Option) -> Iterator[tuple[Option, ...]]:
    """Yield all choices of states of the obstacles that an option may stand beside."""
    chosen = [
        [o for o in z.options if z.zone != "bracket" or o.states == option.states]
        for z in problem.zones
        if z.zone in ("peg", "bracket")
    ]
    yield from product(*chosen)


@st.composite
def small_boxes(draw: st.DrawFn) -> Enclosure:
    """A box with a floor zone and one on the front or a bracket, and a peg that may be moved."""
    depth = draw(st.sampled_from([230.0, 260.0, 300.0, 333.0]))
    height = draw(st.sampled_from([200.0, 240.0, 270.3]))
    on_bracket = draw(st.booleans())
    slots = draw(st.tuples(*[st.sampled_from([0.0, 6.0])] * 2))
    at = depth - draw(st.sampled_from([0.0, 4.0, 20.0]))
    zones = [
        zone("floor-zone", "floor", (draw(st.sampled_from([10.0, 12.0, 33.7])), 40, 0), "+x", "+y",
             row(draw(st.integers(1, 2)), slot_u_mm=slots[0])),
        zone("front-zone", "bracket" if on_bracket else "front",
             (at, 40, draw(st.sampled_from([60.0, 61.5]))), "+z", "+y", row(1, slot_u_mm=slots[1]),
             outer=draw(st.sampled_from([None, ZoneSide(plate_mm=2.0, depth_mm=30.0)]))),
    ]  # fmt: skip
    raised = (IN_OR_OUT[0], ObstacleState(id="up", name="raised", shift_mm=(0, 0, 25)))
    x, z = draw(st.sampled_from([0.0, 60.0, 150.0])), draw(st.sampled_from([58.0, 80.0, 120.0]))
    states = draw(st.sampled_from([IN_OR_OUT, raised, IN_OR_OUT[:1]]))
    things = [block("peg", (x, 60, z), (x + 30, 100, z + 25), states=states)]
    if on_bracket:
        back = ObstacleState(id="back", name="set back", shift_mm=(-12.0, 0, 0))
        plate = block("bracket", (at, 30, 40), (at + 2, 170, 180), states=(*IN_OR_OUT, back))
        stud = block("stud", (at - 10, 90, 150), (at, 110, 160), owner="bracket")
        things += [plate, stud]
    return room((depth, 200, height), zones, things)


@st.composite
def cases(draw: st.DrawFn) -> Case:
    judge = draw(st.sampled_from(["worst case", "worst case", "nominal"]))
    margin = draw(st.sampled_from([1.0, 2.0]))
    places: tuple[FanPlace, ...] = draw(
        st.sampled_from(
            [("both", "outer"), ("none", "far"), ("plate", "both"), ("none",), ("across",)]
        )
    )
    wishes = Wishes(
        exchangers=tuple(exchanger(n, draw(st.sampled_from([30.0, 60.0]))) for n in (1, 2)),
        fans=draw(st.sampled_from([(fan(25),), (fan(15), fan(25))])),
        pumps=(PUMP,),
        pump=draw(st.sampled_from(["none", "allowed"])),
        fan_places=places,
        slide_steps=draw(st.sampled_from([1, 2])),
        tight_allowed=draw(st.sampled_from([False, False, True])),
        obstacle_states=draw(st.booleans()),
        mixed_fans=draw(st.booleans()),
        side_by_side=draw(st.sampled_from([False, False, True])),
        part_rows=draw(st.booleans()),
        free_pumps=draw(st.booleans()),
        judge=draw(st.sampled_from([None, None, "nominal", "worst case"])),
    )
    box = layout(draw(small_boxes()), [], settings=Settings(judge=judge, margin_mm=margin))
    return Case(box, wishes, draw(st.integers(0, 2**16)))


def agrees(case: Case) -> None:
    problem = made_ready(case.layout, case.wishes)
    stacks = problem.zones[: len(case.layout.enclosure.zones)]
    for number, of_zone in enumerate(stacks, start=1):
        listed = every_option(problem, of_zone.zone, number)
        assert of_zone.listed == 1 + len(listed)
        kept = {(o.stack, tuple(o.states.items())) for o in of_zone.options if o.stack}
        few = random.Random(case.seed).sample(listed, min(len(listed), MOST_LOOKED_AT // 2))
        for option in few:
            told = (option.stack, tuple(option.states.items())) in kept
            fits = any(
                passes(problem, [option, *rest]) for rest in obstacles_beside(problem, option)
            )
            # What stands in no state of the obstacles, or only with something ahead, may be listed.
            # The tables then rule out all else.
            more = case.wishes.obstacle_states or case.wishes.tight_allowed
            assert told == fits or (told and more), option.pattern
    sizes = problem.tables.sizes
    combinations = list(product(*(range(n) for n in sizes)))
    if len(combinations) <= 20_000:
        fit = sum(problem.tables.fits(c) for c in combinations)
        assert count_all(whole(problem.tables)) == fit
    if prod(sizes) > MOST_LOOKED_AT:
        combinations = random.Random(case.seed).sample(combinations, MOST_LOOKED_AT)
    for one in combinations:
        options = problem.options(one)
        want = consistent(problem, options) and passes(problem, options)
        assert together(problem, one) == want, [o.pattern for o in options]


@settings(max_examples=5, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=cases())
def test_search_finds_exactly_what_the_checks_let_pass(case: Case) -> None:
    agrees(case)


@pytest.mark.nightly
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=cases())
def test_search_finds_exactly_what_the_checks_let_pass_in_many_rooms(case: Case) -> None:
    agrees(case)
