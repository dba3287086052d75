"""The pages of a combination search: settings, count, trade-offs, exclusions, near misses."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

from app.drawing.primitives import Drawing, Group
from app.sheet.cautions import told_cautions
from app.sheet.fits_content import (
    EXCLUSION_COLUMNS,
    NEAR_COLUMNS,
    Fits,
    exclusion_rows,
    fit_columns,
    fit_rows,
    near_rows,
    zone_columns,
    zone_rows,
)
from app.sheet.fits_settings import SETTING_COLUMNS, setting_rows
from app.sheet.flow import Block, Column, Laid, flow
from app.sheet.notes import cautions_block
from app.sheet.paper import MARK_REACH_MM, PAPERS, Paper, frame_groups
from app.sheet.sheet_areas import Areas
from app.sheet.table import table_block
from app.sheet.title_block import TitleBlock, title_block_group
from geometry.edits import cut_lines
from geometry.layout_file import fingerprint
from geometry.search.near.cuts import any_cut
from geometry.search.told_figures import looked_at_text

if TYPE_CHECKING:
    from app.sheet.compose import Names
    from geometry.layout import Layout

DOCUMENT_TYPE = "Combination search"
_CLEAR_MM = 1.0


def compose_fits(
    fits: Fits, *, paper: str, date: datetime.date, names: Names
) -> tuple[Drawing, ...]:
    """Return the pages of a search that go without a clearance sheet, in millimetres.

    Raises ValueError for a paper that is not offered.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r} is not offered; choose one of {', '.join(PAPERS)}")
    block = fits_title_block(fits, paper=paper, date=date, names=names)
    laid = lay_out_fits(fits, None, PAPERS[paper], first=0)
    sheets = 1 + max(one.sheet for one in laid)
    return tuple(
        fits_drawing(laid, number, PAPERS[paper], replace(block, sheets=str(sheets)))
        for number in range(sheets)
    )


def fits_title_block(fits: Fits, *, paper: str, date: datetime.date, names: Names) -> TitleBlock:
    """Return what stands in the title block; its `warnings` say what had to be cut."""
    layout = fits.layout
    named = layout.name == layout.enclosure.name
    return TitleBlock(
        title=layout.name,
        number=fingerprint(layout)[:12],
        date=date.isoformat(),
        sheet="1",
        sheets="1",
        revision=layout.revision,
        supplement="" if named else layout.enclosure.name,
        document_type=DOCUMENT_TYPE,
        paper=paper,
        **{name: getattr(names, name) for name in NAMED},
    )


NAMED = ("owner", "creator", "approver", "department", "reference", "status")


def lay_out_fits(fits: Fits, sheet_layout: Layout | None, paper: Paper, first: int) -> list[Laid]:
    """Flow the answer of a search over whole sheets, the first of which has this number (from 0).

    `sheet_layout` is the layout on the sheets before; None where there are none.
    """
    areas = Areas(paper)
    width = areas.right - areas.left
    return flow(fits_blocks(fits, sheet_layout, width), _columns(areas, first))


def fits_drawing(laid: list[Laid], number: int, paper: Paper, block: TitleBlock) -> Drawing:
    """Return one sheet (counted from 0) with its frame and title block."""
    groups = [*frame_groups(paper)]
    groups += [Group(f"sheet:{one.key}", one.primitives) for one in laid if one.sheet == number]
    groups.append(title_block_group(replace(block, sheet=str(number + 1)), paper))
    return Drawing((0.0, 0.0, paper.width_mm, paper.height_mm), tuple(groups))


def _columns(areas: Areas, first: int) -> Iterator[Column]:
    """Yield one column a sheet, as wide as the sheet, over the title block."""
    top = areas.paper.frame[1] + MARK_REACH_MM + _CLEAR_MM
    for sheet in count(first):
        yield Column(sheet, (areas.left, top, areas.right, areas.over_block(strip=False)))


def fits_blocks(fits: Fits, sheet_layout: Layout | None, width_mm: float) -> list[Block]:
    """Return the cautions, which are wanted on the first sheet, and the tables in reading order."""
    title = "What fits, as listed options"
    blocks = [
        _cautions(fits, width_mm),
        table_block("fits", title, SETTING_COLUMNS, setting_rows(fits, sheet_layout), width_mm),
        table_block(
            "fits-zones",
            "Zones searched",
            zone_columns(fits.answer),
            zone_rows(fits.answer, fits.near.slid if fits.near is not None else ()),
            width_mm,
        ),
        table_block(
            "fits-rows",
            "Best trade-offs by pattern",
            fit_columns(),
            fit_rows(fits.rows),
            width_mm,
            empty="Nothing fits.",
        ),
        table_block(
            "fits-excludes",
            f"What excludes what{_cut_short(fits.answer.excluded_share)}",
            EXCLUSION_COLUMNS,
            exclusion_rows(fits.answer),
            width_mm,
            empty="No two zones exclude each other: whatever fits alone fits together."
            if fits.answer.excluded_share == 1.0
            else "Not worked out: the search was stopped before.",
        ),
    ]
    near = fits.near
    if near is not None:
        title = f"Near misses ({'cuts included' if near.cutting else 'without cutting'})"
        blocks.append(table_block("fits-near", title, NEAR_COLUMNS, near_rows(near), width_mm))
    return blocks


def _cautions(fits: Fits, width_mm: float) -> Block:
    """Return the cautions, with that cutting is irreversible where a cut is told."""
    told = fits.near is not None and any_cut(fits.near.found)
    cut = told or bool(cut_lines(fits.layout.enclosure))
    return cautions_block(width_mm, told_cautions(cut=cut))


def _cut_short(looked_at: float) -> str:
    return "" if looked_at == 1.0 else f" (cut short: {looked_at_text(looked_at)})"
