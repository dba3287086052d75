"""What fits only turned a quarter is found: exchangers for one fan, and pumps on a plate.

A zone of one cell of 120 mm on the front wall, x = 300, between a shelf below and one above that
leave 135 mm: an exchanger for one fan is 165 mm long with its ends and fits lying across alone.
"""

from __future__ import annotations

import pytest
from plain_tables import whole
from small_rooms import PUMP, block, exchanger, fan, layout, room, row, zone

from catalog.enclosure import ZoneSide
from geometry.layout import Item, Layout, Stack
from geometry.search.answers import MEASURES, Row
from geometry.search.listing.zone_lister import ZoneLister
from geometry.search.near.misses import near_misses
from geometry.search.run import Searched, search
from geometry.search.solving.count import count_all
from geometry.search.summary import every_row
from geometry.search.wishes import Wishes
from geometry.search.words import row_text

CORE = exchanger(1, 30)


def between_shelves(*obstacles: object, width_mm: float = 260.0) -> Layout:
    shelves = [block(f"shelf-{z}", (200, 0, z), (300, width_mm, z + 10)) for z in (80, 225)]
    own = zone("front-zone", "front", (300, 70, 95), "+z", "+y", row(1, v_mm=60))
    return layout(room((300, width_mm, 400), [own], [*shelves, *obstacles]), [])  # type: ignore[list-item]


def searched(base: Layout, wishes: Wishes) -> Searched:
    *_, last = search(base, wishes, [MEASURES["area"], MEASURES["parts"]], 20.0)
    assert last.found is not None
    return last.found


def core_of(row: Row) -> Item:
    (stack,) = row.layout.stacks
    (layer,) = stack.inner
    return layer.items[0]


def test_an_exchanger_for_one_fan_goes_in_that_fits_only_turned_a_quarter() -> None:
    found = searched(between_shelves(), Wishes(exchangers=(CORE,), slide_steps=1))
    # Turned one way or the other, ports to the plate or away from it; those to it meet the wall.
    assert {(o.stack.inner[0].items[0].turn, o.stack.inner[0].items[0].turned_over)
            for o in found.problem.zones[0].options if o.stack is not None
            } == {(1, False), (3, False)}  # fmt: skip
    assert count_all(whole(found.problem.tables)) == 3
    best = max(found.answer.rows, key=lambda r: r.figures["area"])
    assert core_of(best).turn in (1, 3)
    (largest,) = found.largest
    assert largest.thickest is not None
    assert largest.thickest[1] == 30.0
    *_, near = near_misses(found.problem, found.answer, found.wanted)
    assert near.found == ()


def test_a_quarter_turn_is_told_by_where_the_port_end_looks() -> None:
    post = block("post", (200, 208, 0), (300, 215, 400))
    found = searched(between_shelves(post), Wishes(exchangers=(CORE,), slide_steps=1))
    (number,) = [k for k, r in enumerate(found.answer.rows) if r.figures["area"] > 0]
    best = found.answer.rows[number]
    (on_zone,) = every_row(found)[number].zones
    # The core ends at y = 190, its ends reach 15 and 30 mm farther: the port end looks away.
    assert (on_zone.facts["port end"], on_zone.facts["turned"]) == ("access side", "a quarter")
    assert on_zone.short == "1 x 120, 30, no fans, turned a quarter"
    assert "port end to the access side, turned a quarter" in row_text(best)


def test_side_by_side_each_turns_by_itself() -> None:
    # The next is 121 mm beside the first: lying along the zone their ends meet.
    own = zone("front-zone", "front", (300, 70, 60), "+z", "+y", row(2, apart_mm=123))
    base = layout(room((300, 260, 400), [own]), [])
    wishes = Wishes(exchangers=(CORE,), slide_steps=1, side_by_side=True)
    found = searched(base, wishes)
    best = max(found.answer.rows, key=lambda r: r.figures["area"])
    assert best.figures["area"] == 288.0
    turns = [layer.items[0].turn % 2 for layer in best.layout.stacks[0].inner]
    assert turns == [1, 1]


@pytest.mark.parametrize("side", ["inner", "outer"])
def test_on_both_sides_of_the_plate_the_words_are_those_of_the_part_as_it_stands(side: str) -> None:
    sides = {"inner": None, "outer": None, side: ZoneSide(plate_mm=2.0)}
    own = zone("front-zone", "front", (300, 70, 95), "+z", "+y", row(1), **sides)
    base = layout(room((300, 260, 400), [own]), [])
    lister = ZoneLister(base, own, Wishes(exchangers=(CORE,), fan_places=("none",)), "Z1")
    ends = {}
    for option in lister.options():
        if isinstance(option.base, Stack):
            (one,) = lister.placed(option.base)
            assert isinstance(one.use, Item)
            ends[one.use.turn, one.use.turned_over] = one.pose.x.name
    assert len(ends) == 8
    across = "+y" if side == "inner" else "-y"
    assert {ends[1, over] for over in (False, True)} == {across}


def test_a_pump_on_the_plate_is_listed_in_all_four_turns() -> None:
    # Its body ends 30 mm from its middle, z = 155 and y = 130, and its outlet 54 mm; 10 mm off the
    # plate a bar stands 40 mm from the middle on each side but one.
    posts = [
        block("below", (200, 60, 105), (290, 200, 115)),
        block("above", (200, 60, 195), (290, 200, 205)),
        block("near", (200, 80, 115), (290, 90, 195)),
    ]
    own = zone("front-zone", "front", (300, 70, 95), "+z", "+y", row(1))
    base = layout(room((300, 260, 400), [own], posts), [])
    wishes = Wishes(pumps=(PUMP,), pump="required", slide_steps=1)
    found = searched(base, wishes)
    assert {core_of(row).turn for row in found.answer.rows} == {1}
    (on_zone,) = every_row(found)[0].zones
    assert on_zone.facts["pump turned"] == "by 90 degrees"


def test_fans_go_with_a_core_that_is_turned_a_quarter() -> None:
    wishes = Wishes(exchangers=(CORE,), fans=(fan(25),), fan_places=("far",), slide_steps=1)
    found = searched(between_shelves(), wishes)
    best = max(found.answer.rows, key=lambda r: r.figures["area"])
    assert best.options[0].fans == 1
