"""The word behind a leftover depth: never clear where less than the margin is left."""

from __future__ import annotations

from dataclasses import replace

import pytest
from small_rooms import block, brick, fan, fan_layer, free, layout, room, row, stack, zone

from app.drawing.primitives import Ink
from app.drawing.verdict_words import LeftoverWord, leftover_text, leftover_word, note_text
from app.ui.panels.finding_card import figure_words, margin_words
from app.ui.units import Unit
from catalog.shapes import Plug
from geometry.checks.runner import check_layout
from geometry.checks.words import overlap_text
from geometry.finding import Finding, StackDepth, Verdict


def depth_over(*things: object) -> tuple[StackDepth, LeftoverWord]:
    """A fan 25 mm thick under a roof at z = 100, so its face is at z = 75; margin 2 mm."""
    blower = fan(25)
    roof = zone("roof-zone", "roof", (60, 160, 100), "+x", "-y", row(1))
    of = layout(
        room((300, 200, 100), [roof], things),  # type: ignore[arg-type]
        [blower],
        [stack("S", "roof-zone", fan_layer("A", blower, ["c1"]))],
    )
    report = check_layout(of, remedies=False, worst_cases=False).report
    (depth,) = report.depths
    return depth, leftover_word(depth.least, report, 2.0)


@pytest.mark.parametrize(
    ("top_mm", "text", "ink"),
    [
        (20.0, "55.0 clear", Ink.CLEAR),
        (73.0, "2.0 clear", Ink.CLEAR),
        (73.8, "1.2 tight", Ink.TIGHT),
        (79.0, "4.0 overlap", Ink.BLOCKED),
    ],
)
def test_to_a_solid_the_margin_decides(top_mm: float, text: str, ink: Ink) -> None:
    _, word = depth_over(block("duct", (90, 70, 0), (150, 130, top_mm)))
    assert (leftover_text(word), word.ink) == (text, ink)


@pytest.mark.parametrize(
    ("bend_mm", "text", "ink"),
    [(40.0, "11.0 clear", Ink.CLEAR), (50.0, "1.0 to plug room", Ink.DIMENSION)],
)
def test_to_the_room_for_a_plug_no_margin_is_asked_and_less_is_not_called_clear(
    bend_mm: float, text: str, ink: Ink
) -> None:
    # The plug stands on a board at z = 10 and asks for 14 mm and its bend: 75 - 10 - 14 - bend.
    plug = Plug(
        id="main", name="main plug", at_mm=(120, 100, 10), facing="+z", width_mm=20, height_mm=20,
        plug_mm=14, bend_mm=bend_mm,
    )  # fmt: skip
    _, word = depth_over(block("board", (60, 40, 5), (180, 160, 10), plugs=(plug,)))
    assert (leftover_text(word), word.ink) == (text, ink)


def test_a_clear_depth_is_never_less_than_nought() -> None:
    depth, _ = depth_over(block("duct", (90, 70, 0), (150, 130, 79)))
    assert (depth.total_mm, depth.clear_mm) == (25.0, 21.0)
    thin = tuple(replace(left, reach_mm=2.0) for left in depth.cells)
    assert StackDepth("S", "inner", (), 2.0, thin).clear_mm == 0.0


def test_shared_room_and_what_is_missing_have_a_word_each_everywhere() -> None:
    """The duct stands 4 mm in the fan, which is 6 mm less than the margin of 2 mm."""
    short = Finding("zone_size", Verdict.BLOCKED, (), "", "", (0, 0, 0), -4.0, 0.0)
    shared = replace(short, required_mm=2.0, shares_room=True, volume_mm3=100.0)
    assert (note_text(short), note_text(shared)) == ("4.0 missing", "4.0 overlap")
    assert figure_words(short, Unit.MM) == "4.0 mm missing"
    assert figure_words(shared, Unit.MM) == "overlaps 4.0 mm"
    assert margin_words(shared, Unit.MM) == "2.0 mm required, 6.0 mm missing; 0.1 cm³ shared"
    assert overlap_text(-4.0, 2.0) == "overlaps 4.0 mm, 6.0 mm missing to the 2.0 mm margin"


def test_the_figure_of_what_lies_outside_has_the_word_of_its_title() -> None:
    """A block of 50 mm round x = 390, where the cavity ends at 400: 15 mm too far."""
    thing = brick("thing", (50.0, 50.0, 50.0))
    of = layout(room((400, 200, 100), []), [thing], [], [free("B", thing, (390.0, 50.0, 20.0))])
    found = [f for f in check_layout(of).report.findings if f.kind == "outside_cavity"]
    (outside,) = found
    assert outside.title.endswith("15.0 mm too far")
    assert note_text(outside) == "15.0 too far"
    assert figure_words(outside, Unit.MM) == "15.0 mm too far"


def test_a_stack_that_is_too_deep_without_shared_room_is_called_so_beside_its_title() -> None:
    deep = Finding("leftover_depth", Verdict.BLOCKED, (), "", "", (0, 0, 0), -4.1, 2.0)
    assert (note_text(deep), figure_words(deep, Unit.MM)) == ("4.1 too deep", "4.1 mm too deep")
