"""The title block against ISO 7200:2004 (5.1 to 5.3) and its place by ISO 5457:1999, 4.1."""

from __future__ import annotations

import datetime
from itertools import pairwise

from app.drawing.primitives import Path, Text
from app.sheet.compose import Names, compose_sheets, title_block
from app.sheet.paper import A3, A4
from app.sheet.scaled import extent, text_box
from app.sheet.title_block import COMPARTMENTS, FIELDS, TitleBlock, title_block_group
from catalog.store import load_library
from geometry.checks.runner import Checked

EMPTY = TitleBlock(title="", number="", date="", sheet="", sheets="", language="", document_type="")

# ISO 7200:2004: name of the field and the most characters it takes (5.1.3 to 5.3.11).
LIMITS = {
    "Identification number": 16,
    "Rev.": 2,
    "Date of issue": 10,
    "Sheet": 4,
    "of": 4,
    "Lang.": 4,
    "Title": 25,
    "Supplementary title": 25,
    "Resp. dept.": 10,
    "Technical reference": 20,
    "Approved by": 20,
    "Created by": 20,
    "Document type": 30,
    "Document status": 20,
    "Size": 4,
}
MANDATORY = {
    "Legal owner", "Identification number", "Date of issue", "Sheet", "Title", "Approved by",
    "Created by", "Document type",
}  # fmt: skip


def test_fields_and_limits_are_those_of_the_standard() -> None:
    assert {f.label: f.most_characters for f in FIELDS if f.most_characters} == LIMITS
    assert {f.label for f in FIELDS} >= MANDATORY


def test_every_field_is_shown_with_a_dash_when_empty() -> None:
    texts = [one for one in title_block_group(EMPTY, A3).primitives if isinstance(one, Text)]
    shown = {one.text for one in texts}
    assert shown >= MANDATORY
    assert [one.text for one in texts].count("\N{EM DASH}") == len(COMPARTMENTS) - 1
    assert "\N{EM DASH} of \N{EM DASH}" in shown


def test_block_is_180_wide_in_the_bottom_right_corner_and_full_at_the_foot_of_a4() -> None:
    for paper, left in ((A3, 230.0), (A4, 20.0)):
        group = title_block_group(EMPTY, paper)
        boxes = [extent(one) for one in group.primitives if isinstance(one, Path)]
        assert min(b[0] for b in boxes) == left
        assert max(b[2] for b in boxes) == paper.frame[2]
        assert max(b[3] for b in boxes) == 287.0
        assert max(b[2] for b in boxes) - min(b[0] for b in boxes) == 180.0


def test_compartments_tile_the_block_without_a_gap() -> None:
    covered = [
        (c.row + k, c.left_mm, c.left_mm + c.width_mm) for c in COMPARTMENTS for k in range(c.rows)
    ]
    for row in range(4):
        spans = sorted((left, right) for at, left, right in covered if at == row)
        assert spans[0][0] == 0.0
        assert spans[-1][1] == 180.0
        assert all(a[1] == b[0] for a, b in pairwise(spans))


def test_a_long_title_is_cut_with_an_ellipsis_and_a_warning() -> None:
    block = TitleBlock(
        title="Analysis machine 7 with two loops",
        number="n",
        date="2026-01-31",
        sheet="1",
        sheets="1",
    )
    # 24 characters and the ellipsis make the 25 of ISO 7200, 5.2.2.
    assert block.shown("title") == "Analysis machine 7 with\N{HORIZONTAL ELLIPSIS}"
    assert len(block.shown("title")) <= 25
    assert block.warnings() == (
        "title block: Title has 33 characters and was cut to 25 (ISO 7200)",
    )
    assert block.shown("number") == "n"


def test_text_stays_in_its_compartment() -> None:
    wide = "W" * 60
    block = TitleBlock(
        title=wide, number=wide, date=wide, sheet="1", sheets="9", owner=wide, revision="WW",
        supplement=wide, department=wide, reference=wide, approver=wide, creator=wide,
        document_type=wide, status=wide, paper="A3",
    )  # fmt: skip
    group = title_block_group(block, A3)
    cells = [extent(one) for one in group.primitives[:-1] if isinstance(one, Path)]
    for text in (one for one in group.primitives if isinstance(one, Text)):
        b = text_box(text)
        assert any(
            c[0] <= b[0] and c[1] <= b[1] and b[2] <= c[2] and b[3] <= c[3] for c in cells
        ), text


def test_sheet_carries_date_revision_names_and_fingerprint(
    small_checked: Checked, date: datetime.date
) -> None:
    names = Names(owner="Field-acoustics lab", creator="first reader")
    block = title_block(small_checked, paper="A3", date=date, names=names)
    sheets = compose_sheets(small_checked, paper="A3", date=date, names=names)
    for number, sheet in enumerate(sheets, start=1):
        group = next(g for g in sheet.groups if g.key == "sheet:title-block")
        shown = {one.text for one in group.primitives if isinstance(one, Text)}
        wanted = {"2026-01-31", "A", "Field-acoustics lab", "first reader", block.number}
        assert wanted | {f"{number} of {len(sheets)}", "Analysis machine 2"} <= shown


def test_the_names_of_shipped_enclosures_need_no_cutting() -> None:
    for enclosure in load_library().enclosures.values():
        block = TitleBlock(
            title=enclosure.name, supplement=enclosure.name, number="1", date="2026-01-31",
            sheet="1", sheets="1",
        )  # fmt: skip
        assert block.warnings() == (), enclosure.name
