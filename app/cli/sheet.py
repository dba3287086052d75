"""`gapwright sheet`: the clearance sheet as PNG, on a machine with or without a screen."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

from app.cli import console
from app.cli.command import Command, whole_number
from app.cli.desk import Desk
from app.cli.outcome import Exit, Unusable
from app.sheet.compose import Names, compose_sheets, title_block
from app.sheet.export import left_over_sheets
from app.sheet.scale import ScaleError
from geometry.checks.runner import check_layout
from geometry.layout_file import read_layout

DPI_RANGE = (50, 1200)
NAMES = {
    "owner": "the legal owner",
    "creator": "who made it",
    "approver": "who approves it",
    "department": "the responsible department",
    "reference": "whom to ask, the technical reference",
    "status": "how far the document is, as draft or released",
}
"""Fields of the title block that no layout knows (ISO 7200)."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("file", metavar="FILE", help="a layout file")
    parser.add_argument(
        "-o", "--out", required=True, metavar="OUT.png",
        help="the picture to write; further sheets are OUT-2.png and so on",
    )  # fmt: skip
    parser.add_argument(
        "--paper", choices=("A4", "A3"), default="A3", type=str.upper, help="default: A3"
    )
    parser.add_argument(
        "--dpi",
        type=whole_number,
        default=300,
        metavar="N",
        help="dots per inch, 50 to 1200; default: 300",
    )
    parser.add_argument(
        "--scale", metavar="1:N", help="a scale of ISO 5455; default: the largest that fits"
    )
    parser.add_argument(
        "--date", metavar="YYYY-MM-DD", help="the date in the title block; default: today"
    )
    for name, what in NAMES.items():
        parser.add_argument(
            f"--{name}", default="", metavar="TEXT", help=f"{what}, in the title block"
        )


def run(args: argparse.Namespace, desk: Desk) -> Exit:
    """Write the sheets; their files are named on standard output."""
    names = Names(**{name: getattr(args, name) for name in NAMES})
    date = _date(args.date)
    dpi = _dpi(args.dpi)
    out = Path(args.out)
    if out.suffix.lower() != ".png":
        raise Unusable(f"{out}: only PNG can be written (give a name that ends in .png)")
    checked = check_layout(read_layout(Path(args.file)))
    try:
        sheets = compose_sheets(checked, paper=args.paper, scale=args.scale, date=date, names=names)
    except ScaleError as fault:
        raise Unusable(str(fault)) from fault
    files = desk.write_sheets(sheets, out, dpi)
    console.say("\n".join(f"wrote {file}" for file in files))
    for warning in title_block(checked, paper=args.paper, date=date, names=names).warnings():
        console.complain(warning)
    for file in left_over_sheets(out, len(files)):
        console.complain(f"{file}: is no sheet of this layout; an earlier export left it")
    return Exit.OK


def _date(text: str | None) -> datetime.date:
    if text is None:
        return datetime.datetime.now().astimezone().date()
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise Unusable(f"'{text}' is no date (write it like 2026-01-31)") from None


def _dpi(dpi: int) -> int:
    least, most = DPI_RANGE
    if not least <= dpi <= most:
        raise Unusable(f"{dpi} dots per inch is out of range (choose {least} to {most})")
    return dpi


COMMAND = Command(
    name="sheet",
    about="""\
Write the clearance sheet as PNG, true to scale.
Views, dimensions, findings, stacks and parts list for the person who builds it; it flows onto
further sheets where one is not enough. No screen is needed. The same layout gives the same
bytes for a given date. What the title block had to cut is told on standard error.""",
    examples="""\
  gapwright sheet bench.json -o bench.png
  gapwright sheet bench.json -o bench.png --paper A4 --dpi 150 --scale 1:5 --date 2026-01-31""",
    add_arguments=add_arguments,
    run=run,
)
