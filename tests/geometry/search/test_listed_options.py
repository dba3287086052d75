"""What the listed options of a zone are not, as it is told of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, product

import pytest
from search_oracle import every_option, made_ready
from small_rooms import PUMP, exchanger, fan, layout, room, row, zone

from catalog.enclosure import ZoneSide
from geometry.layout import Item
from geometry.placement import Placed
from geometry.search.answers import MEASURES
from geometry.search.fault import TooManyListed
from geometry.search.listing.option import Option
from geometry.search.listing.zone_lister import ZoneLister
from geometry.search.run import search
from geometry.search.summary import every_row
from geometry.search.wishes import PumpWish, Wishes
from geometry.slots import slot_range


def test_a_zone_holds_one_exchanger_with_full_rows_of_fans_or_fans_alone() -> None:
    front = zone("z", "front", (300, 10, 10), "+z", "+y", row(3), outer=ZoneSide(plate_mm=2.0))
    wishes = Wishes(exchangers=(exchanger(1, 30), exchanger(2, 30)), fans=(fan(25),), slide_steps=1)
    problem = made_ready(layout(room((500, 200, 600), [front]), []), wishes)
    held: set[tuple[int, int]] = set()
    for option in every_option(problem, "z", 1):
        assert option.stack is not None
        items = [i for la in (*option.stack.inner, *option.stack.outer) for i in la.items]
        parts = Counter(item.part for item in items)
        fans = parts.pop("fan-120x25", 0)
        assert sum(parts.values()) == (option.core is not None)
        held.add((len(option.core.cells) if option.core is not None else 0, fans))
        assert option.stack.air == "inward"
    assert held == {(0, 1), (0, 2), (0, 3), (1, 0), (1, 1), (1, 2), (2, 0), (2, 2), (2, 4)}


def listed(cells: int, wishes: Wishes) -> list[Option]:
    """What is listed for one row of cells with room on its inner side, without slides."""
    front = zone("z", "front", (300, 10, 10), "+z", "+y", row(cells))
    base = layout(room((500, 200, 600), [front]), [])
    return [o for o in ZoneLister(base, front, wishes, "Z1").options() if o.base is not None]


def cells_of(option: Option) -> list[tuple[tuple[str, ...], ...]]:
    """The cells of the parts of each of its columns, in the order of their layers."""
    return [
        tuple(
            tuple(item.cell for item in layer.items)
            for layer in (*column.base.inner, *column.base.outer)
        )
        for column in option.columns
        if column.base is not None
    ]


def test_rows_with_gaps_are_every_row_that_is_not_empty() -> None:
    core = exchanger(3, 30)
    wishes = Wishes(exchangers=(core,), fans=(fan(25),), fan_places=("both",), slide_steps=1)
    whole, gaps = (listed(3, replace(wishes, part_rows=on)) for on in (False, True))
    assert {o.fans for o in whole if o.core} == {6}
    rows = {tuple(cells_of(o)[0]) for o in gaps if o.core is not None}
    some = [r for n in (1, 2, 3) for r in combinations(("c1", "c2", "c3"), n)]
    assert {(near, far) for near, _, far in rows} == set(product(some, some))


@pytest.mark.parametrize(
    ("cells", "wishes"),
    [
        (3, Wishes(fans=(fan(25),))),
        (2, Wishes(fans=(fan(15), fan(25)), pumps=(PUMP,), pump="allowed")),
    ],
    ids=["three cells", "two kinds of fan and a pump"],
)
def test_side_by_side_are_all_choices_of_columns_on_cells_of_their_own(
    cells: int, wishes: Wishes
) -> None:
    cores = (exchanger(1, 30), exchanger(2, 30))
    wishes = replace(wishes, exchangers=cores, fan_places=("far",))
    alone = listed(cells, wishes)
    every = listed(cells, replace(wishes, side_by_side=True))
    assert [o.pattern for o in every[: len(alone)]] == [o.pattern for o in alone]

    def held(option: Option) -> list[Item]:
        assert option.base is not None
        return [item for layer in option.base.inner for item in layer.items]

    # A core of two cells has fans on both, so that the fans tell what it takes.
    on_cells = {id(o): {item.cell for item in held(o)} for o in alone}
    fans = {id(o): {i.part for i in held(o) if i.part.startswith("fan")} for o in alone}
    able = [o for o in alone if o.core is not None or o.fans <= 1]
    count = 0
    for some in (*combinations(able, 2), *combinations(able, 3)):
        taken = [on_cells[id(o)] for o in some]
        count += (
            sum(map(len, taken)) == len(set().union(*taken))
            and len(set().union(*(fans[id(o)] for o in some))) <= 1
            and sum(o.pump for o in some) <= 1
            and not all(o.core is None and o.fans for o in some)
        )
    assert len(every) - len(alone) == count > 100
    for option in every:
        items = [item.id for item in held(option)]
        assert len(items) == len(set(items)) == option.parts
    alike = {
        frozenset((i.part, i.cell, i.turn, i.turned_over, layer) for layer, i in enumerate(held(o)))
        for o in every
    }
    assert len(alike) == len(every)


def test_a_core_beside_a_thicker_one_stands_on_the_plate() -> None:
    cores = (exchanger(1, 30), exchanger(1, 60))
    wishes = Wishes(exchangers=cores, fan_places=("none",), slide_steps=1, side_by_side=True)
    front = zone("z", "front", (300, 10, 60), "+z", "+y", row(2, apart_mm=200))
    base = layout(room((500, 200, 600), [front]), [])
    *_, last = search(base, wishes, (MEASURES["volume"],), 20.0)
    assert last.found is not None
    found = last.found
    best = every_row(found)[0]
    (on_zone,) = best.zones
    assert on_zone.facts["holds"] == "2 exchangers 1 fan long"
    assert on_zone.facts["exchanger"] == f"cell c1: {cores[1].name}; cell c2: {cores[1].name}"
    assert best.figures["volume"] == pytest.approx(2 * 12.0 * 12.0 * 6.0)
    (largest,) = found.largest
    assert largest.deepest is not None
    assert largest.deepest[1] == 60.0


def test_more_side_by_side_than_there_is_memory_for_is_refused_before_any_is_placed() -> None:
    cores = tuple(exchanger(1, 20.0 + k) for k in range(40))
    wishes = Wishes(exchangers=cores, fans=(fan(25),), side_by_side=True, slide_steps=1)
    front = zone("z", "front", (300, 10, 10), "+z", "+y", row(3))
    with pytest.raises(TooManyListed, match="list nothing side by side on a zone"):
        made_ready(layout(room((500, 200, 600), [front]), []), wishes)


@pytest.mark.parametrize("pump", ["none", "allowed"])
@pytest.mark.parametrize(("mixed_fans", "part_rows"), [(False, True), (True, False)])
def test_options_are_counted_by_their_slots_as_many_as_are_listed(
    pump: PumpWish, mixed_fans: bool, part_rows: bool
) -> None:
    cells = row(2, slot_u_mm=9.0)
    cells = (cells[0].but(slot_u_mm=(-4.0, 2.0)), cells[1])
    front = zone("z", "front", (300, 10, 10), "+z", "+y", cells, outer=ZoneSide(plate_mm=2.0))
    wishes = Wishes(
        (exchanger(1, 30), exchanger(2, 30)), (fan(25), fan(15)),
        pumps=(PUMP,), pump=pump, side_by_side=True, mixed_fans=mixed_fans, part_rows=part_rows,
    )  # fmt: skip
    lister = ZoneLister(layout(room((500, 200, 600), [front]), []), front, wishes, "Z1")
    every, counted = Counter[object](), Counter[object]()
    for option in lister.options():
        if option.base is not None:
            every[slots_of(lister.placed(option.base))] += 1
    for placed, count in lister.counted():
        counted[slots_of(placed)] += count
    assert len(every) > 1
    assert counted == every


def slots_of(placed: Sequence[Placed]) -> object:
    return slot_range(placed, 0), slot_range(placed, 1)


def test_what_is_too_much_by_worst_case_is_refused_with_few_placed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Forty exchangers on three cells, eight ways each with fans, 27 million choices of three."""
    cores = tuple(exchanger(1, 20.0 + k) for k in range(40))
    wishes = Wishes(
        exchangers=cores, fans=(fan(25),), side_by_side=True, slide_steps=1, judge="worst case"
    )
    front = zone("z", "front", (300, 10, 10), "+z", "+y", row(3))
    placed: list[object] = []
    place = ZoneLister.placed
    monkeypatch.setattr(
        ZoneLister, "placed", lambda self, stack: (placed.append(stack), place(self, stack))[1]
    )
    with pytest.raises(TooManyListed, match="and more options would be listed") as said:
        made_ready(layout(room((500, 200, 600), [front]), []), wishes)
    assert said.value.ways[0] == "list fewer parts"
    assert len(placed) < 1000


