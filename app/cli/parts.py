"""`gapwright parts`: list and filter the parts of the library."""

from __future__ import annotations

import argparse
import math
from typing import get_args

from app.cli import console
from app.cli.command import Command, number
from app.cli.desk import Desk
from app.cli.figures import table
from app.cli.library_listing import opened_library, part_size_mm, part_size_text
from app.cli.outcome import Exit
from catalog.parts import PartKind
from geometry.measures.tolerance import meets

KINDS = tuple(kind.replace("_", "-") for kind in get_args(PartKind))


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "words", nargs="*", metavar="WORD", help="words to look for; all of them must be met"
    )
    parser.add_argument("--kind", choices=KINDS, help="only this kind")
    parser.add_argument(
        "--frame",
        type=number,
        metavar="MM",
        help="only what has the hole pattern of this fan frame",
    )
    parser.add_argument(
        "--max-thickness", type=number, metavar="MM", help="only what is nowhere thicker than this"
    )
    parser.add_argument("--json", action="store_true", help="print the parts as JSON, in full")


def run(args: argparse.Namespace, desk: Desk) -> Exit:  # noqa: ARG001 - needs no screen
    """Print the parts that are asked for."""
    library = opened_library()
    kinds = None if args.kind is None else (args.kind.replace("-", "_"),)
    thickest = math.inf if args.max_thickness is None else args.max_thickness
    found = [
        part
        for part in library.search(" ".join(args.words), kinds, args.frame)
        if meets(thickest, part_size_mm(part)[2])
    ]
    if args.json:
        from app.cli.library_json import PartsFile

        console.say(PartsFile(parts=tuple(found)).model_dump_json(indent=2))
    elif found:
        rows = [
            (part.id, part.kind.replace("_", "-"), part_size_text(part), part.name)
            for part in found
        ]
        head = ("id", "kind", "length x width x thickness, mm", "name")
        console.say("\n".join(table(head, rows, right=frozenset(), width=120)))
    else:
        console.complain("no part of the library matches (see `gapwright parts`)")
    return Exit.OK if found else Exit.NOTHING_FOUND


COMMAND = Command(
    name="parts",
    about="""\
List the parts of the library, and filter them.
Shipped parts are named by dimension; your own stand in the data folder that the README names.
A part is found by the trade's other words too: radiator, thin, res. Sizes are over all, without
fittings. The exit code is 4 when no part matches.""",
    examples="""\
  gapwright parts radiator 240
  gapwright parts --kind fan --frame 120
  gapwright parts --kind exchanger --frame 140 --max-thickness 45 --json""",
    add_arguments=add_arguments,
    run=run,
)
