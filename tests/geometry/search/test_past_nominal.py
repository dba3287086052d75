"""Stacks past the nominal depth of their zone are found where something stands ahead of them.

Every combination of all that is listed is checked in full, none is left to the search's judging.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import product
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from plain_tables import whole
from search_oracle import Case, consistent, every_option, exclusions, made_ready, passes
from small_rooms import IN_OR_OUT, block, exchanger, fan, layout, room, row, zone

from catalog.enclosure import Enclosure, Obstacle, ZoneSide
from catalog.parts import Exchanger
from catalog.shapes import Box
from geometry.finding import Verdict
from geometry.layout import Item, Layout, Settings, Stack
from geometry.measures.broadphase import Bools
from geometry.search import past_nominal
from geometry.search.fault import SearchError
from geometry.search.listed_anew import listed_anew
from geometry.search.listing.option import Option
from geometry.search.solving.count import count_all
from geometry.search.wishes import Wishes

MOST_LOOKED_AT = 80
"""So many combinations of a random case are checked in full; of more, as many drawn by a seed."""

BESIDE_MM, LOW_MM, LONG_MM = 40.0, 200.0, 500.0
"""Where zones begin across the room; how high and how long its low front part is."""


def stepped(
    depth_mm: float,
    *,
    up_mm: float = 215.0,
    near_mm: float = 242.0,
    near_depth_mm: float | None = None,
    far: bool = False,
    wide: bool = False,
    things: Sequence[Obstacle] = (),
) -> Enclosure:
    """A low front part and a high rear part, with a zone on the outer side of the wall between.

    A stack on one or two zones on the roof of the low part may stand ahead of one on that wall.
    """
    parts = [(LONG_MM, 0.0, LOW_MM), (200.0, LOW_MM, 260.0)]
    cavity, outer = (
        tuple(
            Box(at_mm=(-t, -t, z - t), size_mm=(x + 2 * t, 200 + 2 * t, high + 2 * t))
            for x, z, high in parts
        )
        for t in (0.0, 2.0)
    )
    zones = [
        zone("up-zone", "front", (200, BESIDE_MM, up_mm), "+z", "+y", row(2 if wide else 1),
             inner=None, outer=ZoneSide(plate_mm=2.0, depth_mm=depth_mm)),
        zone("near-zone", "roof", (near_mm, BESIDE_MM, LOW_MM), "+y", "+x", row(1), inner=None,
             outer=ZoneSide(plate_mm=2.0, depth_mm=near_depth_mm)),
    ]  # fmt: skip
    if far:
        at = (near_mm + 122, BESIDE_MM, LOW_MM)
        outside = ZoneSide(plate_mm=2.0)
        zones.append(zone("far-zone", "roof", at, "+y", "+x", row(1), inner=None, outer=outside))
    return room((LONG_MM, 200, LOW_MM), zones, things, cavity=cavity, outer=outer)


def over_the_roof(x_mm: float, z_mm: float, *, movable: bool) -> Obstacle:
    """A peg beside the middle of the zones, over the roof of the low part."""
    least, most = (x_mm, 60.0, z_mm), (x_mm + 15, 100.0, z_mm + 25)
    return block("peg", least, most, states=IN_OR_OUT if movable else IN_OR_OUT[:1])


def thick_ends(core_mm: float, tank_mm: float) -> Exchanger:
    """An exchanger for one fan whose port end stands out farther than its core."""
    part = exchanger(1, core_mm, return_end_mm=8.0)
    tank = part.port_tank.but(thickness_mm=tank_mm, offset_z_mm=(tank_mm - core_mm) / 2)
    return part.but(port_tank=tank)


@st.composite
def stepped_boxes(draw: st.DrawFn) -> Enclosure:
    """Depths that some parts pass and others do not, and a peg that may be ahead."""
    pegs = []
    if draw(st.booleans()):
        x, z = draw(st.sampled_from([300.0, 470.0])), draw(st.sampled_from([240.0, 300.0]))
        pegs.append(over_the_roof(x, z, movable=draw(st.booleans())))
    return stepped(
        draw(st.sampled_from([20.0, 30.0, 35.1])),
        up_mm=draw(st.sampled_from([215.0, 230.0])),
        near_mm=draw(st.sampled_from([242.0, 262.0])),
        near_depth_mm=draw(st.sampled_from([None, 20.0])),
        far=draw(st.booleans()),
        wide=draw(st.booleans()),
        things=pegs,
    )


@st.composite
def stepped_cases(draw: st.DrawFn) -> Case:
    """Searches of stepped boxes with few options a zone, so that all combinations are looked at."""
    wishes = Wishes(
        exchangers=draw(st.sampled_from([(), (thick_ends(15, 15),), (thick_ends(15, 45),)])),
        fans=draw(st.sampled_from([(fan(15), fan(25)), (fan(25), fan(38))])),
        fan_places=draw(st.sampled_from([("none",), ("far",)])),
        slide_steps=1,
        tight_allowed=draw(st.sampled_from([True, True, False])),
        obstacle_states=draw(st.booleans()),
    )
    box = layout(draw(stepped_boxes()), [], settings=Settings(judge="nominal", margin_mm=2.0))
    return Case(box, wishes, draw(st.integers(0, 2**16)))


Made = tuple[tuple[Stack | None, object, object], ...]


def agrees_on_what_nobody_judged(case: Case) -> set[Made]:
    """Return what a search finds, once it is what the checks let pass of all that is listed."""
    problem = made_ready(case.layout, case.wishes)
    found = Counter(
        _made_of(problem.options(one))
        for one in product(*(range(n) for n in problem.tables.sizes))
        if problem.tables.fits(one)
    )
    assert set(found.values()) <= {1}
    zones = case.layout.enclosure.zones
    lists: list[Sequence[Option]] = [
        [Option(z.id, "empty"), *every_option(problem, z.id, n)] for n, z in enumerate(zones, 1)
    ]
    lists += [z.options for z in problem.zones[len(zones) :]]
    every = list(product(*lists))
    if len(every) > MOST_LOOKED_AT:
        every = random.Random(case.seed).sample(every, MOST_LOOKED_AT)
    for options in every:
        want = consistent(problem, options) and passes(problem, options)
        assert (_made_of(options) in found) == want, [o.pattern for o in options]
    return set(found)


def _made_of(options: Iterable[Option]) -> Made:
    return tuple((o.stack, tuple(o.states.items()), o.free) for o in options)


def _zones(made: Made) -> set[str]:
    return {stack.zone for stack, _, _ in made if stack is not None}


def _items(made: Made, zone_id: str) -> list[Item]:
    stacks = [stack for stack, _, _ in made if stack is not None and stack.zone == zone_id]
    return [item for stack in stacks for layer in stack.outer for item in layer.items]


def searched(enclosure: Enclosure, *, tight: bool = True, **more: Any) -> Case:
    """Fans of 15 and 25 mm, unless said otherwise, on all zones of a box."""
    usual: dict[str, Any] = {"fans": (fan(15), fan(25)), "fan_places": ("none",), "slide_steps": 1}
    wishes = Wishes(**{**usual, **more}, tight_allowed=tight)
    box = layout(enclosure, [], settings=Settings(judge="nominal", margin_mm=2.0))
    return Case(box, wishes, 0)


def test_past_the_nominal_depth_it_stands_with_something_ahead_only() -> None:
    # Of 3 x 3 combinations one does not fit: 25 mm of 20 mm with nothing ahead.
    assert len(agrees_on_what_nobody_judged(searched(stepped(20.0)))) == 8
    # At 220 mm up the wall a fan of 15 mm on the roof (up to 217 mm) is not ahead of it.
    assert len(agrees_on_what_nobody_judged(searched(stepped(20.0, up_mm=220.0)))) == 7
    # Where only what is clear is asked for, what is past the nominal depth never fits.
    assert len(agrees_on_what_nobody_judged(searched(stepped(20.0), tight=False))) == 6


def test_either_of_two_zones_may_have_something_ahead_and_no_combination_counts_twice() -> None:
    case = searched(stepped(20.0, far=True))
    problem = made_ready(case.layout, case.wishes)
    assert len(agrees_on_what_nobody_judged(case)) == 27 - 1
    assert count_all(whole(problem.tables)) == 27 - 1
    assert problem.combinations == 27
    assert [zone.fit_alone for zone in problem.zones] == [3, 3, 3]


def test_a_search_with_too_many_ways_to_look_at_is_refused_in_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    case = searched(stepped(20.0, far=True))
    monkeypatch.setattr(past_nominal, "MOST_LISTED", 2)
    made_ready(case.layout, case.wishes)
    monkeypatch.setattr(past_nominal, "MOST_LISTED", 1)
    with pytest.raises(SearchError, match='stated depth of zone "up-zone" gives more than 1 ways'):
        made_ready(case.layout, case.wishes)


def test_what_is_forbidden_alike_is_held_once(monkeypatch: pytest.MonkeyPatch) -> None:
    held: list[Bools] = []

    def listed(*all_of_it: Any) -> Any:
        held.extend(marks for forbidden in all_of_it[-1] for marks in forbidden.values())
        return listed_anew(*all_of_it)

    monkeypatch.setattr(past_nominal, "listed_anew", listed)
    case = searched(stepped(20.0, far=True), fans=(fan(25), fan(30), fan(38)))
    made_ready(case.layout, case.wishes)
    # Three fans, each with near-zone first, or far-zone, before which near-zone has nothing ahead.
    assert len(held) == 3 * 3
    assert len({id(marks) for marks in held}) == len({marks.tobytes() for marks in held}) == 2


def test_two_fans_side_by_side_each_want_something_ahead() -> None:
    # Two fans of 25 mm, 240 mm along the wall from 215 mm: what is on the roof is ahead of one.
    found = agrees_on_what_nobody_judged(searched(stepped(20.0, wide=True), fans=(fan(25),)))
    ahead = [made for made in found if "near-zone" in _zones(made)]
    assert {"up-zone" in _zones(made) for made in ahead} == {True, False}
    assert all(len(_items(made, "up-zone")) < 2 for made in found)


def test_an_obstacle_that_may_be_out_is_no_more_ahead_than_a_stack_that_may_be_missing() -> None:
    peg = over_the_roof(470, 240, movable=True)
    case = searched(stepped(20.0, up_mm=220.0, things=[peg]), obstacle_states=True)
    # With the peg all 9, without it the 7 of above.
    assert len(agrees_on_what_nobody_judged(case)) == 9 + 7


@pytest.mark.parametrize("tight", [True, False])
@pytest.mark.parametrize("depth_mm", [39.0, 42.0, 46.0])
@pytest.mark.parametrize("peg_mm", [280.0, 362.0])
def test_a_port_end_that_stands_out_farther_than_the_fans_counts(
    tight: bool, depth_mm: float, peg_mm: float
) -> None:
    # The peg is ahead of the fans, which end at 42 mm, or of the port end, which does at 47.
    case = searched(
        stepped(depth_mm, up_mm=240.0, things=[over_the_roof(300, peg_mm, movable=False)]),
        tight=tight,
        fans=(fan(25), fan(38)),
        exchangers=(thick_ends(15, 45),),
        fan_places=("none", "far"),
    )
    agrees_on_what_nobody_judged(case)


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=stepped_cases())
def test_search_finds_what_stands_only_with_something_ahead(case: Case) -> None:
    agrees_on_what_nobody_judged(case)


@pytest.mark.nightly
@settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=stepped_cases())
def test_search_finds_what_stands_only_with_something_ahead_in_many_rooms(case: Case) -> None:
    agrees_on_what_nobody_judged(case)


def test_what_excludes_an_empty_zone_is_the_depth_that_is_passed() -> None:
    problem = made_ready(*ready(stepped(20.0)))
    (told,) = exclusions(problem)
    assert told.zones == ("up-zone", "near-zone")
    assert told.patterns == ("1 fan alone", "empty")
    assert (told.excluded, told.pairs, told.verdict) == (1, 2, Verdict.BLOCKED)
    assert told.first == "1 fan alone"
    assert told.second == "nothing ahead, past the stated depth of up zone"
    assert told.short_mm == pytest.approx(5.0)
    # Where another zone may have something ahead, neither of the two excludes anything.
    assert exclusions(made_ready(*ready(stepped(20.0, far=True)))) == []


def ready(enclosure: Enclosure) -> tuple[Layout, Wishes]:
    case = searched(enclosure)
    return case.layout, case.wishes
