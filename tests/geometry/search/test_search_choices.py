"""What may be chosen beside zones: states of obstacles, fans of two kinds, pumps on their feet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from plain_tables import whole
from search_ends import worthy
from search_oracle import exclusions
from small_rooms import IN_OR_OUT, block, exchanger, fan, layout, room, row, zone

from geometry.layout import Layout, Settings
from geometry.search.answers import MEASURES, answers
from geometry.search.making_ready import prepared
from geometry.search.problem import Problem
from geometry.search.solving.count import count_all, counting
from geometry.search.solving.tables import Tables, merged
from geometry.search.wishes import Wishes


def made_ready(base: Layout, wishes: Wishes) -> Problem:
    *_, problem = prepared(base, wishes)
    assert isinstance(problem, Problem)
    return problem


def caged(**settings: object) -> Layout:
    """A floor zone for one fan, and a cage that begins 45 mm above the plate, in or out."""
    cage = block("cage", (0, 0, 45), (200, 200, 100), states=IN_OR_OUT)
    floor = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(1))
    more = {"settings": Settings(**settings)} if settings else {}  # type: ignore[arg-type]
    return layout(room((200, 200, 200), [floor], [cage]), [], **more)


WISHES = Wishes(fans=(fan(25), fan(44)), obstacle_states=True)


def test_the_state_of_an_obstacle_is_a_choice_of_its_own() -> None:
    problem = made_ready(caged(), WISHES)
    assert [o.pattern for o in problem.zones[1].options] == ["cage in place", "cage taken out"]
    # Nothing or the thin fan goes with both states; the thick one leaves 45 - 44 = 1 mm of the
    # margin of 2 to the cage, so it wants it out.
    # What the thin fan leaves differs, 45 - 25 and 200 - 25, so it is listed for either state.
    assert [o.pattern for o in problem.zones[0].options] == ["empty", *["1 fan alone"] * 3]
    assert problem.zones[0].left_mm.tolist() == [np.inf, 20.0, 175.0, 156.0]
    assert problem.zones[0].fit_alone == 3
    assert count_all(whole(problem.tables)) == 2 + 2 + 1
    assert problem.tables.clash[0, 1].full().tolist() == [
        [False, False],
        [False, True],
        [True, False],
        [True, False],
    ]


def test_an_obstacle_excludes_by_the_millimetres_that_are_missing() -> None:
    (told,) = [e for e in exclusions(made_ready(caged(), WISHES)) if e.excluded]
    assert told.zones == ("floor-zone", "cage")
    assert told.patterns == ("1 fan alone", "cage in place")
    assert told.short_mm == pytest.approx(1.0)


def test_an_obstacle_stays_where_it_is_unless_something_wants_it_elsewhere() -> None:
    *_, answer = answers(made_ready(caged(), replace(WISHES, fans=(fan(25),))), [MEASURES["fans"]])
    assert answer.rows[0].layout.states == {}
    *_, answer = answers(made_ready(caged(), replace(WISHES, fans=(fan(44),))), [MEASURES["fans"]])
    assert answer.rows[0].layout.states == {"cage": "out"}


@pytest.mark.parametrize(("judge", "fits"), [("nominal", True), ("worst case", False)])
def test_a_fan_that_keeps_its_margin_only_as_drawn(judge: str, fits: bool) -> None:
    # 45 - 42.9 = 2.1 mm are left of the margin of 2; the fan's thickness alone may take 0.3
    # (ISO 2768-1 m, over 30 up to 120), and the cage's place another 0.3.
    problem = made_ready(caged(judge=judge), replace(WISHES, fans=(fan(42.9),)))
    filled = range(1, len(problem.zones[0].options))
    assert any(problem.tables.fits((k, 0)) for k in filled) is fits
    assert any(problem.tables.fits((k, 1)) for k in filled)


def test_fans_of_two_kinds_stand_on_the_two_faces_where_that_is_asked_for() -> None:
    box = room((300, 200, 300), [zone("z", "floor", (60, 40, 0), "+x", "+y", row(1))])
    wishes = Wishes(
        exchangers=(exchanger(1, 30),), fans=(fan(15), fan(25)), fan_places=("both",), slide_steps=1
    )

    def pairs(mixed: bool) -> set[tuple[str, str]]:
        problem = made_ready(layout(box, []), replace(wishes, mixed_fans=mixed))
        stacks = [o.stack for o in problem.zones[0].options if o.core is not None and o.stack]
        return {(s.inner[0].items[0].part, s.inner[2].items[0].part) for s in stacks}

    thin, thick = "fan-120x15", "fan-120x25"
    assert pairs(mixed=False) == {(thin, thin), (thick, thick)}
    assert pairs(mixed=True) == {(a, b) for a in (thin, thick) for b in (thin, thick)}


def test_fans_alone_stand_on_every_subset_of_the_cells() -> None:
    box = room((420, 200, 200), [zone("z", "floor", (20, 40, 0), "+x", "+y", row(3))])
    problem = made_ready(layout(box, []), Wishes(fans=(fan(25),)))
    cells = [
        "".join(i.cell for i in o.stack.inner[0].items) if o.stack else ""
        for o in problem.zones[0].options
    ]
    assert sorted(cells) == ["", "c1", "c1c2", "c1c2c3", "c1c3", "c2", "c2c3", "c3"]


def test_zones_that_cannot_touch_are_counted_apart_and_multiplied() -> None:
    clash = np.array([[True, False], [False, False]])
    tables = Tables.of((2, 2, 2, 2), {(0, 1): clash, (2, 3): clash})
    # One state for each group: each is counted by itself.
    assert len(list(counting(tables))) - 1 == 2
    assert count_all(tables) == 3 * 3


def test_options_with_the_same_conflicts_are_merged_and_all_of_them_counted() -> None:
    clash = np.array([[True, False], [True, False], [False, False]])
    tables = Tables.of((3, 2), {(0, 1): clash})
    assert [[m.tolist() for m in zone] for zone in merged(tables).members] == [
        [[0, 1], [2]], [[0], [1]],
    ]  # fmt: skip
    assert count_all(tables) == 4


def test_dominance_looks_at_conflicts_and_measures_and_does_not_touch_the_count() -> None:
    # The second option conflicts with less than the first; the third with nothing, but is worth 1.
    clash = np.array([[True, True], [True, False], [False, False]])
    tables = Tables.of((3, 2), {(0, 1): clash})
    other = np.array([[2.0], [1.0]])
    left = worthy(merged(tables), [np.array([[5.0], [5.0], [1.0]]), other])
    assert left.numbers[0].tolist() == [1, 2]
    dear = worthy(merged(tables), [np.array([[6.0], [5.0], [1.0]]), other])
    assert dear.numbers[0].tolist() == [0, 1, 2]
    assert count_all(tables) == 3
