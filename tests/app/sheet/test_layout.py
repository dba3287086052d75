"""Whole sheets: nothing clipped, nothing overlapping, and all that a builder needs on them."""

from __future__ import annotations

import datetime
from collections import Counter
from dataclasses import replace
from itertools import combinations

import pytest
from font_glyphs import missing_glyphs
from sheet_looks import meet, outside_frame, overlapping_texts, texts_of, within, words_of

from app.drawing.primitives import Circle, Drawing, Group, Text
from app.drawing.verdict_words import numbered
from app.sheet.cautions import CAUTIONS
from app.sheet.compose import compose_sheets
from app.sheet.paper import PAPERS, frame_groups
from app.sheet.scale import ScaleError
from app.sheet.scaled import extent, text_box
from catalog.enclosure import Enclosure
from catalog.shapes import Box
from catalog.store import Library, load_library
from geometry.checks.runner import Checked, check_layout
from geometry.edits import fill_fans, insert_item
from geometry.finding import Verdict
from geometry.layout import Layout
from geometry.layout_file import fingerprint


@pytest.fixture(params=["A3", "A4"])
def paper(request: pytest.FixtureRequest) -> str:
    """Either paper."""
    return str(request.param)


@pytest.fixture(scope="module")
def composed() -> dict[tuple[int, str], tuple[Drawing, ...]]:
    """Sheets that were composed already: the same for all that only look at them."""
    return {}


@pytest.fixture
def sheets(
    any_checked: Checked,
    paper: str,
    date: datetime.date,
    composed: dict[tuple[int, str], tuple[Drawing, ...]],
) -> tuple[Drawing, ...]:
    """The sheets of either layout on either paper."""
    key = (id(any_checked), paper)
    if key not in composed:
        composed[key] = compose_sheets(any_checked, paper=paper, date=date)
    return composed[key]


def test_the_overlap_check_finds_what_it_should() -> None:
    texts = (Text((10.0, 10.0), "one", 2.5), Text((12.0, 11.0), "two", 2.5))
    sheet = Drawing((0.0, 0.0, 50.0, 50.0), (Group("made", texts),))
    assert overlapping_texts(sheet) == [("one", "two")]


def test_no_text_lies_on_another(sheets: tuple[Drawing, ...]) -> None:
    for sheet in sheets:
        assert overlapping_texts(sheet) == []


def test_all_stands_within_the_frame(sheets: tuple[Drawing, ...], paper: str) -> None:
    assert [one for sheet in sheets for one in outside_frame(sheet, paper)] == []


def test_nothing_but_the_frame_passes_a_centring_mark(
    sheets: tuple[Drawing, ...], paper: str
) -> None:
    frame = next(g for g in frame_groups(PAPERS[paper]) if g.key == "sheet:frame")
    marks = []
    for one in frame.primitives[1:]:
        x0, y0, x1, y1 = extent(one)
        marks.append((x0 - 0.35, y0 - 0.35, x1 + 0.35, y1 + 0.35))
    for sheet in sheets:
        for text in texts_of(sheet):
            assert not any(meet(text_box(text), mark) for mark in marks), text


def test_balloons_do_not_meet_each_other_nor_foreign_text(sheets: tuple[Drawing, ...]) -> None:
    rings = [
        (group.key, one)
        for group in sheets[0].groups
        if group.key.startswith("finding:")
        for one in group.primitives
        if isinstance(one, Circle)
    ]
    for (_, a), (_, b) in combinations(rings, 2):
        dx, dy = a.centre[0] - b.centre[0], a.centre[1] - b.centre[1]
        assert dx * dx + dy * dy >= (a.radius_mm + b.radius_mm) ** 2
    for key, ring in rings:
        for group in sheets[0].groups:
            if group.key == key:
                continue
            for text in (one for one in group.primitives if isinstance(one, Text)):
                assert not meet(extent(ring), text_box(text)), (key, text)


def test_every_finding_has_one_balloon_and_one_row(
    sheets: tuple[Drawing, ...], any_checked: Checked
) -> None:
    wanted = Counter(str(n) for n, _ in numbered(any_checked.report))
    balloons = Counter(
        one.text
        for group in sheets[0].groups
        if group.key.startswith("finding:")
        for one in group.primitives
        if isinstance(one, Text)
    )
    rings = [
        group.primitives[k + 1]
        for sheet in sheets
        for group in sheet.groups
        if group.key == "sheet:findings"
        for k, one in enumerate(group.primitives[:-1])
        if isinstance(one, Circle)
    ]
    assert balloons == wanted
    assert Counter(one.text for one in rings if isinstance(one, Text)) == wanted


