"""Writes the answer of a search as sheets."""

from __future__ import annotations

import datetime
from pathlib import Path

from app.cli import console
from app.cli.desk import Desk
from app.sheet.compose import NO_NAMES
from app.sheet.export import left_over_sheets
from app.sheet.fits import compose_fits, fits_title_block
from app.sheet.fits_content import Fits
from geometry.layout import Layout
from geometry.search.near.misses import NearMisses
from geometry.search.near.summary import near_found
from geometry.search.run import Searched
from geometry.search.summary import every_row, summary
from geometry.search.wishes import Wishes

DPI = 300


def write_search_sheets(
    desk: Desk,
    out: Path,
    paper: str,
    found: Searched,
    near: NearMisses,
    *,
    layout: Layout,
    wishes: Wishes,
    seconds: float,
    cutting: bool,
    stopped: bool,
) -> None:
    """Write the answer as OUT.png, OUT-2.png and so on; their files are named on standard error."""
    fits = Fits(
        layout,
        wishes,
        seconds,
        summary(found),
        every_row(found),
        near_found(found.problem, near, cutting=cutting),
        stopped,
    )
    date = datetime.datetime.now().astimezone().date()
    sheets = compose_fits(fits, paper=paper, date=date, names=NO_NAMES)
    files = desk.write_sheets(sheets, out, DPI)
    for file in files:
        console.note(f"wrote {file}")
    for warning in fits_title_block(fits, paper=paper, date=date, names=NO_NAMES).warnings():
        console.complain(warning)
    for file in left_over_sheets(out, len(files)):
        console.complain(f"{file}: is no sheet of this search; an earlier export left it")
