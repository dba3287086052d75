"""`gapwright check`: what fits and what does not, as a table or as JSON."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path

from app.cli import console
from app.cli.command import Command
from app.cli.desk import Desk
from app.cli.outcome import Exit
from app.cli.report_table import report_lines
from geometry.checks.runner import check_layout
from geometry.layout_file import read_layout


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("file", metavar="FILE", help="a layout file")
    parser.add_argument(
        "--json", action="store_true", help="print JSON (its schema: `gapwright schema report`)"
    )
    parser.add_argument(
        "--contributors",
        action="store_true",
        help="list every dimension that has a share in a figure, not just the largest, and what "
        "stands nearest to every part, not just to port ends",
    )


def run(args: argparse.Namespace, desk: Desk) -> Exit:  # noqa: ARG001 - needs no screen
    """Print what the checks find; the exit code says whether anything is blocked."""
    checked = check_layout(read_layout(Path(args.file)))
    if args.json:
        from app.cli.json_text import json_text
        from app.cli.report_json import report_file

        console.say(json_text(report_file(args.file, checked).model_dump(mode="json")))
    else:
        width = shutil.get_terminal_size((100, 24)).columns
        console.say(
            "\n".join(report_lines(args.file, checked, width, contributors=args.contributors))
        )
    return Exit.BLOCKED if checked.report.blocked else Exit.OK


COMMAND = Command(
    name="check",
    about="""\
Check what fits and what does not.
Prints the findings, the depth of every stack, what stands nearest to every port end, and what
could not be checked. Each figure is given as drawn, in the worst case of all tolerances, and
within statistical limits. Nothing is written, and no screen is needed.

exit code: 0 when nothing is blocked (tight findings and checks that were not run are
counted in the text), 1 when something is, 2 when FILE cannot be used, 3 on an internal fault""",
    examples="""\
  gapwright check bench.json
  gapwright check bench.json --contributors
  gapwright check bench.json --json > report.json""",
    add_arguments=add_arguments,
    run=run,
)