def test_a_row_names_the_field_in_which_its_balloon_stands(
    small_checked: Checked, date: datetime.date
) -> None:
    sheets = compose_sheets(small_checked, paper="A3", date=date)
    balloon = next(group for group in sheets[0].groups if group.key == "finding:1")
    ring = next(one for one in balloon.primitives if isinstance(one, Circle))
    assert f"field {PAPERS['A3'].field_at(ring.centre)}" in words_of(sheets).split("\n")


def test_sheets_are_counted_and_headings_repeated(
    large_checked: Checked, date: datetime.date
) -> None:
    sheets = compose_sheets(large_checked, paper="A3", date=date)
    assert len(sheets) > 2
    for number, sheet in enumerate(sheets, start=1):
        shown = [text.text for text in texts_of(sheet)]
        assert f"{number} of {len(sheets)}" in shown
        if "Findings (mm) (continued)" in shown:
            assert "Advice" in shown
            assert "Gap" in shown
    assert "Findings (mm) (continued)" in words_of(sheets)


def test_stacks_parts_and_what_was_not_run_are_all_listed(
    large_checked: Checked, date: datetime.date
) -> None:
    shown = words_of(compose_sheets(large_checked, paper="A4", date=date)).split("\n")
    layout = large_checked.scene.layout
    for stack in layout.stacks:
        assert f"{stack.id}, inner" in shown
    # Beside the views, stacks of one wall share a dimension: fan 25, exchanger 30, fitting 24.
    for names in ("S1, S2, S3", "S4, S5, S6", "S7, S8, S9", "S10, S11, S12"):
        assert f"{names}: 79" in shown
    assert {"Fan 120 × 25", "Exchanger 1 × 120, 30 slim"} <= set(shown)
    assert shown.count("screw length") == 6
    assert "25 blocked, 15 tight, 24 parts clear; 6 checks not run" in shown
    assert {"13", "12", "24"} <= set(shown)


def test_small_sheet_gives_figures_as_worked_by_hand(
    small_checked: Checked, date: datetime.date
) -> None:
    # Fan 25 + exchanger 30 = 55 on the floor, its fittings of 24 end at 79. The port end ends at
    # 120 + 240 + 25 = 385, the peg begins at 378: 7 sideways. So no depth is told as missing,
    # though the peg's foot is at z = 40, 39 under the fittings.
    shown = words_of(compose_sheets(small_checked, paper="A3", date=date)).split("\n")
    assert {"79.0", "S1: 79", "−7.0"} <= set(shown)
    assert not {"40.0", "−39.0", "S1: 39 missing"} & set(shown)
    assert "overlaps Peg by 7.0 mm sideways" in " ".join(shown)
    assert "25 mm: 2 × Fan 120 × 25" in shown
    assert "24 mm stands out" in " ".join(shown)
    assert {"430", "434", "400", "404", "200", "204"} <= set(shown)
    assert {"core length; port tank: length, thickness", "cavity 1: size y", "hub"} <= set(shown)


def test_sheet_says_how_it_was_made(any_checked: Checked, date: datetime.date, paper: str) -> None:
    shown = words_of(compose_sheets(any_checked, paper=paper, date=date))
    for words in (
        fingerprint(any_checked.scene.layout),
        "ISO 2768-m",
        "Margin used",
        "third-angle projection",
        "As-built differences (mm)",
        "As built by",
        "Signature",
        "100 mm on paper",
    ):
        assert words in shown


def test_cautions_use_the_signal_words_and_never_danger(
    any_checked: Checked, date: datetime.date, paper: str
) -> None:
    shown = words_of(compose_sheets(any_checked, paper=paper, date=date))
    assert "DANGER" not in shown.upper()
    words = [one.word for one in CAUTIONS]
    assert words == ["WARNING", "WARNING", "CAUTION", "CAUTION", "CAUTION", "NOTICE"]
    for one in CAUTIONS:
        assert one.topic in shown
    # ANSI Z535.4, 4.14: liquid near mains is no less than a warning, geometry only a notice.
    word_of = {one.topic: one.word for one in CAUTIONS}
    assert word_of["Liquid near live parts"] == "WARNING"
    assert word_of["Geometry only"] == "NOTICE"


