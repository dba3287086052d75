"""Rows of a search as values: filtered, grouped, compared, exported, applied. No window."""

from __future__ import annotations

import csv
import io
import pickle
import re
from dataclasses import replace
from typing import Any

import pytest
import small_rooms as make

from app.ui.search.apply import Ground, with_change
from app.ui.search.compare import comparison
from app.ui.search.export import rows_text
from app.ui.search.measure_units import in_unit_signs, per_unit
from app.ui.search.rows import (
    RowFilter,
    Sorting,
    arranged,
    cell_text,
    head_text,
    row_text,
)
from app.ui.search.worker import SearchOrder, Told, tellings
from app.ui.units import Unit
from catalog.parts import Port, Pump
from catalog.shapes import Box
from geometry.checks.runner import check_layout
from geometry.edits import lift_out, move_free, set_margin
from geometry.layout import Layout
from geometry.references import reference_faults
from geometry.search.answers import MEASURES
from geometry.search.rows_csv import rows_csv
from geometry.search.stack_facts import stack_facts
from geometry.search.summary import RowSummary
from geometry.search.wishes import Wishes, wishes_from

FAN = make.fan(25.0)
SLIM, THICK = make.exchanger(1, 30.0), make.exchanger(1, 60.0)
PARTS = (FAN, SLIM, THICK)
PUMP = Pump(
    id="pump", name="Pump", bodies=(Box(at_mm=(-30, -30, 0), size_mm=(60, 60, 60)),),
    ports=(Port(id="out", at_mm=(30, 0, 30), facing="+x"),),
)  # fmt: skip


def two_zones() -> Layout:
    """Two zones for one fan face each other over 200 mm; a fan stands on the rear one."""
    room = make.room(
        (200.0, 180.0, 200.0),
        zones=(
            make.zone("front-zone", "front", (200.0, 20.0, 20.0), "+z", "+y", make.row(1)),
            make.zone("rear-zone", "rear", (0.0, 140.0, 20.0), "+z", "-y", make.row(1)),
        ),
    )
    stack = make.stack("S1", "rear-zone", make.one("F1", FAN))
    return make.layout(room, PARTS, [stack])


def order(layout: Layout, *zones: str) -> SearchOrder:
    wishes = wishes_from(PARTS, Wishes(slide_steps=1, zones=zones or ("front-zone", "rear-zone")))
    return SearchOrder(layout, wishes, ("volume", "leftover"), 20.0)


@pytest.fixture(scope="module")
def told() -> list[Told]:
    return list(tellings(order(two_zones())))


@pytest.fixture(scope="module")
def rows(told: list[Told]) -> list[RowSummary]:
    return [row for one in told for row in one.rows]


def test_every_row_is_told_once_and_the_last_word_holds_the_answer(
    told: list[Told], rows: list[RowSummary]
) -> None:
    assert [row.number for row in rows] == list(range(1, len(rows) + 1))
    assert len(rows) > 2
    assert told[-1].ended
    answer = told[-2].answer
    assert answer is not None
    assert answer.done
    assert answer.proven
    assert answer.least == answer.most
    assert f"{answer.least:,} of {answer.combinations:,} combinations fit" in answer.count
    assert [zone.zone for zone in answer.zones] == ["front-zone", "rear-zone"]


def test_a_row_is_what_the_full_check_lets_pass_with_figures_by_every_measure(
    rows: list[RowSummary],
) -> None:
    best = rows[0]
    assert not check_layout(best.layout, remedies=False).report.blocked
    # Two cores of 120 x 120 x 60 mm, if both zones take the thick one: 864 cm3 each.
    thick = sum(zone.facts.get("exchanger") == THICK.name for zone in best.zones)
    slim = sum(zone.facts.get("exchanger") == SLIM.name for zone in best.zones)
    assert best.figures["volume"] == pytest.approx(864.0 * thick + 432.0 * slim)
    assert best.figures["area"] == pytest.approx(144.0 * (thick + slim))
    items = [
        item
        for stack in best.layout.stacks
        for layer in (*stack.inner, *stack.outer)
        for item in layer.items
    ]
    assert best.figures["parts"] == len(items)
    assert best.figures["fans"] == sum(item.part == FAN.id for item in items)


def test_what_is_told_can_be_handed_to_another_process(told: list[Told]) -> None:
    again = pickle.loads(pickle.dumps(told))
    assert [row.layout for one in again for row in one.rows] == [
        row.layout for one in told for row in one.rows
    ]
    assert again[-2].answer.exclusions == told[-2].answer.exclusions


