"""What a search must not lose: groups of zones multiplied, nothing left out before it is counted,
the least that is missing, one pump at most, and the worst case to a tenth of a millimetre."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from search_oracle import exclusions
from small_rooms import PUMP, block, exchanger, fan, layout, room, row, zone

from geometry.checks.runner import check_layout
from geometry.finding import Verdict
from geometry.layout import Layout, Settings
from geometry.search.answers import MEASURES
from geometry.search.making_ready import prepared
from geometry.search.mending.steps import Step
from geometry.search.problem import Problem
from geometry.search.run import search
from geometry.search.solving.count import counting
from geometry.search.solving.tables import Tables
from geometry.search.wishes import Wishes


def made_ready(base: Layout, wishes: Wishes) -> Problem:
    *_, problem = prepared(base, wishes)
    assert isinstance(problem, Problem)
    return problem


def corner(slot_mm: float = 0.0) -> Layout:
    return layout(
        room(
            (440, 200, 400),
            [
                zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3, slot_u_mm=slot_mm)),
                zone("front-zone", "front", (440, 40, 20), "+z", "+y", row(2)),
            ],
        ),
        [],
    )


def test_thirty_groups_of_zones_are_multiplied_beyond_what_floats_hold_exactly() -> None:
    # Thirty pairs of zones of 20 options, each with 20 x 20 - 20 = 380 that fit.
    clash = np.eye(20, dtype=bool)
    tables = Tables.of((20,) * 60, {(2 * k, 2 * k + 1): clash for k in range(30)})
    *states, last = counting(tables, 20.0)
    assert (last.found, last.done) == (380**30, True)
    # One state for each group: each was counted by itself.
    assert len(states) == 30


def test_nothing_is_sure_before_every_group_of_zones_is_counted() -> None:
    some, all_of = np.eye(3, dtype=bool), np.ones((3, 3), dtype=bool)
    tables = Tables.of((3, 3, 3, 3), {(0, 1): some, (2, 3): all_of})
    assert [state.found for state in counting(tables)] == [0, 0, 0]


def test_a_search_counts_what_dominance_leaves_out_too() -> None:
    wishes = Wishes(
        exchangers=(exchanger(1, 30), exchanger(2, 30), exchanger(3, 30)), fans=(fan(25),),
        fan_places=("plate",),
    )  # fmt: skip
    *_, end = search(corner(), wishes, [MEASURES["area"]], 30.0)
    assert end.found is not None
    tables = end.found.problem.tables
    fit = sum(tables.fits(c) for c in product(*(range(n) for n in tables.sizes)))
    assert (end.found.count.found, end.found.count.done) == (fit, True)


def test_what_excludes_is_told_by_the_pair_that_misses_least() -> None:
    # The floor's port end reaches x = 410 in the middle of its slots, 407 or 413 at their ends; the
    # front stack starts at 385: at least 407 - 385 = 22 mm are shared, and 2 mm of margin.
    wishes = Wishes(
        exchangers=(exchanger(2, 30), exchanger(3, 30)), fans=(fan(25),), fan_places=("plate",)
    )
    told = {e.patterns: e for e in exclusions(made_ready(corner(3.0), wishes))}
    never = told["exchanger 3 fans long", "exchanger 2 fans long"]
    assert never.always
    assert never.short_mm == pytest.approx(24.0)


def test_two_zones_never_get_a_pump_each() -> None:
    wishes = Wishes(
        exchangers=(exchanger(1, 30),), fans=(fan(25),), pumps=(PUMP,), pump="allowed",
        fan_places=("far",),
    )  # fmt: skip
    problem = made_ready(corner(), wishes)
    pumps = {
        tuple(o.pump for o in problem.options(c))
        for c in product(*(range(n) for n in problem.tables.sizes))
        if problem.tables.fits(c)
    }
    assert pumps == {(False, False), (True, False), (False, True)}


@pytest.mark.parametrize("kind", ["trim", "cut out", "slide", "state", "margin"])
def test_every_kind_of_cut_is_marked_as_one(kind: str) -> None:
    step = Step("Change", 1.0, "thing", lambda before: before, kind)  # type: ignore[arg-type]
    assert step.cuts == (kind in ("trim", "cut out"))


def test_a_search_and_the_check_turn_at_the_same_tenth_in_the_worst_case() -> None:
    # A fan of 25 mm over the floor, and a block that hangs 2 to 4 mm above it.
    blower = fan(25)
    told, checked = [], []
    for tenths in range(20, 41):
        hung = 25.0 + tenths / 10
        box = room(
            (300, 200, 200),
            [zone("floor-zone", "floor", (60, 40, 0), "+x", "+y", row(1))],
            [block("hung", (40, 20, hung), (200, 180, 190))],
        )
        base = layout(box, [], settings=Settings(judge="worst case"))
        wishes = Wishes(fans=(blower,), fan_places=("plate",))
        options = made_ready(base, wishes).zones[0].options
        told.append(any(o.stack is not None for o in options))
        free = made_ready(base.but(settings=Settings(judge="nominal")), wishes)
        (number,) = [k for k, o in enumerate(free.zones[0].options) if o.stack is not None]
        report = check_layout(
            free.layout((number,)).but(settings=base.settings), remedies=False
        ).report
        checked.append(all(f.verdict is Verdict.CLEAR for f in report.findings))
    assert told == checked
    assert set(told) == {False, True}
