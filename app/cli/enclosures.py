"""`gapwright enclosures`: list and filter the enclosures of the library."""

from __future__ import annotations

import argparse

from app.cli import console
from app.cli.command import Command
from app.cli.desk import Desk
from app.cli.figures import table
from app.cli.library_listing import (
    cavity_size_mm,
    enclosures_for,
    opened_library,
    size_text,
    zone_text,
)
from app.cli.outcome import Exit
from catalog.enclosure import Enclosure
from geometry.zone_names import zone_names


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "words", nargs="*", metavar="WORD", help="words to look for; all of them must be met"
    )
    parser.add_argument("--json", action="store_true", help="print the enclosures as JSON, in full")


def run(args: argparse.Namespace, desk: Desk) -> Exit:  # noqa: ARG001 - needs no screen
    """Print the enclosures that are asked for."""
    found = enclosures_for(opened_library(), " ".join(args.words))
    if args.json:
        from app.cli.library_json import EnclosuresFile

        console.say(EnclosuresFile(enclosures=tuple(found)).model_dump_json(indent=2))
    elif found:
        rows = [
            (
                one.id,
                size_text(cavity_size_mm(one)),
                "\n".join([one.name, *_zone_lines(one)]),
            )
            for one in found
        ]
        head = ("id", "cavity x, y, z, mm", "name and mount zones")
        console.say("\n".join(table(head, rows, right=frozenset(), width=120)))
    else:
        console.complain("no enclosure of the library matches (see `gapwright enclosures`)")
    return Exit.OK if found else Exit.NOTHING_FOUND


def _zone_lines(enclosure: Enclosure) -> list[str]:
    names = zone_names(enclosure)
    return [zone_text(zone, names[zone.id]) for zone in enclosure.zones]


COMMAND = Command(
    name="enclosures",
    about="""\
List the enclosures of the library with their mount zones, and filter them.
Your own stand in the data folder that the README names, as JSON files written by the schema
that `gapwright schema enclosure` prints. The exit code is 4 when no enclosure
answers.""",
    examples="""\
  gapwright enclosures
  gapwright enclosures rack
  gapwright enclosures tower --json > tower.json""",
    add_arguments=add_arguments,
    run=run,
)
