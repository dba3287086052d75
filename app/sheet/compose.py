"""Compose the clearance sheet: views, tables, title block, on as many sheets as it takes."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.drawing.primitives import Drawing, Group
from app.sheet.cautions import told_cautions
from app.sheet.content import (
    ASSUMED_COLUMNS,
    FINDING_COLUMNS,
    FREE_COLUMNS,
    NOT_RUN_COLUMNS,
    PART_COLUMNS,
    STACK_COLUMNS,
    SUMMARY_COLUMNS,
    UNCHOSEN_COLUMNS,
    assumed_rows,
    finding_rows,
    free_rows,
    not_run_rows,
    part_rows,
    stack_rows,
    summary_rows,
    unchosen_rows,
)
from app.sheet.fits import fits_drawing, lay_out_fits
from app.sheet.flow import BLOCK_GAP_MM, Block, Column, Laid, Piece, flow
from app.sheet.item_references import listed_parts, stop_plugs, unchosen_fittings
from app.sheet.legend import legend_block
from app.sheet.mark_strip import strip_groups
from app.sheet.notes import as_built_block, brief_cautions_block, cautions_block
from app.sheet.paper import PAPERS, Paper, frame_groups
from app.sheet.scale import read_scale
from app.sheet.sheet_areas import Areas
from app.sheet.table import LABEL_MM, Cell, ColumnSpec, Row, table_block
from app.sheet.title_block import TitleBlock, title_block_group
from app.sheet.tolerance_content import (
    DIMENSION_COLUMNS,
    FIGURE_COLUMNS,
    dimension_rows,
    figure_rows,
    told_figures,
)
from app.sheet.views import PlacedViews, place_views
from geometry.edits import cut_lines
from geometry.layout_file import fingerprint

if TYPE_CHECKING:
    from app.sheet.fits_content import Fits
    from geometry.checks.runner import Checked

STACKS_TITLE = "Stacks (mm; total and clear depth from the plate)"

NUMBER_CHARACTERS = 12
"""How much of the layout's fingerprint makes the identification number."""

_LEAST_AS_BUILT_ROWS = 4
_MOST_AS_BUILT_ROWS = 24


@dataclass(frozen=True)
class Names:
    """Who and what the layout file does not know; empty fields show a dash."""

    owner: str = ""
    creator: str = ""
    approver: str = ""
    department: str = ""
    reference: str = ""
    status: str = ""


NO_NAMES = Names()


def compose_sheets(
    checked: Checked,
    *,
    paper: str = "A3",
    scale: str | None = None,
    date: datetime.date,
    names: Names = NO_NAMES,
    fits: Fits | None = None,
) -> tuple[Drawing, ...]:
    """Return the sheets of a checked layout, one unit a millimetre of the trimmed sheet.

    `fits`, what a combination search has found, comes on sheets of its own after the others.
    `paper` is "A3" or "A4"; `scale` one of ISO 5455 ("1:5"), by default the largest at which
    the views fit. Raises ScaleError when the scale is none of the standard's, or when the views
    do not fit, and ValueError for another paper.
    """
    sheet = _paper(paper)
    areas = Areas(sheet)
    wanted = read_scale(scale) if scale is not None else None
    views = place_views(checked, areas, wanted)
    laid = _lay_out(checked, areas, views)
    before = 1 + max(one.sheet for one in laid)
    found = [] if fits is None else lay_out_fits(fits, checked.scene.layout, sheet, before)
    count = 1 + max((one.sheet for one in found), default=before - 1)
    block = title_block(checked, paper=paper, date=date, names=names)
    drawings = []
    for number in range(before):
        titled = replace(block, sheet=str(number + 1), sheets=str(count))
        groups = [*frame_groups(sheet)]
        if number == 0:
            groups += [*views.groups, *strip_groups(sheet, views.scale, views.projection)]
        groups += [Group(f"sheet:{one.key}", one.primitives) for one in laid if one.sheet == number]
        groups.append(title_block_group(titled, sheet))
        bounds = (0.0, 0.0, sheet.width_mm, sheet.height_mm)
        drawings.append(Drawing(bounds, tuple(groups)))
    titled = replace(block, sheets=str(count))
    drawings += [fits_drawing(found, number, sheet, titled) for number in range(before, count)]
    return tuple(drawings)


