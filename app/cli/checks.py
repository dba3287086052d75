"""`gapwright checks`: what is checked, why, and what mends it."""

from __future__ import annotations

import argparse

from app.cli import console
from app.cli.command import Command
from app.cli.desk import Desk
from app.cli.outcome import Exit, Unusable
from app.cli.similar_words import meant
from geometry.checks.runner import RULES, help_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("kind", nargs="?", metavar="KIND", help="one check, explained in full")


def run(args: argparse.Namespace, desk: Desk) -> Exit:  # noqa: ARG001 - needs no screen
    """Print the list of checks, or the help text of one."""
    kinds = [kind for kind, _ in RULES]
    if args.kind is None:
        console.say("\n".join(f"{kind:<16}{first_line(kind)}" for kind in kinds))
    elif args.kind in kinds:
        console.say(help_text(args.kind))
    else:
        known = f"there are {', '.join(kinds)}"
        raise Unusable(f"'{args.kind}' is no check ({known}){meant(args.kind, kinds)}")
    return Exit.OK


def first_line(kind: str) -> str:
    """Return the first line of a check's help text: the fault that it looks for."""
    return help_text(kind).partition("\n")[0]


COMMAND = Command(
    name="checks",
    about="""\
Explain what is checked, why, and what clears it.
The kinds are those of the findings that `gapwright check` prints.""",
    examples="""\
  gapwright checks
  gapwright checks port_end""",
    add_arguments=add_arguments,
    run=run,
)
