"""The title block of ISO 7200:2004: its data fields, their limits and where they stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from app.drawing.primitives import Group, Ink, Path, Primitive, Stroke, Text
from app.sheet.lettering import stepped
from app.sheet.paper import Paper
from geometry.edits import CUT_MARK

WIDTH_MM = 180.0
ROW_MM = 10.0
HEIGHT_MM = 4 * ROW_MM
EMPTY = "\N{EM DASH}"
ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"
_LABEL_MM = 1.8
_PAD_MM = 1.2


@dataclass(frozen=True)
class Field:
    """One data field: its label, and the most characters it takes."""

    name: str
    label: str
    most_characters: int | None


FIELDS = (
    Field("owner", "Legal owner", None),
    Field("number", "Identification number", 16),
    Field("revision", "Rev.", 2),
    Field("date", "Date of issue", 10),
    Field("sheet", "Sheet", 4),
    Field("sheets", "of", 4),
    Field("language", "Lang.", 4),
    Field("title", "Title", 25),
    Field("supplement", "Supplementary title", 25),
    Field("department", "Resp. dept.", 10),
    Field("reference", "Technical reference", 20),
    Field("approver", "Approved by", 20),
    Field("creator", "Created by", 20),
    Field("document_type", "Document type", 30),
    Field("status", "Document status", 20),
    Field("paper", "Size", 4),
)
"""Fields and limits as ISO 7200:2004 lists them (5.1.2 to 5.3.11)."""

FIELD = {field.name: field for field in FIELDS}


@dataclass(frozen=True)
class TitleBlock:
    """What stands in the title block; an empty field shows a dash, never a gap."""

    title: str
    number: str
    date: str
    sheet: str
    sheets: str
    owner: str = ""
    revision: str = ""
    language: str = "en"
    supplement: str = ""
    department: str = ""
    reference: str = ""
    approver: str = ""
    creator: str = ""
    document_type: str = "Clearance sheet"
    status: str = ""
    paper: str = ""

    def shown(self, name: str) -> str:
        """Return a field as it is printed: a dash when empty, cut with an ellipsis at its limit.

        That an enclosure has been cut, said at the end of its name, is told in any case.
        """
        value = " ".join(str(getattr(self, name)).split())
        most = FIELD[name].most_characters
        if most is not None and len(value) > most:
            mark = CUT_MARK if value.endswith(CUT_MARK) else ""
            return value[: most - 1 - len(mark)].rstrip() + ELLIPSIS + mark
        return value or EMPTY

    def warnings(self) -> tuple[str, ...]:
        """Say which fields were cut at the limits of ISO 7200."""
        cut = [
            (field, len(" ".join(str(getattr(self, field.name)).split())))
            for field in FIELDS
            if field.most_characters is not None
        ]
        return tuple(
            f"title block: {field.label} has {length} characters and was cut to "
            f"{field.most_characters} (ISO 7200)"
            for field, length in cut
            if field.most_characters is not None and length > field.most_characters
        )


@dataclass(frozen=True)
class Compartment:
    """Where a field stands: left edge and width, row, number of rows, lettering height (mm)."""

    name: str
    left_mm: float
    width_mm: float
    row: int
    rows: int = 1
    height_mm: float = 2.5


COMPARTMENTS = (
    Compartment("department", 0, 27, 0),
    Compartment("reference", 27, 51, 0),
    Compartment("creator", 78, 51, 0),
    Compartment("approver", 129, 51, 0),
    Compartment("owner", 0, 48, 1, rows=2),
    Compartment("document_type", 48, 81, 1),
    Compartment("status", 129, 51, 1),
    Compartment("title", 48, 81, 2, height_mm=3.5),
    Compartment("number", 129, 51, 2, height_mm=3.5),
    Compartment("language", 0, 15, 3),
    Compartment("paper", 15, 15, 3),
    Compartment("supplement", 30, 69, 3),
    Compartment("revision", 99, 15, 3, height_mm=3.5),
    Compartment("date", 114, 36, 3),
    Compartment("sheet", 150, 30, 3),
)


def title_block_group(block: TitleBlock, paper: Paper) -> Group:
    """Return the title block in the bottom right corner of the frame (ISO 5457:1999, 4.1)."""
    _, _, right, bottom = paper.frame
    return Group("sheet:title-block", tuple(_drawn(block, right - WIDTH_MM, bottom - HEIGHT_MM)))


def _drawn(block: TitleBlock, left: float, top: float) -> Iterator[Primitive]:
    thin = Stroke(Ink.OUTLINE, width_mm=0.25)
    for place in COMPARTMENTS:
        x, y = left + place.left_mm, top + place.row * ROW_MM
        right, foot = x + place.width_mm, y + place.rows * ROW_MM
        yield Path(((x, y), (right, y), (right, foot), (x, foot)), thin, closed=True)
        label = FIELD[place.name].label
        value = block.shown(place.name)
        if place.name == "sheet":
            value = f"{value} of {block.shown('sheets')}"
        room = place.width_mm - 2 * _PAD_MM
        yield Text((x + _PAD_MM, y + _PAD_MM), label, _LABEL_MM, Ink.MUTED, up="top")
        bold = place.name in ("title", "number", "revision")
        text, height = stepped(value, room, place.height_mm, bold=bold)
        yield Text((x + _PAD_MM, foot - _PAD_MM - 0.5), text, height, bold=bold)
    yield Path(
        (
            (left, top + HEIGHT_MM),
            (left, top),
            (left + WIDTH_MM, top),
        ),
        Stroke(Ink.OUTLINE, width_mm=0.5),
    )