def test_rows_are_grouped_by_pattern_filtered_and_sorted(rows: list[RowSummary]) -> None:
    every = arranged(rows, RowFilter(), Sorting())
    assert [row.number for group in every for row in group.rows] != []
    assert {row.number for group in every for row in group.rows} == {row.number for row in rows}
    assert all(len({row.pattern for row in group.rows}) == 1 for group in every)
    assert [group.pattern for group in every] == list(dict.fromkeys(row.pattern for row in rows))

    rising = arranged(rows, RowFilter(), Sorting("volume", falling=False))
    assert rising[0].rows[0].figures["volume"] == min(row.figures["volume"] for row in rows)
    falling = arranged(rows, RowFilter(), Sorting("volume"))
    assert falling[0].rows[0].figures["volume"] == max(row.figures["volume"] for row in rows)

    middle = sorted(row.figures["volume"] for row in rows)[len(rows) // 2]
    some = arranged(rows, RowFilter(limits={"volume": (middle, None)}), Sorting())
    kept = {row.number for group in some for row in group.rows}
    assert kept == {row.number for row in rows if row.figures["volume"] >= middle}
    assert 0 < len(kept) < len(rows)

    one = arranged(rows, RowFilter(pattern=rows[0].pattern), Sorting())
    assert [group.pattern for group in one] == [rows[0].pattern]
    facts = {"fans": "push-pull, 2 x Fan 120 x 25"}
    both = replace(rows[0], zones=(replace(rows[0].zones[0], facts=facts),))
    for words, passes in (
        ("push-pull 120", True), ("120 pull", False), ("push", False), ("fa", True), ("12", False),
    ):  # fmt: skip
        assert RowFilter(words=words).passes(both) is passes, words
    worded = arranged(rows, RowFilter(words=f"{THICK.name}"), Sorting())
    assert {row.number for group in worded for row in group.rows} == {
        row.number
        for row in rows
        if any(zone.facts.get("exchanger") == THICK.name for zone in row.zones)
    }


def test_figures_and_heads_follow_the_unit(rows: list[RowSummary]) -> None:
    row = next(row for row in rows if row.figures["leftover"] < 1000)
    left = row.figures["leftover"]
    assert cell_text(row, "leftover", Unit.MM) == f"{left:.1f}"
    assert cell_text(row, "leftover", Unit.INCH) == f"{left / 25.4:.3f}"
    assert head_text("leftover", Unit.INCH).endswith("in")
    assert head_text("area", Unit.MM).endswith("cm²")
    assert head_text("area", Unit.INCH).endswith("in²")
    area, volume = row.figures["area"], row.figures["volume"]
    assert cell_text(row, "area", Unit.MM) == f"{area:,.0f}"
    # A square inch has 6.4516 cm², a cubic inch 16.387064 cm³.
    assert cell_text(row, "area", Unit.INCH) == f"{area / 6.4516:,.1f}"
    assert cell_text(row, "volume", Unit.INCH) == f"{volume / 16.387064:,.1f}"
    assert cell_text(row, "fans", Unit.INCH) == cell_text(row, "fans", Unit.MM)


def test_two_rows_compared_tell_what_differs_and_which_way(rows: list[RowSummary]) -> None:
    first, second = rows[0], rows[1]
    lines = {line.what: line for line in comparison((first, second), Unit.MM)}
    volume = lines["Core volume (cm³)"]
    less = second.figures["volume"] - first.figures["volume"]
    assert less < 0
    assert volume.difference == f"−{-less:,.0f}, worse"
    left = lines["Leftover (mm)"]
    assert left.difference.endswith("better")
    assert not any(line.difference for line in comparison((first, first), Unit.MM))
    assert not any(line.difference for line in comparison((first,), Unit.MM))


def test_areas_are_typed_and_compared_in_the_unit_shown(rows: list[RowSummary]) -> None:
    lines = {line.what: line for line in comparison((rows[0], rows[1]), Unit.INCH)}
    volume = lines["Core volume (in³)"]
    less = rows[1].figures["volume"] - rows[0].figures["volume"]
    assert volume.difference == f"−{-less / 16.387064:,.1f}, worse"
    assert per_unit(MEASURES["area"], Unit.INCH) == pytest.approx(6.4516)
    assert per_unit(MEASURES["area"], Unit.MM) == 1.0
    assert in_unit_signs("+1,432 cm3 core volume", Unit.INCH) == "+87.4 in³ core volume"
    assert in_unit_signs("+144 cm2 face area", Unit.MM) == "+144 cm² face area"


def test_csv_reads_back_and_the_clipboard_text_has_the_same_rows(rows: list[RowSummary]) -> None:
    read = list(csv.DictReader(io.StringIO(rows_csv(rows), newline="")))
    assert [int(line["number"]) for line in read] == [row.number for row in rows]
    assert [float(line["volume_cm3"]) for line in read] == [row.figures["volume"] for row in rows]
    assert [int(line["like_it"]) for line in read] == [row.alike for row in rows]
    assert [line["pattern"] for line in read] == [row.pattern for row in rows]
    assert (
        list(read[0])[-2:] == [zone.name for zone in rows[0].zones] != ["front-zone", "rear-zone"]
    )
    told = [line[zone.name] for line in read for zone in rows[0].zones]
    assert any("not slid" in text for text in told)
    assert not any("unslid" in text or "free to slide no" in text for text in told)
    lines = rows_text(rows, Unit.MM).split("\n")
    assert lines[0].split("\t")[0] == "Row"
    assert [line.split("\t")[0] for line in lines[1:]] == [str(row.number) for row in rows]
    assert rows_csv(()).count("\r\n") == 1


def test_a_row_replaces_what_stands_on_the_searched_zones_only() -> None:
    layout = two_zones()
    asked = order(layout, "front-zone")
    rows = [row for one in tellings(asked) for row in one.rows]
    row = next(row for row in rows if row.figures["volume"])
    ground = Ground.of(layout, asked.wishes)
    after = ground.with_row(layout, row)
    assert after == row.layout
    assert [stack.id for stack in after.stacks if stack.zone == "rear-zone"] == ["S1"]

    later = set_margin(layout, 1.0)
    assert ground.is_other(later)
    assert not ground.is_elsewhere(later)
    kept = ground.with_row(later, row)
    assert kept.settings.margin_mm == 1.0
    assert not ground.is_other(after)
    assert ground.with_row(after, rows[-1]).stacks == rows[-1].layout.stacks


def test_what_a_row_puts_in_goes_by_the_ids_that_placing_by_hand_gives(
    rows: list[RowSummary],
) -> None:
    row = next(row for row in rows if all("exchanger" in zone.facts for zone in row.zones))
    placed = [item.id for s in row.layout.stacks for la in s.inner for item in la.items]
    assert [stack.id for stack in row.layout.stacks] == ["S1", "S2"]
    assert all(re.fullmatch(r"[EF]\d", one) for one in placed)
    assert not reference_faults(row.layout)


def test_a_row_is_applied_beside_parts_of_another_row_that_were_moved_off_its_zones(
    rows: list[RowSummary],
) -> None:
    layout = two_zones()
    ground = Ground.of(layout, order(layout).wishes).knowing(row.layout for row in rows)
    first = next(row for row in rows if row.figures["volume"])
    now = ground.with_row(layout, first)
    moved = next(i.id for s in now.stacks for la in s.inner for i in la.items if i.id[0] == "E")
    now = lift_out(now, moved)
    after = ground.with_row(now, first)
    assert not reference_faults(after), "no id is used twice"
    assert [free.id for free in after.free] == [moved]
    assert len(after.stacks) == len(first.layout.stacks)


def test_a_pump_of_a_row_is_replaced_by_that_of_another_but_one_moved_by_hand_stays() -> None:
    layout = two_zones().but(stacks=())
    wishes = wishes_from(
        (FAN, PUMP), Wishes(slide_steps=1, zones=("front-zone",), pump="required", free_pumps=True)
    )
    asked = SearchOrder(layout, wishes, ("fans", "leftover", "parts"), 20.0)
    rows = [row for one in tellings(asked) for row in one.rows]
    with_pump = [row for row in rows if row.layout.free]
    assert with_pump
    ground = Ground.of(layout, wishes).knowing(row.layout for row in rows)
    now = ground.with_row(ground.with_row(layout, with_pump[0]), with_pump[-1])
    assert [free.id for free in now.free] == ["P1"]
    assert not ground.is_other(now)
    moved = move_free(now, "P1", (1.0, 0.0, 0.0))
    assert ground.is_other(moved), "it is not where a row has put it"
    after = ground.with_row(moved, with_pump[0])
    assert [free.id for free in after.free] == ["P1", "P2"]
    assert not reference_faults(after)


def test_rows_choose_states_of_obstacles_and_pumps_on_their_feet_and_can_follow_each_other() -> (
    None
):
    """A block 100 mm deep stands 60 mm before the front zone, and may be taken out."""
    base = two_zones()
    block = make.block("cage", (40.0, 20.0, 20.0), (140.0, 140.0, 140.0), states=make.IN_OR_OUT)
    layout = base.but(enclosure=base.enclosure.but(obstacles=(block,)), stacks=())
    wishes = wishes_from(
        PARTS,
        Wishes(slide_steps=1, zones=("front-zone",), obstacle_states=True, fan_places=("none",)),
    )
    asked = SearchOrder(layout, wishes, ("volume", "leftover"), 20.0)
    rows = [row for one in tellings(asked) for row in one.rows]
    ground = Ground.of(layout, wishes).knowing(row.layout for row in rows)
    out = [row for row in rows if row.layout.states.get("cage") == "out"]
    kept = [row for row in rows if row not in out]
    assert out, "more goes in with the cage taken out"
    assert kept, "something goes in beside the cage"
    assert any("taken out" in row_text(row) for row in out)
    after = ground.with_row(layout, out[0])
    assert after.states == out[0].layout.states
    assert not ground.is_other(after), "the search chose the state itself"
    again = ground.with_row(after, kept[0])
    assert again.states == layout.states, "the next row puts the cage back"


def test_near_misses_come_last_with_layouts_that_pass_the_full_check() -> None:
    base = two_zones()
    peg = make.block("peg", (150.0, 20.0, 20.0), (165.0, 40.0, 40.0), states=make.IN_OR_OUT)
    layout = base.but(enclosure=base.enclosure.but(obstacles=(peg,)), stacks=())
    wishes = wishes_from(PARTS, Wishes(slide_steps=1, zones=("front-zone",), fan_places=("none",)))
    told = list(tellings(SearchOrder(layout, wishes, ("volume",), 20.0, near=True)))
    near = told[-1].near
    assert near is not None
    assert not near.cutting
    assert near.found, "the thick core is refused for the peg alone"
    lets_in = [one for miss in near.found for one in miss.relaxations]
    assert lets_in
    assert not any(one.cuts for one in lets_in)
    for one in lets_in:
        assert not check_layout(one.layout, remedies=False).report.blocked
    renamed = layout.but(name="Mine")
    assert with_change(renamed, lets_in[0].layout).name == "Mine"


@pytest.mark.parametrize(
    ("inner", "outer", "air", "words"),
    [
        ("fan core", "", "inward", "push"),
        ("fan core", "", "outward", "pull"),
        ("core fan", "", "inward", "pull"),
        ("fan core fan", "", "inward", "push-pull"),
        ("core", "fan", "inward", "push, across the plate"),
        ("core", "fan", "outward", "pull, across the plate"),
        ("core fan", "fan", "inward", "push-pull, across the plate"),
        ("", "fan core", "outward", "push, on the outer side"),
        ("core", "", "inward", "none"),
        ("fan", "", "inward", "alone"),
    ],
)
def test_fans_are_told_by_what_they_do_to_the_core(
    inner: str, outer: str, air: Any, words: str
) -> None:
    parts = {"fan": FAN, "core": SLIM}
    inside = [make.one(f"I{k}", parts[w]) for k, w in enumerate(inner.split())]
    outside = tuple(make.one(f"O{k}", parts[w]) for k, w in enumerate(outer.split()))
    stack = make.stack("S", "front-zone", *inside, outer=outside, air=air)
    layout = two_zones().but(stacks=(stack,))
    facts = stack_facts(layout, layout.enclosure.zones[0], stack, ((0.0, 0.0), (0.0, 4.0)))
    told = facts["fans"].replace("1 x Fan 120 x 25, ", "").replace(", 1 x Fan 120 x 25", "")
    assert told == words
    assert facts["free to slide"] == (
        "4.0 mm away from the access side from there, until it touches or its slots end"
    )


def test_the_port_end_is_told_by_where_it_looks_in_the_room() -> None:
    layout = two_zones()
    zone = layout.enclosure.zones[0]  # u looks up, v away from the access side
    ends = []
    for turn in range(4):
        stack = make.stack("S", "front-zone", make.one("E", SLIM, turn=turn))
        facts = stack_facts(layout.but(stacks=(stack,)), zone, stack, ((0.0, 0.0), (0.0, 0.0)))
        ends.append(facts["port end"])
    assert ends == ["top", "far side", "floor", "access side"]