def title_block(
    checked: Checked, *, paper: str, date: datetime.date, names: Names = NO_NAMES
) -> TitleBlock:
    """Return what stands in the title block; its `warnings` say what had to be cut."""
    layout = checked.scene.layout
    return TitleBlock(
        title=layout.name,
        number=fingerprint(layout)[:NUMBER_CHARACTERS],
        date=date.isoformat(),
        sheet="1",
        sheets="1",
        revision=layout.revision,
        supplement=layout.enclosure.name,
        paper=paper,
        owner=names.owner,
        creator=names.creator,
        approver=names.approver,
        department=names.department,
        reference=names.reference,
        status=names.status,
    )


def _paper(name: str) -> Paper:
    if name not in PAPERS:
        raise ValueError(f"paper {name!r} is not offered; choose one of {', '.join(PAPERS)}")
    return PAPERS[name]


def _lay_out(checked: Checked, areas: Areas, views: PlacedViews) -> list[Laid]:
    """Flow all blocks: legend and cautions under the views where they fit, the rest in columns.

    Cautions that have no room there come before all tables but the first; where that is on a
    further sheet, the first one has them in brief.
    """
    width = areas.column_mm
    fields = {number: areas.paper.field_at(at) for number, at in views.balloons.items()}
    blocks = table_blocks(checked, fields, str(views.scale), width)
    told_in_full = told_cautions(cut=bool(cut_lines(checked.scene.layout.enclosure)))
    notes = (legend_block(width), cautions_block(width, told_in_full))
    laid, kept_mm = _under_views(notes, areas, views)
    warned: list[Laid] = []
    legend, cautions = notes
    keys = {one.key for one in laid}
    if cautions.key not in keys:
        blocks.insert(1, cautions)
    if legend.key not in keys:
        blocks.append(legend)

    def flowed(rows: int) -> list[Laid]:
        columns = areas.columns(views.taken, beside=views.beside, kept_mm=kept_mm)
        return flow([*blocks, as_built_block(width, rows)], columns)

    best = flowed(_LEAST_AS_BUILT_ROWS)
    told = 0
    while (on := _cautions_sheet([*laid, *best])) != told:
        told = on
        brief = brief_cautions_block(width, told_in_full, on + 1)
        warned, kept_mm = _warned(brief, areas, views) if on else ([], 0.0)
        blocks[0] = _summary_block(checked, fields, str(views.scale), width, cautions_on=on)
        best = flowed(_LEAST_AS_BUILT_ROWS)
    low, high = _LEAST_AS_BUILT_ROWS, _MOST_AS_BUILT_ROWS
    while low < high:
        rows = (low + high + 1) // 2
        ampler = flowed(rows)
        if ampler[-1].sheet == best[-1].sheet:
            best, low = ampler, rows
        else:
            high = rows - 1
    return laid + warned + best


def _warned(brief: Block, areas: Areas, views: PlacedViews) -> tuple[list[Laid], float]:
    """Lay cautions in brief on the first sheet: under the views, or their head alone over these.

    Returns what is laid, and how much of the room under the views it takes (mm).
    """
    left, over, right, foot = areas.close_under_views(views.taken)
    if foot - over >= brief.height_mm:
        place = (left, foot - brief.height_mm, right, foot)
        return flow([brief], [Column(0, place)]), brief.height_mm + BLOCK_GAP_MM
    top = areas.paper.frame[1] + 1.0
    place = (areas.left, top, areas.left + areas.column_mm, top + brief.heading.height_mm)
    head = replace(brief, heading=Piece(0.0, ()), rows=(brief.heading,), least_rows=1)
    return flow([head], [Column(0, place)]), 0.0


