"""The fits worked by hand are found by a search that is told nothing but room and parts.

Sums of the rooms: fans and cores by their thickness, port ends 30 mm long, return ends 15 mm, a
fitting 24 mm; the margin is 2 mm. What excludes what is compared with the full check.
"""

from __future__ import annotations

from itertools import product

import pytest
from search_oracle import exclusions
from small_rooms import block, exchanger, fan, layout, room, row, zone

from app.demo import demo_layout
from catalog.parts import Exchanger, Fan
from catalog.store import Library
from geometry.checks.runner import check_layout
from geometry.finding import Finding, Verdict
from geometry.layout import Layout
from geometry.search.making_ready import prepared
from geometry.search.problem import Problem
from geometry.search.wishes import Wishes


def made_ready(base: Layout, wishes: Wishes) -> Problem:
    *_, problem = prepared(base, wishes)
    assert isinstance(problem, Problem)
    return problem


def faults(problem: Problem, combination: tuple[int, ...]) -> list[Finding]:
    report = check_layout(problem.judged_layout(combination), remedies=False).report
    return [f for f in report.findings if f.verdict is not Verdict.CLEAR]


def short_mm(finding: Finding) -> float:
    assert finding.to_margin_mm is not None
    return -finding.to_margin_mm


def test_floor_and_front_exclude_each_other_as_the_check_says() -> None:
    # Cores of one to three fans on the floor, of one or two at the front, each on a fan of 25 mm.
    # Three and two: 410 - 385 = 25 mm shared, and 2 mm of margin.
    box = room(
        (440, 200, 400),
        [
            zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3)),
            zone("front-zone", "front", (440, 40, 20), "+z", "+y", row(2)),
        ],
    )
    wishes = Wishes(
        exchangers=tuple(exchanger(n, 30) for n in (1, 2, 3)), fans=(fan(25),),
        fan_places=("plate",),
    )  # fmt: skip
    problem = made_ready(layout(box, []), wishes)
    always = [e for e in exclusions(problem) if e.always]
    assert [e.patterns for e in always] == [("exchanger 3 fans long", "exchanger 2 fans long")]
    (told,) = always
    floor, front = (zone.options for zone in problem.zones)
    pairs = [
        (a, b)
        for a, b in product(range(len(floor)), range(len(front)))
        if (floor[a].pattern, front[b].pattern) == told.patterns
    ]
    assert told.pairs == len(pairs)
    worst = [max(faults(problem, pair), key=short_mm) for pair in pairs]
    nearest = min(zip(worst, pairs, strict=True), key=lambda one: short_mm(one[0]))
    finding, pair = nearest
    assert told.short_mm == pytest.approx(short_mm(finding))
    assert told.short_mm == pytest.approx(27.0)
    assert told.verdict is finding.verdict is Verdict.BLOCKED
    scene = check_layout(problem.judged_layout(pair), remedies=False).scene
    names = {scene.name_of(one) for one in finding.ids}
    assert names == {"Exchanger 3 x 120, 30", "Exchanger 2 x 120, 30"}
    assert {told.first.rsplit(", ", 1)[0], told.second.rsplit(", ", 1)[0]} == names
    assert told.first == "Exchanger 3 x 120, 30, port end"


@pytest.mark.parametrize(("core_mm", "fits"), [(30.0, True), (45.0, False)])
def test_one_fan_zone_takes_the_slim_core_only(core_mm: float, fits: bool) -> None:
    # 60 mm are clear: 25 + 30 = 55 leaves 5 mm, 25 + 45 = 70 lacks 10 mm.
    box = room(
        (300, 200, 240),
        [zone("front-zone", "front", (300, 40, 60), "+z", "+y", row(1))],
        [block("duct", (100, 30, 30), (240, 170, 210))],
    )
    cores = tuple(exchanger(1, mm, ports=0) for mm in (30.0, 45.0))
    problem = made_ready(
        layout(box, []), Wishes(exchangers=cores, fans=(fan(25),), fan_places=("plate",))
    )
    kept = {o.core.core_thickness_mm for o in problem.zones[0].options if o.core is not None}
    assert (core_mm in kept) == fits


@pytest.mark.parametrize(("duct", "turns"), [(False, {2}), (True, set())])
def test_only_the_flipped_end_passes_the_peg_unless_its_fitting_strikes(
    duct: bool, turns: set[int]
) -> None:
    # The port end would overlap the peg by 330 - 325 = 5 mm. Flipped it clears it, and its
    # fitting hangs to z = 126, into the duct that reaches up to 130.
    things = [block("peg", (325, 90, 140), (335, 110, 180))]
    things += [block("duct", (20, 20, 0), (70, 180, 130))] if duct else []
    box = room(
        (440, 200, 180), [zone("roof-zone", "roof", (60, 160, 180), "+x", "-y", row(2))], things
    )
    problem = made_ready(
        layout(box, []), Wishes(exchangers=(exchanger(2, 30),), fan_places=("none",))
    )
    stacks = [o.stack for o in problem.zones[0].options if o.stack is not None]
    assert {item.turn for s in stacks for layer in s.inner for item in layer.items} == turns


def test_the_demo_is_told_to_turn_its_front_exchanger() -> None:
    # As drawn the port end strikes the cable peg on the bracket; turned end for end it does not.
    library = Library()
    core, blower = library.part("exchanger-2x120-30"), library.part("fan-120-25")
    assert isinstance(core, Exchanger)
    assert isinstance(blower, Fan)
    demo = demo_layout(library)
    struck = {
        f.ids for f in check_layout(demo, remedies=False).report.findings
        if f.kind == "port_end" and f.verdict is Verdict.BLOCKED
    }  # fmt: skip
    assert {("E1", "bracket-peg")} == struck
    problem = made_ready(
        demo,
        Wishes(
            exchangers=(core,), fans=(blower,), fan_places=("both",), slide_steps=1,
            zones=("front-zone",),
        ),
    )  # fmt: skip
    stacks = [o.stack for o in problem.zones[0].options if o.stack is not None]
    turns = {
        item.turn for s in stacks for layer in s.inner for item in layer.items
        if item.part == core.id
    }  # fmt: skip
    assert turns == {2}
