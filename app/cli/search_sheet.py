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

DPI = 300


def write_search_sheets(desk: Desk, out: Path, paper: str, fits: Fits) -> None:
    """Write what fits as OUT.png, OUT-2.png and so on, and name these files on standard error."""
    date = datetime.datetime.now().astimezone().date()
    sheets = compose_fits(fits, paper=paper, date=date, names=NO_NAMES)
    files = desk.write_sheets(sheets, out, DPI)
    for file in files:
        console.note(f"wrote {file}")
    for warning in fits_title_block(fits, paper=paper, date=date, names=NO_NAMES).warnings():
        console.complain(warning)
    for file in left_over_sheets(out, len(files)):
        console.complain(f"{file}: is no sheet of this search; an earlier export left it")
