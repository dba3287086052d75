"""What a command of the command line is, and its argument parser."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NoReturn

from app.cli.desk import Desk
from app.cli.outcome import Exit, Unusable


@dataclass(frozen=True)
class Command:
    """One command: its help text, its arguments, and what it does.

    The first line of `about` is its summary in the list of commands.
    """

    name: str
    about: str
    examples: str
    add_arguments: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace, Desk], Exit]

    @property
    def summary(self) -> str:
        """The first line of its help text."""
        return self.about.partition("\n")[0]

    def parser(self) -> Parser:
        """Return a parser for its arguments."""
        parser = Parser(self.name, self.about, self.examples)
        self.add_arguments(parser)
        return parser


class Parser(argparse.ArgumentParser):
    """Raises Unusable where argparse would print its usage and leave."""

    def __init__(self, command: str, about: str, examples: str) -> None:
        super().__init__(
            prog=f"gapwright {command}".strip(),
            description=about,
            epilog=f"examples:\n{examples}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        self.add_argument(
            "--debug", action="store_true", help="on an internal fault, show where it arose"
        )

    def parsed(self, argv: Sequence[str]) -> argparse.Namespace | None:
        """Return the arguments, or None when help or version was asked for and printed.

        Raises Unusable for arguments that cannot be used.
        """
        try:
            return self.parse_args(argv)
        except SystemExit:
            return None

    def error(self, message: str) -> NoReturn:
        """Raise Unusable with the message and where to read on."""
        raise Unusable(f"{message} (see `{self.prog} --help`)")