def test_cautions_on_a_further_sheet_are_pointed_to(sheets: tuple[Drawing, ...]) -> None:
    (on,) = (k for k, one in enumerate(sheets, start=1) if "Cautions\n" in f"{words_of([one])}\n"
             and "Liquid near live parts" in words_of([one]))  # fmt: skip
    pointed = "read first" in words_of(sheets)
    assert pointed == (on > 1)
    if pointed:
        assert f"on sheet {on}: read first" in words_of(sheets)


@pytest.mark.usefixtures("qapp")
def test_every_character_is_in_the_font(sheets: tuple[Drawing, ...]) -> None:
    used = dict.fromkeys((False, True), "")
    for text in (text for sheet in sheets for text in texts_of(sheet)):
        used[text.bold] += text.text
    assert all(used.values())
    assert [missing_glyphs(chars, bold=bold) for bold, chars in used.items()] == ["", ""]


def test_a_very_long_advice_goes_on_over_sheets(
    small_checked: Checked, date: datetime.date
) -> None:
    report = small_checked.report
    wordy = replace(report.findings[0], advice="Gauge again. " * 600, remedies=())
    checked = replace(small_checked, report=replace(report, findings=(wordy,)))
    sheets = compose_sheets(checked, paper="A4", date=date)
    assert words_of(sheets).replace("\n", " ").count("Gauge") == 600
    for sheet in sheets:
        assert overlapping_texts(sheet) == []
        for text in texts_of(sheet):
            assert text_box(text)[3] <= 297.0


def test_hundreds_of_findings_still_make_a_sheet(
    large_checked: Checked, date: datetime.date
) -> None:
    report = large_checked.report
    many = tuple(
        replace(
            report.findings[k % 40],
            place=(30.0 + 7.7 * k % 540.0, 20.0 + 3.1 * k % 180.0, 40.0 + 11.3 * k % 560.0),
            advice="Move it.",
        )
        for k in range(300)
    )
    checked = replace(large_checked, report=replace(report, findings=many))
    sheets = compose_sheets(checked, paper="A4", date=date)
    assert overlapping_texts(sheets[0]) == []
    balloons = sum(group.key.startswith("finding:") for group in sheets[0].groups)
    assert 20 <= balloons <= 60
    told = words_of(sheets).replace("\n", " ")
    assert f"balloons of the first {balloons} findings only" in told
    assert told.count("Move it.") == 300


def test_a_layout_without_findings_says_so(small_checked: Checked, date: datetime.date) -> None:
    report = replace(small_checked.report, findings=(), not_run=())
    sheets = compose_sheets(replace(small_checked, report=report), paper="A3", date=date)
    groups = [g for sheet in sheets for g in sheet.groups if g.key == "sheet:findings"]
    shown = [one.text for g in groups for one in g.primitives if isinstance(one, Text)]
    assert shown == ["Findings (mm)", "None."]
    assert not any(g.key.startswith("finding:") for g in sheets[0].groups)


def test_first_angle_puts_the_bottom_view_above_and_turns_the_symbol(
    small_checked: Checked, date: datetime.date
) -> None:
    layout = small_checked.scene.layout
    turned = layout.but(settings=layout.settings.but(projection="first-angle"))
    scene = replace(small_checked.scene, layout=turned)
    first = compose_sheets(replace(small_checked, scene=scene), paper="A3", date=date)[0]
    third = compose_sheets(small_checked, paper="A3", date=date)[0]

    def below(sheet: Drawing) -> bool:
        tops = {
            name: extent(next(g for g in sheet.groups if g.key == f"title:{name}").primitives[0])[1]
            for name in ("side", "bottom")
        }
        return tops["bottom"] > tops["side"]

    # ISO 5456-2:1996, 5.1 and 5.2: the view from below stands above in first, below in third angle.
    assert below(third)
    assert not below(first)
    assert _circles_beside_small_end(third)
    assert not _circles_beside_small_end(first)


def _circles_beside_small_end(sheet: Drawing) -> bool:
    """ISO 5456-2: circles beside the frustum's small end mean third angle."""
    symbol = next(g for g in sheet.groups if g.key == "sheet:projection").primitives
    frustum = next(one for one in symbol if getattr(one, "closed", False))
    x_circles = next(one.centre[0] for one in symbol if isinstance(one, Circle))
    heights = Counter[float]()
    for x in {point[0] for point in frustum.points}:
        ys = [point[1] for point in frustum.points if point[0] == x]
        heights[x] = max(ys) - min(ys)
    small = min(heights, key=lambda x: heights[x])
    large = max(heights, key=lambda x: heights[x])
    return abs(x_circles - small) < abs(x_circles - large)