@pytest.mark.parametrize(("slides", "told"), [(1, "1 slide along"), (5, "5 slides along")])
def test_so_many_slides_are_told_by_their_number(slides: int, told: str) -> None:
    ways = TooManyListed("9", 4, slides, slides, 1_000_000, beside=True).ways
    assert ways == (
        "list fewer parts",
        "search fewer zones at once",
        "list nothing side by side on a zone",
        f"list fewer slides: {told} each slot would pass",
        f"judge as drawn: {told} each slot would pass then",
    )


def test_unlike_things_side_by_side_are_told_each_by_its_cells() -> None:
    cores = (exchanger(1, 30), exchanger(2, 30))
    wishes = Wishes(cores, (fan(25),), fan_places=("none", "far"), slide_steps=1, side_by_side=True)
    cells = row(2, apart_mm=200)
    third = cells[1].but(id="c3", u_mm=cells[1].u_mm + 120)
    front = zone("z", "front", (300, 10, 60), "+z", "+y", (*cells, third))
    base = layout(room((500, 200, 700), [front]), [])
    *_, last = search(base, wishes, (MEASURES["area"], MEASURES["parts"]), 20.0)
    assert last.found is not None
    best = max(every_row(last.found), key=lambda one: one.figures["area"])
    assert best.figures["parts"] == 2
    (on_zone,) = best.zones
    one, two = (core.name for core in cores)
    assert on_zone.facts["exchanger"] == f"cell c1: {one}; cells c2, c3: {two}"
    assert on_zone.facts["fans"] == "cell c1: none; cells c2, c3: none"
    assert on_zone.facts["slide"] == "unslid"


def test_a_row_of_fans_with_gaps_is_told_by_its_cells() -> None:
    core = exchanger(2, 30)
    wishes = Wishes((core,), (fan(25),), fan_places=("far",), slide_steps=1, part_rows=True)
    front = zone("z", "front", (300, 10, 60), "+z", "+y", row(3))
    base = layout(room((500, 200, 600), [front]), [])
    *_, last = search(base, wishes, (MEASURES["area"], MEASURES["fans"], MEASURES["parts"]), 20.0)
    assert last.found is not None
    told = {(z.short, z.facts.get("stands on"), z.facts.get("fans"))
            for one in every_row(last.found) for z in one.zones}  # fmt: skip
    name = fan(25).name
    short = core.name.removeprefix("Exchanger ")
    assert (f"{short}, pull, 2 fans", "cells c1, c2", f"pull, 2 x {name}") in told
    assert (f"{short}, pull, 1 fan", "cells c1, c2", f"pull, 1 x {name} on cell c1") in told
