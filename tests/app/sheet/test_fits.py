"""What fits, on sheets: it stands by itself, is told in full, and nothing lies on anything."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest
import small_rooms as make
from sheet_looks import outside_frame, overlapping_texts, words_of

from app.drawing.primitives import Text
from app.sheet.cautions import CAUTIONS, CUT_CAUTION_OF
from app.sheet.compose import NO_NAMES, Names, compose_sheets
from app.sheet.fits import compose_fits, fits_blocks
from app.sheet.fits_content import MOST_ROWS, Fits, fit_rows
from app.sheet.fits_settings import AS_LISTED
from app.sheet.flow import Block, Column, Piece, flow
from geometry.checks.runner import check_layout
from geometry.edits import cut_lines, set_name, trim_obstacle
from geometry.layout import Layout
from geometry.search.answers import MEASURES
from geometry.search.near.summary import LetIn, NearFound, NearSummary
from geometry.search.row_limits import LeftInPlace, TightAtWorst
from geometry.search.run import search
from geometry.search.summary import RowSummary, RowTeller, summary
from geometry.search.wishes import Wishes, wishes_from

FAN = make.fan(25.0)
PARTS = (FAN, make.exchanger(1, 30.0), make.exchanger(1, 60.0))
WANTED = ("volume", "leftover")
DATE = datetime.date(2026, 1, 31)
LOOKED_AT = "checked the 300 of 450 candidates with the least interference; the others miss by more"
LONG_FACTS = {
    "exchanger": "Exchanger 1 x 120, 20 mm", "port end": "top", "ports": "away from the plate",
    "fans": "push-pull, 1 x Fan 120 x 25", "slide": "15.0 mm up (along +z)",
    "free to slide": "19.0 mm down from there, until it touches or its slots end",
}  # fmt: skip


def two_zones() -> Layout:
    """Two zones for one fan face each other over 200 mm, and a duct beside them."""
    room = make.room(
        (200.0, 180.0, 260.0),
        zones=(
            make.zone("front-zone", "front", (200.0, 20.0, 20.0), "+z", "+y", make.row(1)),
            make.zone("rear-zone", "rear", (0.0, 140.0, 20.0), "+z", "-y", make.row(1)),
        ),
        obstacles=[make.block("duct", (60.0, 20.0, 220.0), (140.0, 160.0, 250.0), kind="duct")],
    )
    return make.layout(room, PARTS, [])


@pytest.fixture(scope="module")
def fits() -> Fits:
    """The answer of a search over both zones."""
    layout = two_zones()
    wishes = wishes_from(PARTS, Wishes(slide_steps=1))
    *_, last = search(layout, wishes, [MEASURES[key] for key in WANTED], 20.0)
    assert last.found is not None
    teller = RowTeller(last.found.problem)
    rows = tuple(teller.told(n, row) for n, row in enumerate(last.found.answer.rows, start=1))
    return Fits(layout, wishes, 20.0, summary(last.found), rows)


def many(fits: Fits, count: int) -> Fits:
    """The same answer with so many rows, and names as long as they may be."""
    pattern = (
        "front wall of the upper tier: exchanger 1 fan long; rear wall behind the board: 2 fans"
    )
    rows = tuple(
        replace(
            fits.rows[k % len(fits.rows)],
            number=k + 1,
            pattern=f"{pattern} ({k // 7})",
            alike=123_456_789_012,
            figures={
                **fits.rows[k % len(fits.rows)].figures, "volume": 123_456.0, "leftover": -123.4
            },
        )
        for k in range(count)
    )  # fmt: skip
    return replace(fits, rows=rows)


@pytest.mark.parametrize("paper", ["A3", "A4"])
@pytest.mark.parametrize("count", [0, 3, 400])
def test_nothing_lies_on_anything_nor_leaves_the_frame(fits: Fits, paper: str, count: int) -> None:
    near = NearFound((near_miss(fits.rows[0]),), cutting=True, done=False, extent=LOOKED_AT)
    told = replace(many(fits, count), near=near)
    for sheet in compose_fits(told, paper=paper, date=DATE, names=NO_NAMES):
        assert overlapping_texts(sheet) == []
        assert outside_frame(sheet, paper) == []


def test_the_page_stands_by_itself(fits: Fits) -> None:
    words = words_of(compose_fits(fits, paper="A3", date=DATE, names=Names(owner="Field lab")))
    assert "What fits, as listed options" in words
    assert AS_LISTED in words
    assert f"{fits.answer.count}." in words
    assert "(exact count)" in words
    assert "2026-01-31" in words
    assert "Field lab" in words
    assert "clear only; margin 2 mm; judged as drawn" in words
    assert "as each stack lies" in words
    for part in PARTS:
        assert part.name in words
    for zone in fits.answer.zones:
        assert zone.name in words
        assert f"{zone.listed:,}" in words


def test_every_row_is_told_under_its_pattern_with_figures_and_units(fits: Fits) -> None:
    told = fit_rows(fits.rows)
    headings = [row[0].text for row in told if len(row) == 1]
    patterns = list(dict.fromkeys(row.pattern for row in fits.rows))
    assert [h.rsplit(" (", 1)[0] for h in headings] == patterns
    lines = [row for row in told if len(row) > 1]
    by_number = {row.number: row for row in fits.rows}
    assert sorted(int(line[0].text) for line in lines) == sorted(by_number)
    keys = list(MEASURES)
    for line in lines:
        row = by_number[int(line[0].text)]
        assert line[1 + keys.index("volume")] == f"{row.figures['volume']:,.0f}"
        assert line[1 + keys.index("fans")] == f"{row.figures['fans']:.0f}"
    words = words_of(compose_fits(fits, paper="A4", date=DATE, names=NO_NAMES))
    for unit in ("cm²", "cm³", "mm"):
        assert unit in words


def test_places_have_minus_signs_and_nought_has_none(fits: Fits) -> None:
    row = fits.rows[0]
    facts = {"exchanger": "Core 1-fan", "stands at": "-7.5, -0, 15 mm"}
    zones = (replace(row.zones[0], facts={"holds": "a core", **facts}),)
    (_, line) = fit_rows([replace(row, zones=zones, takes_out=())])
    told = line[-1].text.split("\n")[0].partition(": ")[2]
    assert told == "Core 1-fan; stands at −7.5, 0, 15 mm"


def test_exclusions_are_told_with_their_millimetres(fits: Fits) -> None:
    # Cores of 60 with a fan of 25 on both faces take 110 mm on either side: 220 of 200 mm.
    assert fits.answer.exclusions
    words = words_of(compose_fits(fits, paper="A3", date=DATE, names=NO_NAMES))
    for one in fits.answer.exclusions:
        assert f"{one.short_mm:.1f}" in words
        assert one.patterns[0] in words


def test_a_long_answer_goes_over_several_sheets_and_says_what_it_leaves_out(fits: Fits) -> None:
    long = many(fits, MOST_ROWS + 30)
    sheets = compose_fits(long, paper="A4", date=DATE, names=NO_NAMES)
    assert len(sheets) > 3
    words = words_of(sheets)
    assert "Best trade-offs by pattern (continued)" in words
    assert "30 further rows are not listed here; export them as CSV." in words
    for number, _ in enumerate(sheets, start=1):
        assert f"{number} of {len(sheets)}" in words


@pytest.mark.parametrize(("paper", "most"), [("A4", 5), ("A3", 3)])
def test_rows_are_low_on_narrow_paper_too(fits: Fits, paper: str, most: int) -> None:
    # 24 rows of three filled zones under four patterns; a row takes 28 mm of 214 on A4 at most.
    zone = replace(fits.rows[0].zones[0], facts={"holds": "a core", **LONG_FACTS})
    rows = tuple(replace(row, zones=(zone,) * 3) for row in many(fits, 24).rows)
    sheets = compose_fits(replace(fits, rows=rows), paper=paper, date=DATE, names=NO_NAMES)
    told = [sheet for sheet in sheets if "Best trade-offs by pattern" in words_of([sheet])]
    assert len(told) <= most


def test_near_misses_say_how_far_was_looked_also_where_none_is_found(fits: Fits) -> None:
    for found, end in (((near_miss(fits.rows[0]),), ""), ((), "None found so far.")):
        near = NearFound(found, cutting=False, done=False, extent=LOOKED_AT)
        told = replace(fits, near=near)
        words = words_of(compose_fits(told, paper="A4", date=DATE, names=NO_NAMES))
        assert "Near misses (without cutting)" in words
        assert f"C{LOOKED_AT[1:]}." in words
        assert end in words
    empty = replace(fits, near=NearFound((), cutting=False, done=True))
    words = words_of(compose_fits(empty, paper="A4", date=DATE, names=NO_NAMES))
    assert "None found." in words


def test_it_follows_the_clearance_sheet_and_the_sheets_are_counted_together(fits: Fits) -> None:
    checked = check_layout(fits.layout)
    alone = compose_sheets(checked, date=DATE)
    both = compose_sheets(checked, date=DATE, fits=fits)
    assert len(both) > len(alone)
    assert "What fits, as listed options" not in words_of(both[: len(alone)])
    assert "What fits, as listed options" in words_of(both[len(alone) :])
    for number, sheet in enumerate(both, start=1):
        assert f"{number} of {len(both)}" in words_of([sheet])
    assert "Changed since" not in words_of(both)


def test_a_layout_that_was_changed_since_the_search_is_told(fits: Fits) -> None:
    checked = check_layout(set_name(fits.layout, "Another name"))
    assert "Changed since" in words_of(compose_sheets(checked, date=DATE, fits=fits))


def test_a_cut_enclosure_is_noted_on_both_kinds_of_sheet(fits: Fits) -> None:
    cut = trim_obstacle(fits.layout, "duct", "-x", 4.0)
    sheets = compose_sheets(check_layout(cut), date=DATE, fits=replace(fits, layout=cut))
    pages = [words_of([sheet]) for sheet in sheets]
    noted = [p for p in pages if "Modified enclosure" in p]
    assert len(noted) == 2
    for page in noted:
        assert all(line in page for line in cut_lines(cut.enclosure))
        assert "cutting is irreversible" in page
    assert words_of(sheets).count(f"{CUT_CAUTION_OF.topic}. Cutting is irreversible") == 2
    plain = compose_sheets(check_layout(fits.layout), date=DATE, fits=fits)
    assert "Modified enclosure" not in words_of(plain)
    assert CUT_CAUTION_OF.topic not in words_of(plain)


def test_who_gets_the_sheets_of_a_search_alone_is_warned_as_by_the_clearance_sheet(
    fits: Fits,
) -> None:
    for paper in ("A4", "A3"):
        first = words_of([compose_fits(fits, paper=paper, date=DATE, names=Names())[0]])
        for caution in CAUTIONS:
            assert f"{caution.topic}." in first


def near_miss(row: RowSummary) -> NearSummary:
    """A near miss that a margin lets in, or a cut."""
    changes = (
        LetIn("Ask for a margin of 1.4 mm instead of 2.0 mm", False, row.layout),
        LetIn("Trim duct: 4.0 mm off its -x end", True, row.layout),
    )
    return NearSummary(
        "row 1 with Exchanger 3 x 120 on front wall", "front-zone", "+144 cm2 face area",
        {"area": 144.0}, ("Exchanger stands 1.4 mm from duct",), 0.6, changes, row.layout,
    )  # fmt: skip


def test_near_misses_are_told_and_cuts_are_marked_with_their_caution(fits: Fits) -> None:
    near = NearFound((near_miss(fits.rows[0]),), cutting=True, done=True)
    words = words_of(compose_fits(replace(fits, near=near), paper="A3", date=DATE, names=NO_NAMES))
    assert "Near misses (cuts included)" in words
    assert "+144 cm² face area" in words
    assert "CUTS THE ENCLOSURE: Trim duct: 4.0 mm off its -x end" in words
    assert CUT_CAUTION_OF.topic in words
    assert "Near misses" not in words_of(compose_fits(fits, paper="A3", date=DATE, names=NO_NAMES))


def test_what_is_taken_out_and_an_answer_that_was_cut_short_are_told(fits: Fits) -> None:
    gone = ("2 x Fan 120 x 25", "Pump")
    rows = (replace(fits.rows[0], takes_out=gone), *fits.rows[1:])
    near = NearFound((replace(near_miss(fits.rows[0]), takes_out=gone),), cutting=False, done=True)
    answer = replace(fits.answer, excluded_share=0.25)
    told = replace(fits, rows=rows, near=near, answer=answer)
    words = words_of(compose_fits(told, paper="A3", date=DATE, names=NO_NAMES))
    assert words.count("Takes out: 2 x Fan 120 x 25 + Pump") == 2
    assert "What excludes what (cut short: 25% looked at)" in words
    whole = words_of(compose_fits(fits, paper="A3", date=DATE, names=NO_NAMES))
    assert "Takes out" not in whole
    assert "looked at" not in whole


@pytest.mark.parametrize("leads", [True, False])
def test_a_row_that_leads_stays_with_the_row_below_it(leads: bool) -> None:
    head, row = Piece(5.0, ()), Piece(10.0, ())
    lead = Piece(4.0, (Text((0.0, 0.0), "lead", 2.5),), leads=leads)
    block = Block("b", head, head, (row, lead, row), least_rows=1)
    # 5 + 10 + 4 are 19 of 20 mm; the row below the lead needs 10 more.
    laid = flow([block], iter([Column(k, (0.0, 0.0, 50.0, 20.0)) for k in (0, 1)]))
    assert [bool(one.primitives) for one in laid] == ([False, True] if leads else [True, False])


def test_what_is_left_in_place_and_tight_at_worst_is_told_with_what_takes_it(fits: Fits) -> None:
    left = LeftInPlace(5.0, 2.2, 3.43, "roof", "duct", None, ("duct, place along x 202 ± 0.5",))
    beside = replace(left, beside_mm=0.5, bringing=("bar, size along y 20 ± 0.2",))
    tight = TightAtWorst("Fan stands 2.1 mm from duct", 0.3, ("Fan, thickness 25 ± 0.2", "other"))
    drawn = TightAtWorst("Fan stands 0.5 mm from bar", 1.7, ("bar", "other"), as_drawn=True)
    rows = (
        replace(fits.rows[0], in_place=left, tight=(tight,)),
        replace(fits.rows[0], number=2, in_place=beside, tight=(drawn,), short_before=2),
        replace(fits.rows[0], number=3, in_place=LeftInPlace(), tight=None),
        replace(fits.rows[0], number=4, in_place=LeftInPlace(), tight=()),
    )
    told = [row for row in fit_rows(rows) if len(row) > 1]
    assert [row[-5:-2] for row in told] == [
        *[("5.0", "2.2", "3.4")] * 2, *[("open",) * 3] * 2,
    ]  # fmt: skip
    assert [row[-2] for row in told] == ["1", "1", "not judged", "clear"]
    first, second, third, fourth = (row[-1].text for row in told)
    assert "Least left at worst: roof, to duct; most is taken by duct, place along x" in first
    assert (
        "Tight at worst: Fan stands 2.1 mm from duct; most is taken by Fan, thickness 25 ± 0.2"
        in first
    )
    assert "other" not in first, "one dimension is named"
    assert "beside the way as drawn, brought in most by bar, size along y 20 ± 0.2" in second
    assert second.endswith(
        "Tight as drawn already: Fan stands 0.5 mm from bar; at worst most is taken by bar\n"
        "Not counted: 2 gaps that fell short before the search"
    )
    assert "at worst" not in third
    assert "counted" not in fourth


def test_what_tight_is_judged_by_is_said_as_the_count_says_it(fits: Fits) -> None:
    settings = fits.layout.settings.but(judge="worst case")
    allowed = replace(fits.wishes, tight_allowed=True, judge=None)
    told = replace(fits, layout=fits.layout.but(settings=settings), wishes=allowed)
    words = words_of(compose_fits(told, paper="A3", date=DATE, names=NO_NAMES))
    assert "judged as drawn; what is tight at worst is told with each row" in words
    assert "judged by worst case" not in words


@pytest.mark.parametrize("paper", ["A3", "A4"])
def test_cautions_stand_on_the_first_sheet_of_a_search(fits: Fits, paper: str) -> None:
    near = NearFound((near_miss(fits.rows[0]),), cutting=True, done=True)
    first, *further = compose_fits(
        replace(many(fits, 40), near=near), paper=paper, date=DATE, names=NO_NAMES
    )
    assert further
    words = words_of([first])
    assert "Cautions" in words
    assert "Geometry only." in words
    assert f"{CUT_CAUTION_OF.topic}." in words


@pytest.mark.parametrize("letters", [48, 57, 66, 75, 108])
def test_the_name_of_a_zone_stands_in_one_line(fits: Fits, letters: int) -> None:
    names = ("front wall", "side, beside the tray")
    named = tuple(
        replace(zone, name=name) for zone, name in zip(fits.answer.zones, names, strict=True)
    )
    option = ("Exchanger 2 x 120, 45 mm with fans on both faces; " * 3)[:letters]
    largest = tuple(replace(one, option=option) for one in fits.answer.largest)
    told = replace(fits, answer=replace(fits.answer, zones=named, largest=largest))
    (block,) = (one for one in fits_blocks(told, None, 178.0) if one.key == "fits-zones")
    for name, row in zip(names, block.rows, strict=True):
        assert name in [one.text for one in row.primitives if isinstance(one, Text)]


def test_why_a_near_miss_is_refused_stands_low_on_narrow_paper(fits: Fits) -> None:
    refused = (
        "Exchanger 1 x 92, 20 mm stands 2.0 mm from access-side wall; in the worst case 0.7 mm is "
        "left; most is taken by Exchanger 1 x 92, 20 mm, play of its screws along y 0 ± 0.5 (37%)",
        "Port end of Exchanger 1 x 92, 20 mm stands 0.9 mm from board, 1.1 mm missing to the 2.0 "
        "mm margin as drawn",
    )
    gone = (
        "Gasket 2 x 120, 3 mm (1.5 compressed)", "2 x Exchanger 2 x 120, 30 mm",
        "6 x Compression fitting for tube 10/13", "Pump, compact body on a 120 plate",
    )  # fmt: skip
    miss = replace(near_miss(fits.rows[0]), refused_for=refused, takes_out=gone)
    told = replace(fits, near=NearFound((miss,), cutting=True, done=True))
    (block,) = (one for one in fits_blocks(told, None, 178.0) if one.key == "fits-near")
    (row,) = block.rows
    words = [one.text for one in row.primitives if isinstance(one, Text)]
    assert "Takes out: Gasket" in " ".join(words)
    assert row.height_mm <= 26.0, "with what is taken out in the first column it took 29.4 mm"
