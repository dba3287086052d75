"""What a command of the command line is, and its argument parser."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from math import isfinite, nan
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

from app.cli.desk import Desk
from app.cli.outcome import Exit, Unusable
from app.cli.similar_words import meant


class Command(NamedTuple):
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


def whole_number(text: str) -> int:
    """Return the whole number that an argument is; ArgumentTypeError when it is none."""
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is no whole number") from None


def number(text: str) -> float:
    """Return the number that an argument is; ArgumentTypeError when it is none."""
    try:
        value = float(text)
    except ValueError:
        value = nan
    if not isfinite(value):
        raise argparse.ArgumentTypeError(f"'{text}' is no number (write it like 12.5)")
    return value


class CommaList(argparse.Action):
    """Several words, or words with commas between, each of them made into a value by `each`."""

    def __init__(self, *, each: Callable[[str], object], **more: Any) -> None:
        super().__init__(**more)
        self.each = each

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: object,
        option_string: str | None = None,  # noqa: ARG002 - part of what argparse calls
    ) -> None:
        """Keep the values; a word that can be none is refused."""
        assert isinstance(values, list)
        words = [word.strip() for value in values for word in value.split(",")]
        try:
            setattr(namespace, self.dest, [self.each(word) for word in words])
        except argparse.ArgumentTypeError as fault:
            parser.error(str(argparse.ArgumentError(self, str(fault))))


def one_of(allowed: Sequence[str]) -> Callable[[str], str]:
    """Return a reader of a word that is one of those allowed; ArgumentTypeError for others.

    A blank in one of them may be written as a hyphen, so that it needs no quotes.
    """
    written = {one.replace(" ", "-"): one for one in allowed}

    def read(word: str) -> str:
        found = written.get(word.replace(" ", "-"))
        if found is None:
            raise argparse.ArgumentTypeError(_no_choice(word, list(written)))
        return found

    return read


def _no_choice(word: str, allowed: Sequence[str]) -> str:
    """Return what to say of a word that is none of those allowed, with the nearest."""
    return f"invalid choice: '{word}' (choose from {', '.join(allowed)}){meant(word, allowed)}"


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
            args, unknown = self.parse_known_args(self._file_first(argv))
        except SystemExit:
            return None
        if unknown:
            options = (name for action in self._actions for name in action.option_strings)
            word = unknown[0].partition("=")[0]
            what = "option" if word.startswith("-") else "argument"
            self.error(f"'{word}' is no {what} of {self.prog}{meant(word, options)}")
        return args

    def _file_first(self, argv: Sequence[str]) -> Sequence[str]:
        """Return the words with a layout file that ends a list of an option put first.

        An option that takes any number of words would take "bench.json" for one more of them.
        """
        if not any(action.dest == "file" for action in self._actions):
            return argv
        listing = False
        for k, word in enumerate(argv):
            if word.startswith("-"):
                option = self._option_string_actions.get(word)
                listing = option is not None and option.nargs in ("+", "*")
                continue
            ends = all(after.startswith("-") for after in argv[k + 1 : k + 2])
            if listing and ends and (word.lower().endswith(".json") or Path(word).is_file()):
                return [word, *argv[:k], *argv[k + 1 :]]
        return argv

    def _check_value(self, action: argparse.Action, value: object) -> None:
        """Refuse what is not among an option's choices: say which there are, and the nearest."""
        if action.choices is None or value in action.choices:
            return
        allowed = [str(choice) for choice in action.choices]
        raise argparse.ArgumentError(action, _no_choice(str(value), allowed))

    def error(self, message: str) -> NoReturn:
        """Raise Unusable with the message and where to read on."""
        raise Unusable(f"{message} (see `{self.prog} --help`)")