def test_balloons_tell_blocked_from_tight_by_their_line(
    large_checked: Checked, date: datetime.date
) -> None:
    sheet = compose_sheets(large_checked, paper="A3", date=date)[0]
    strokes = {}
    for number, finding in numbered(large_checked.report):
        group = next(g for g in sheet.groups if g.key == f"finding:{number}")
        ring = next(one for one in group.primitives if isinstance(one, Circle))
        assert ring.stroke is not None
        strokes.setdefault(finding.verdict, set()).add(
            (ring.stroke.width_mm, ring.stroke.line_type)
        )
    assert len(strokes[Verdict.BLOCKED]) == len(strokes[Verdict.TIGHT]) == 1
    assert strokes[Verdict.BLOCKED].isdisjoint(strokes[Verdict.TIGHT])


def _filled(enclosure: Enclosure, library: Library) -> Layout:
    """An exchanger with a pushing fan a cell on every zone that a shipped one is made for."""
    layout = Layout(name="W" * 80, enclosure=enclosure)
    for zone in enclosure.zones:
        frame = int(max(mount.frame_mm for mount in zone.cells[0].accepts))
        exchanger = f"exchanger-{len(zone.cells)}x{frame}-30"
        fan = f"fan-{frame}-25"
        if {exchanger, fan} <= library.parts.keys():
            first = zone.cells[0].id
            core = library.part(exchanger)
            layout, _ = insert_item(layout, zone.id, "inner", 0, core, first)
            stack = next(stack.id for stack in layout.stacks if stack.zone == zone.id)
            layout = fill_fans(layout, stack, "inner", "push", library.part(fan))
    return layout


@pytest.mark.parametrize(
    "enclosure", ["bench-box", "tall-tower", "rack-chassis-4u", "small-cube", "wall-cabinet"]
)
@pytest.mark.parametrize("projection", ["third-angle", "first-angle"])
def test_every_shipped_enclosure_makes_a_clean_sheet(
    enclosure: str, projection: str, paper: str, date: datetime.date
) -> None:
    library = load_library()
    layout = _filled(library.enclosure(enclosure), library)
    layout = layout.but(settings=layout.settings.but(projection=projection))
    assert layout.stacks
    sheets = compose_sheets(check_layout(layout, remedies=False), paper=paper, date=date)
    frame = PAPERS[paper].frame
    for sheet in sheets:
        assert overlapping_texts(sheet) == []
        for text in texts_of(sheet):
            assert within(text_box(text), (0.0, 0.0, *sheet.bounds[2:]))
    for group in sheets[0].groups:
        if group.key not in ("sheet:grid", "sheet:frame"):
            assert all(within(extent(one), frame) for one in group.primitives), group.key


def test_an_empty_enclosure_of_ten_metres_is_drawn(date: datetime.date) -> None:
    shell = Box(at_mm=(0.0, 0.0, 0.0), size_mm=(10_000.0, 10_000.0, 10_000.0))
    enclosure = Enclosure(id="hall", name="Hall", cavity=(shell,), outer=(shell,))
    checked = check_layout(Layout(name="Nothing in it", enclosure=enclosure))
    sheets = compose_sheets(checked, paper="A4", date=date)
    # 10 m are 100 mm at 1:100; two views of that with what stands round them pass 205 mm.
    assert "1:200" in words_of(sheets).split("\n")
    assert words_of(sheets).split("\n").count("10000") == 3


def test_views_too_large_for_any_wanted_scale_are_refused_by_name(date: datetime.date) -> None:
    shell = Box(at_mm=(0.0, 0.0, 0.0), size_mm=(900.0, 300.0, 900.0))
    enclosure = Enclosure(id="big", name="Big", cavity=(shell,), outer=(shell,))
    checked = check_layout(Layout(name="Nothing in it", enclosure=enclosure))
    # 900 over 300 are 240 mm at 1:5, of 205 that A4 has; at 1:7.5 they are 160.
    with pytest.raises(ScaleError, match=r"do not fit on A4 at 1:1; the largest .* is 1:7.5"):
        compose_sheets(checked, paper="A4", scale="1:1", date=date)
