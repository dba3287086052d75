"""Two stacks that just exclude each other are a near miss, and what is told is the least change.

Two zones of one cell of 120 mm on the front wall, u up: an exchanger for one fan stands on each,
its port end, 30 mm, up or down, its return end, 15 mm, to the other way, and between the cores
there are 60 mm. Turned apart the return ends leave 30 mm, and no way round leaves more but lying
across, for which the walls have no room.
"""

from __future__ import annotations

from small_rooms import block, exchanger, layout, room, row, zone

from geometry.checks.runner import check_layout
from geometry.edits import set_margin, trim_obstacle
from geometry.layout import Layout, Settings
from geometry.search.answers import MEASURES
from geometry.search.near.largest import slid_in
from geometry.search.near.misses import NearMisses, near_misses
from geometry.search.near.words import miss_text
from geometry.search.problem import Problem
from geometry.search.run import search
from geometry.search.wishes import Wishes

CORE = exchanger(1, 30)


def two_zones(margin_mm: float) -> Layout:
    zones = [
        zone(f"{name}-zone", "front", (300, 40, z), "+z", "+y", row(1))
        for name, z in (("low", 100.0), ("high", 280.0))
    ]
    # Ends that lie across come to y = 25 and to 190, of 200 mm.
    walls = [block(name, (200, y, 0), (300, y + 6, 500)) for name, y in (("a", 0), ("b", 194))]
    sides = Settings(judge="nominal", margin_mm=margin_mm)
    return layout(room((300, 200, 500), zones, walls), [], settings=sides)


def looked_for(lay: Layout, *, cutting: bool = False) -> tuple[Problem, NearMisses]:
    wanted = [MEASURES["area"]]
    wishes = Wishes(exchangers=(CORE,), fan_places=("none",), slide_steps=1)
    *_, last = search(lay, wishes, wanted, 20.0)
    assert last.found is not None
    problem, answer = last.found.problem, last.found.answer
    *_, near = near_misses(
        problem, answer, wanted, exclusions=last.found.exclusions, cutting=cutting
    )
    return problem, near


def turns(lay: Layout) -> list[int]:
    return [s.inner[0].items[0].turn for s in sorted(lay.stacks, key=lambda s: s.zone)]


def test_two_that_face_apart_are_let_in_by_a_margin_that_is_little_less() -> None:
    problem, near = looked_for(two_zones(34.0))
    miss = near.found[0]
    assert miss.short_mm == 4.0
    # The port end of the high one is up, that of the low one down.
    assert turns(miss.layout) == [0, 2]
    (margin,) = miss.relaxations
    assert margin.name == "Ask for a margin of 30.0 mm instead of 34.0 mm"
    assert miss_text(miss) == f"row 1 with {CORE.name} on low zone and {CORE.name} on high zone"
    assert not check_layout(margin.layout, remedies=False).report.tight
    assert check_layout(set_margin(miss.layout, 30.1), remedies=False).report.tight
    # What differs from the first row on two zones says nothing of the largest beside it.
    assert slid_in(problem, near.found) == ()


def test_two_that_stand_together_are_no_near_miss() -> None:
    _, near = looked_for(two_zones(30.0))
    assert near.found == ()


def test_the_way_round_that_is_refused_for_least_is_the_one_that_is_cut_for() -> None:
    # The core reaches from z = 240 to 360, slid by 12 mm at most. With its port end down and slid
    # up it is 15 mm deep in the duct at 372, and keeps its margin to the sill at 220 as drawn, not
    # at worst. With its port end up, unslid, it is 18 mm deep, and 5 mm are left to the sill.
    own = zone("front-zone", "front", (300, 40, 240), "+z", "+y", row(1, slot_u_mm=12.0))
    things = [
        block("sill", (200, 60, 180), (300, 140, 220), kind="duct"),
        block("duct", (200, 60, 372), (300, 140, 412), kind="duct"),
        block("post-a", (200, 0, 0), (300, 30, 500), kind="board"),
        block("post-b", (200, 184, 0), (300, 190, 500), kind="board"),
    ]
    lay = layout(room((300, 200, 500), [own], things), [], settings=Settings())
    _, near = looked_for(lay, cutting=True)
    first = near.found[0]
    (cut,) = first.relaxations
    assert cut.name.startswith("Trim duct by ")
    assert turns(first.layout) == [0]
    assert cut.amount_mm is not None
    assert 20.0 < cut.amount_mm < 24.0
    less = trim_obstacle(first.layout, "duct", "-z", round(cut.amount_mm - 0.1, 1))
    assert check_layout(less, remedies=False).report.tight
    amounts = [r.amount_mm for miss in near.found for r in miss.relaxations]
    assert cut.amount_mm == min(mm for mm in amounts if mm is not None)
