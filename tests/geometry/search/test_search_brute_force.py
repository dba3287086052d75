"""What a search calls fitting is what the checks call so: every combination is checked in full."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import product

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_rooms import block, exchanger, fan, layout, room, row, zone

from catalog.enclosure import Enclosure, ZoneSide
from geometry.checks.runner import check_layout
from geometry.layout import Layout, Stack
from geometry.search.alone import slide_steps
from geometry.search.count import count_all
from geometry.search.options import ZoneLister, with_parts
from geometry.search.problem import Problem, prepared
from geometry.search.wishes import FanPlace, Wishes


def made_ready(base: Layout, wishes: Wishes) -> Problem:
    *_, problem = prepared(base, wishes)
    assert isinstance(problem, Problem)
    return problem


def passes(problem: Problem, stacks: Iterable[Stack]) -> bool:
    """Whether the full check lets stacks pass together with what stands."""
    base = problem.base.scene.layout
    wishes = problem.wishes
    with_all = with_parts(base, (*wishes.exchangers, *wishes.fans, *wishes.pumps))
    checked = check_layout(
        with_all.but(stacks=(*base.stacks, *stacks)),
        problem.base,
        remedies=False,
        worst_cases=False,
    )
    report = checked.report
    return not report.blocked and (wishes.tight_allowed or not report.tight)


def every_stack(problem: Problem, zone_id: str, number: int) -> list[Stack]:
    """All stacks that are listed for a zone, with all their slides, judged by nobody."""
    base = problem.base.scene.layout
    (own,) = [z for z in base.enclosure.zones if z.id == zone_id]
    lister = ZoneLister(base, own, problem.wishes, f"Z{number}")
    stacks = []
    for option in lister.options():
        if option.base is not None:
            for slide in slide_steps(lister.placed(option.base), problem.wishes.slide_steps):
                stacks.append(replace(option, slide_mm=slide).stack)
    return [stack for stack in stacks if stack is not None]


def found_by_search(problem: Problem) -> set[tuple[int, ...]]:
    sizes = (range(n) for n in problem.tables.sizes)
    return {c for c in product(*sizes) if problem.tables.fits(c)}


@st.composite
def small_boxes(draw: st.DrawFn) -> Enclosure:
    """A box with a floor and a front zone, a bracket's worth of things in the way."""
    depth = draw(st.sampled_from([230.0, 260.0, 300.0, 360.0]))
    height = draw(st.sampled_from([200.0, 240.0, 300.0]))
    slot = draw(st.sampled_from([0.0, 6.0]))
    zones = [
        zone("floor-zone", "floor", (draw(st.sampled_from([10.0, 40.0])), 40, 0), "+x", "+y",
             row(draw(st.integers(1, 2)), slot_u_mm=slot)),
        zone("front-zone", "front", (depth, 40, 60), "+z", "+y", row(1, slot_u_mm=slot),
             outer=draw(st.sampled_from([None, ZoneSide(plate_mm=2.0, depth_mm=30.0)]))),
    ]  # fmt: skip
    at = draw(st.tuples(st.sampled_from([0.0, 60.0, 150.0]), st.sampled_from([80.0, 120.0])))
    peg = block("peg", (at[0], 60, at[1]), (at[0] + 30, 100, at[1] + 25))
    return room((depth, 200, height), zones, [peg])


@settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    enclosure=small_boxes(),
    cores=st.sampled_from([(30.0,), (60.0,)]),
    places=st.sampled_from([("both", "outer"), ("none", "far"), ("plate",)]),
    tight=st.booleans(),
)
def test_search_finds_exactly_what_the_checks_let_pass(
    enclosure: Enclosure, cores: tuple[float, ...], places: tuple[FanPlace, ...], tight: bool
) -> None:
    wishes = Wishes(
        exchangers=tuple(exchanger(n, mm) for n in (1, 2) for mm in cores),
        fans=(fan(25),),
        fan_places=places,
        slide_steps=2,
        tight_allowed=tight,
    )
    problem = made_ready(layout(enclosure, []), wishes)
    alone = []
    for number, zone_options in enumerate(problem.zones, start=1):
        listed = every_stack(problem, zone_options.zone, number)
        assert zone_options.listed == 1 + len(listed)
        fit = [stack for stack in listed if passes(problem, [stack])]
        assert [o.stack for o in zone_options.options] == [None, *fit]
        alone.append([None, *fit])
    by_checks = {
        pick
        for pick in product(*(range(len(fit)) for fit in alone))
        for stacks in ([fit[k] for fit, k in zip(alone, pick, strict=True)],)
        if passes(problem, [s for s in stacks if s is not None])
    }
    assert found_by_search(problem) == by_checks
    assert count_all(problem.tables) == len(by_checks)
