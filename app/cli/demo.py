"""`gapwright demo`: write the demo layout to a file."""

from __future__ import annotations

import argparse
from pathlib import Path

from app.cli import console
from app.cli.command import Command
from app.cli.desk import Desk
from app.cli.library_listing import opened_library
from app.cli.outcome import Exit, Unusable
from app.demo import demo_layout
from geometry.layout_file import write_layout


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("out", metavar="OUT", help="the layout file to write")
    parser.add_argument("--force", action="store_true", help="replace OUT where it is there")


def run(args: argparse.Namespace, desk: Desk) -> Exit:  # noqa: ARG001 - needs no screen
    """Write the demo layout, never over a file that is there unless that is asked for."""
    out = Path(args.out)
    if out.exists() and not args.force:
        raise Unusable(f"{out}: is there already (give another name, or --force to replace it)")
    write_layout(out, demo_layout(opened_library()))
    console.say(f"wrote {out}")
    return Exit.OK


COMMAND = Command(
    name="demo",
    about="""\
Write the demo layout: the field-recorder bench box of a small field-acoustics lab.
It has one blocked finding, which flipping the port end cures, and a tight one.""",
    examples="""\
  gapwright demo bench.json
  gapwright bench.json""",
    add_arguments=add_arguments,
    run=run,
)
