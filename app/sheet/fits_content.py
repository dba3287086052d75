"""What a combination search has found, as rows of the sheet's tables."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.fontmetrics import text_width_mm
from app.sheet.table import BODY_MM, LABEL_MM, PAD_MM, Cell, ColumnSpec, Row
from app.sheet.words import MINUS, figure_mm
from geometry.search.answers import MEASURES, Measure
from geometry.search.exclusion_words import in_order, meeting_text, missing_text
from geometry.search.near.largest import SlidIn, with_slid_in
from geometry.search.near.words import NO_CHANGE, short_text
from geometry.search.words import (
    alike_text,
    not_counted_lines,
    short_figure,
    tight_count_text,
    tight_lines,
)

if TYPE_CHECKING:
    from geometry.layout import Layout
    from geometry.search.near.summary import NearFound, NearSummary
    from geometry.search.row_limits import LeftInPlace
    from geometry.search.summary import RowSummary, Summary, ZoneFill
    from geometry.search.wishes import Wishes

MOST_ROWS = 120
MOST_EXCLUSIONS = 60
"""So many rows and exclusions are told; how many more there are is said."""


@dataclass(frozen=True, eq=False)
class Fits:
    """The answer of a search as it goes on a sheet: what was searched, with what, its rows.

    `layout` is the one that the search began with. `near` are the near misses, where they were
    looked for.
    """

    layout: Layout
    wishes: Wishes
    seconds: float
    answer: Summary
    rows: tuple[RowSummary, ...]
    near: NearFound | None = None
    stopped: bool = False


EXCLUSION_COLUMNS = (
    ColumnSpec("This", 60),
    ColumnSpec("with this", 60),
    ColumnSpec("Together", 30),
    ColumnSpec("Missing, mm", 21, "right", fixed=True),
    ColumnSpec("At best in the way", 70),
)
NEAR_COLUMNS = (
    ColumnSpec("What would beat every row but is refused", 62),
    ColumnSpec("Would gain", 30),
    ColumnSpec("Missing, mm", 21, "right", fixed=True),
    ColumnSpec("Any one of these makes it fit (checked)", 80),
    ColumnSpec("Refused for; what it takes out", 70, below=True),
)

_UNITS = {"cm2": "cm²", "cm3": "cm³"}
_HEADS = {
    "area": "Face area",
    "volume": "Core vol.",
    "fans": "Fans",
    "leftover": "Left over",
    "parts": "Parts",
    "cables": "Cables",
}
_IN_PLACE_HEADS = ("In place, mm", "In place, at worst, mm", "In place, statistical, mm")


def fit_columns() -> tuple[ColumnSpec, ...]:
    """Return the columns of the table of trade-offs: number, every measure, what it holds."""
    return (
        ColumnSpec("Row", 8, "middle", fixed=True),
        *(ColumnSpec(_head(m), 12.5, "right", fixed=True) for m in MEASURES.values()),
        *(ColumnSpec(head, 15, "right", fixed=True) for head in _IN_PLACE_HEADS),
        ColumnSpec("Tight at worst", 12, "right", fixed=True),
        ColumnSpec("What every zone holds", 1, below=True),
    )


def zone_columns(answer: Summary) -> tuple[ColumnSpec, ...]:
    """Return the columns of the table of zones, whose names stand in one line up to 60 mm."""
    name_mm = max((text_width_mm(zone.name, BODY_MM) for zone in answer.zones), default=0.0)
    return (
        ColumnSpec("Zone", min(60.0, name_mm + 2 * PAD_MM), fixed=True),
        ColumnSpec("Options listed", 26, "right", fixed=True),
        ColumnSpec("Stand alone", 26, "right", fixed=True),
        ColumnSpec("Largest that goes in at a listed slide, the other zones as in row 1", 120),
    )


def _head(measure: Measure) -> str:
    name = _HEADS.get(measure.key, measure.key)
    unit = _UNITS.get(measure.unit, measure.unit)
    return f"{name}, {unit}" if unit else name


def zone_rows(answer: Summary, slid: Sequence[SlidIn] = ()) -> list[Row]:
    """Return one row a zone: options listed, those that stand alone, the largest that goes in.

    `slid` is what slides between the listed ones let in.
    """
    rows: list[Row] = []
    most = with_slid_in(answer.largest, slid)
    for zone in answer.zones:
        largest = [
            f"{one.what} {figure_mm(one.mm)} mm: {one.option}"
            for one in most
            if one.zone == zone.zone
        ]
        rows.append(
            (
                zone.name,
                f"{zone.listed:,}",
                f"{zone.fit_alone:,}",
                Cell("\n".join(largest), height_mm=LABEL_MM),
            )
        )
    return rows


def fit_rows(rows: Sequence[RowSummary], told: int = MOST_ROWS) -> list[Row]:
    """Return the trade-offs under a line for every pattern, in the order of their best rows."""
    groups: dict[str, list[RowSummary]] = {}
    for row in rows[:told]:
        groups.setdefault(row.pattern, []).append(row)
    out: list[Row] = []
    for pattern, listed in groups.items():
        count = alike_text(listed[0].alike, exact=listed[0].alike_exact)
        out.append((Cell(f"{pattern} ({count})", bold=True),))
        out.extend(_fit_row(row) for row in listed)
    if len(rows) > told:
        more = f"{len(rows) - told:,} further rows are not listed here; export them as CSV."
        out.append((Cell(more, bold=True),))
    return out


def _fit_row(row: RowSummary) -> Row:
    lines = [*_zone_lines(row.zones), *_limit_lines(row), *_loss(row.takes_out)]
    return (
        Cell(str(row.number), bold=True),
        *(_figure(measure, row.figures[key]) for key, measure in MEASURES.items()),
        *_in_place(row.in_place),
        tight_count_text(row.tight),
        Cell("\n".join(lines), height_mm=LABEL_MM),
    )


def _in_place(left: LeftInPlace) -> list[str]:
    """Return what is left with all in place: as drawn, at worst, at the lower statistical limit."""
    return [
        _figure(MEASURES["leftover"], mm) for mm in (left.drawn_mm, left.worst_mm, left.likely_mm)
    ]


def _limit_lines(row: RowSummary) -> Iterator[str]:
    """Yield where least is left at worst, and each gap that is tight at worst, with what takes it.

    One dimension is named each, the one that takes the most.
    """
    left = row.in_place
    if left.taking:
        most = f"most is taken by {left.taking[0]}"
        if left.bringing:
            most = f"beside the way as drawn, brought in most by {left.bringing[0]}; {most}"
        yield f"Least left at worst: {left.zone}, to {left.limit}; {most}"
    short = not_counted_lines(row.short_before) if row.tight is not None else []
    for line in (*tight_lines(row.tight, 1), *short):
        yield f"{line[:1].upper()}{line[1:]}"


def _loss(takes_out: Sequence[str]) -> list[str]:
    return [f"Takes out: {' + '.join(takes_out)}"] if takes_out else []


def _figure(measure: Measure, value: float) -> str:
    if not math.isfinite(value):
        return "open" if measure.unit == "mm" else "-"
    return figure_mm(value) if measure.unit == "mm" else f"{value:,.0f}"


def _zone_lines(zones: Sequence[ZoneFill]) -> list[str]:
    """Return what every filled zone holds, a line each."""
    filled = [zone for zone in zones if len(zone.facts) > 1]
    return [_zone_line(zone) for zone in filled] or ["all zones empty"]


def _zone_line(zone: ZoneFill) -> str:
    told = [
        text if label in ("exchanger", "pump") or (label == "fans" and text != "none")
        else f"{label} {_with_minus(text) if label in _LENGTHS else text}"
        for label, text in zone.facts.items()
        if label != "holds"
    ]  # fmt: skip
    return f"{zone.name}: {'; '.join(told)}"


_LENGTHS = ("stands at",)
"""What is told of a zone in millimetres, some with a sign."""


def _with_minus(text: str) -> str:
    """Return lengths with a minus sign for a hyphen, and none before nought.

    >>> _with_minus("u -7.5 +0.0 mm, v -0.0 +12.0 mm")
    'u \N{MINUS SIGN}7.5 0.0 mm, v 0.0 +12.0 mm'
    """
    unsigned = re.sub(r"(?<!\S)[+-](?=0(\.0+)?(?![.\d]))", "", text)
    return re.sub(r"(?<!\S)-(?=\d)", MINUS, unsigned)


def _with_signs(text: str) -> str:
    for plain, sign in _UNITS.items():
        text = text.replace(plain, sign)
    return text


def exclusion_rows(answer: Summary, told: int = MOST_EXCLUSIONS) -> list[Row]:
    """Return what excludes what, options that never stand together first."""
    names = {zone.zone: zone.name for zone in answer.zones}
    every = in_order(answer.exclusions)
    rows: list[Row] = [
        (
            f"{names.get(one.zones[0], one.zones[0])}: {one.patterns[0]}",
            f"{names.get(one.zones[1], one.zones[1])}: {one.patterns[1]}",
            Cell("never", bold=True)
            if one.always
            else Cell(f"not in {one.excluded:,} of {one.pairs:,} ways", height_mm=LABEL_MM),
            missing_text(one, figure_mm),
            Cell(
                (meeting_text(one) + (f" ({one.verdict.value})" if one.judged != "rule" else ""))
                + ("" if one.sure else ", of those measured"),
                height_mm=LABEL_MM,
            ),
        )
        for one in every[:told]
    ]
    if len(every) > told:
        rows.append((f"{len(every) - told:,} further pairs are not listed here.",))
    return rows


def near_rows(near: NearFound) -> list[Row]:
    """Return how far was looked, and one row a near miss with the single changes that let it in."""
    rows: list[Row] = []
    if near.extent:
        rows.append((Cell(f"{near.extent[:1].upper()}{near.extent[1:]}.", height_mm=LABEL_MM),))
    if not near.found:
        rows.append(("None found." if near.done else "None found so far.",))
    rows += [_near_row(one) for one in near.found]
    return rows


def _near_row(miss: NearSummary) -> Row:
    changes = [
        f"CUTS THE ENCLOSURE: {one.plain_name}" if one.cuts else one.name
        for one in miss.relaxations
    ]
    told = "\n".join(changes) or NO_CHANGE
    return (
        miss.what,
        _with_signs(miss.gain),
        short_text(miss.short_mm, miss.at_worst, short_figure(miss.short_mm, figure_mm)),
        Cell(told, height_mm=LABEL_MM),
        Cell("\n".join([*miss.refused_for, *_loss(miss.takes_out)]), height_mm=LABEL_MM),
    )
