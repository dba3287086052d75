"""Which pump a row holds, and why none does where pumps are allowed. No window."""

from __future__ import annotations

from dataclasses import replace

import pytest
import small_rooms as make
from facing_fans import two_zones

from app.ui.search.rows import named_text, short_tip
from app.ui.search.worker import SearchOrder, Told, tellings
from catalog.parts import Port, Pump
from catalog.shapes import Box
from geometry.search.answers import MEASURES
from geometry.search.run import search
from geometry.search.wishes import PumpWish, Wishes, wishes_from
from geometry.search.words import no_pump_text

FAN = make.fan(25.0)
PUMP = Pump(
    id="pump", name="Pump, cube 60 x 60 x 60, bare",
    bodies=(Box(at_mm=(-30, -30, 0), size_mm=(60, 60, 60)),),
    ports=(Port(id="out", at_mm=(30, 0, 30), facing="+x"),),
)  # fmt: skip
NO_PUMP = (
    "pumps fit, but no best row has one: nothing that counts is better with one; ask for exactly "
    "one to see them"
)


@pytest.mark.parametrize(
    ("wish", "wanted", "told"),
    [
        ("allowed", "fans", NO_PUMP),
        ("required", "fans", ""),
        ("none", "fans", ""),
    ],
)
def test_where_pumps_fit_and_no_row_holds_one_it_is_said(
    wish: PumpWish, wanted: str, told: str
) -> None:
    asked = Wishes(slide_steps=1, zones=("front-zone",), pump=wish, free_pumps=True)
    wishes = wishes_from((FAN, PUMP), asked)
    found = tellings(SearchOrder(two_zones().but(stacks=()), wishes, (wanted, "parts"), 20.0))
    last = [one.answer for one in found if one.answer is not None][-1]
    assert last.no_pump == told


def test_that_no_pump_is_better_is_said_only_once_that_is_proven() -> None:
    asked = Wishes(slide_steps=1, zones=("front-zone",), pump="allowed", free_pumps=True)
    wishes = wishes_from((FAN, PUMP), asked)
    wanted = [MEASURES["fans"], MEASURES["parts"]]
    *_, last = search(two_zones().but(stacks=()), wishes, wanted, 20.0)
    assert last.found is not None
    assert no_pump_text(last.found) == NO_PUMP
    cut_short = replace(last.found, answer=replace(last.found.answer, done=False))
    assert no_pump_text(cut_short) == (
        "pumps fit, but no best row has one so far; ask for exactly one to see them"
    )


def test_nothing_is_said_of_pumps_where_none_fits() -> None:
    tall = PUMP.but(bodies=(Box(at_mm=(-30, -30, 0), size_mm=(60, 60, 900)),))
    asked = Wishes(slide_steps=1, zones=("front-zone",), pump="allowed", free_pumps=True)
    wishes = wishes_from((FAN, tall), asked)
    found = tellings(SearchOrder(two_zones().but(stacks=()), wishes, ("fans", "parts"), 20.0))
    last = [one.answer for one in found if one.answer is not None][-1]
    assert last.no_pump == ""


def test_the_tip_of_a_row_says_which_pump_it_holds(told: list[Told]) -> None:
    row = next(row for one in told for row in one.rows)
    zone = row.zones[0]
    pumped = replace(zone, short=f"{zone.short}, pump", facts={**zone.facts, "pump": "Pump P 60"})
    assert "Pump: " not in short_tip(row)
    assert "\nPump: Pump P 60" in short_tip(replace(row, zones=(pumped, *row.zones[1:])))


def test_a_row_says_which_pump_it_holds() -> None:
    wishes = wishes_from(
        (FAN, PUMP), Wishes(slide_steps=1, zones=("front-zone",), pump="required", free_pumps=True)
    )
    asked = SearchOrder(two_zones().but(stacks=()), wishes, ("fans", "parts"), 20.0)
    rows = [row for one in tellings(asked) for row in one.rows]
    assert rows
    for row in rows:
        assert "pump 60 x 60 x 60" in named_text(row)