def _cautions_sheet(laid: Sequence[Laid]) -> int:
    """Return on which sheet (from 0) the cautions stand."""
    return next(one.sheet for one in laid if one.key == "cautions")


def _under_views(
    notes: Sequence[Block], areas: Areas, views: PlacedViews
) -> tuple[list[Laid], float]:
    """Lay as many notes as there is room for at the foot under the views, the last one first.

    Returns what is laid, and how much of the room it takes with the gap over it (mm).
    """
    left, top, right, foot = areas.under_views(views.taken)
    for k in range(len(notes)):
        some = notes[k:]
        height = sum(one.height_mm for one in some) + BLOCK_GAP_MM * (len(some) - 1)
        if foot - top >= height:
            laid = flow(some, [Column(0, (left, foot - height, right, foot))])
            return laid, height + BLOCK_GAP_MM
    return [], 0.0


def table_blocks(
    checked: Checked, fields: Mapping[int, str], scale: str, width_mm: float
) -> list[Block]:
    """Return the tables in reading order; `fields` names the grid field of each balloon."""
    layout = checked.scene.layout
    parts = listed_parts(layout)

    def table(key: str, title: str, columns: Sequence[ColumnSpec], rows: list[Row]) -> Block:
        return table_block(key, title, columns, rows, width_mm)

    blocks = [
        _summary_block(checked, fields, scale, width_mm, cautions_on=0),
        table("findings", "Findings (mm)", FINDING_COLUMNS, finding_rows(checked, fields)),
        table("stacks", STACKS_TITLE, STACK_COLUMNS, stack_rows(checked)),
    ]
    blocks += _tolerance_blocks(checked, width_mm)
    blocks.append(table("parts", "Parts list", PART_COLUMNS, part_rows(parts, stop_plugs(layout))))
    unchosen = unchosen_rows(unchosen_fittings(layout))
    if unchosen:
        title = "Room assumed for fittings not chosen yet"
        blocks.append(table("unchosen", title, UNCHOSEN_COLUMNS, unchosen))
    free = free_rows(checked)
    if free:
        blocks.append(table("free", "Free parts (mm from the datum)", FREE_COLUMNS, free))
    return [
        *blocks,
        table("assumed", "Assumed dimensions", ASSUMED_COLUMNS, assumed_rows(layout, parts)),
        table("not-run", "Not run", NOT_RUN_COLUMNS, not_run_rows(checked)),
    ]


def _summary_block(
    checked: Checked, fields: Mapping[int, str], scale: str, width_mm: float, *, cautions_on: int
) -> Block:
    """Return what the sheet is of; it points to the cautions where they are on a further sheet."""
    rows = summary_rows(checked, fingerprint(checked.scene.layout), scale, len(fields))
    if cautions_on:
        rows.append(("Cautions", Cell(f"on sheet {cautions_on + 1}: read first", bold=True)))
    return table_block("summary", "Clearance sheet", SUMMARY_COLUMNS, rows, width_mm)


def _tolerance_blocks(checked: Checked, width_mm: float) -> list[Block]:
    """Return the table of all figures with their tolerances, and of the dimensions behind them."""
    told = told_figures(checked)
    if not told:
        return []
    dimensions = dimension_rows(checked, told)
    tables: tuple[tuple[str, str, Sequence[ColumnSpec], list[Row]], ...] = (
        ("tolerances", "Tolerances (mm)", FIGURE_COLUMNS, figure_rows(told)),
        ("dimensions", "Dimensions that contribute (mm)", DIMENSION_COLUMNS, dimensions),
    )
    return [
        table_block(key, title, columns, rows, width_mm, body_mm=LABEL_MM)
        for key, title, columns, rows in tables
    ]
