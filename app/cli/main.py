"""The entrance of the command line: finds the command, runs it, turns faults into exit codes.

argparse refuses an optional FILE beside subcommands, so the first word is looked at by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from app import __version__
from app.cli import console
from app.cli.command import Command, Parser
from app.cli.desk import Desk
from app.cli.outcome import Exit, Unusable
from app.cli.similar_words import meant
from catalog.errors import DataError

COMMANDS = (
    "check",
    "checks",
    "depth",
    "search",
    "mend",
    "sheet",
    "parts",
    "enclosures",
    "schema",
    "demo",
)
"""Each is a module beside this one that holds a COMMAND; only the one asked for is loaded."""

ABOUT = """\
Plan what liquid cooling fits into a compact enclosure, and draw it.
Without a command the window opens, on FILE where one is given."""

EXAMPLES = """\
  gapwright --demo              open the window on the demo layout
  gapwright bench.json          open it on a layout
  gapwright check bench.json    say what fits and what does not, without a screen
  gapwright ./check             open a layout whose file is called like a command
  gapwright help check          the same as `gapwright check --help`

exit codes:
  0 done; for `check`: nothing is blocked   1 something is blocked   2 unusable input
  3 internal fault   4 nothing found: no part or enclosure matches, nothing that was asked for
  fits, or no change helps   130 stopped by Ctrl-C"""


def command_named(name: str) -> Command:
    """Return one of the commands; KeyError when there is none of that name."""
    if name not in COMMANDS:
        raise KeyError(name)
    found: Command = import_module(f"app.cli.{name}").COMMAND
    return found


def run(argv: Sequence[str], desk: Desk) -> int:
    """Run one command line and return its exit code; a fault comes out as one message."""
    console.use_utf8()
    try:
        return int(_dispatch(list(argv), desk))
    except Unusable as fault:
        console.complain(str(fault))
        return Exit.UNUSABLE
    except DataError as fault:
        for one in fault.faults:
            console.complain(f"{fault.file}: {one}")
        return Exit.UNUSABLE
    except KeyboardInterrupt:
        console.complain("stopped")
        return Exit.STOPPED
    except Exception as fault:  # noqa: BLE001 - the last net: one line instead of a traceback
        _tell_fault(fault, debug="--debug" in argv)
        return Exit.FAULT
    finally:
        console.finish()


def _dispatch(argv: list[str], desk: Desk) -> int:
    if argv[:1] == ["help"]:
        argv = _asked_for_help(argv[1:])
    if not argv or argv[0] not in COMMANDS:
        return _window(argv, desk)
    command = command_named(argv[0])
    args = command.parser().parsed(argv[1:])
    return Exit.OK if args is None else command.run(args, desk)


def _asked_for_help(words: list[str]) -> list[str]:
    """Return what `help` and the words after it stand for.

    Raises Unusable when they are not one command.
    """
    if len(words) > 1 or any(one not in COMMANDS for one in words if one[:1] != "-"):
        word = " ".join(words)
        known = ", ".join(COMMANDS)
        raise Unusable(f"'{word}' is no command (there are {known}){meant(word, COMMANDS)}")
    return [*words, "--help"]


def _window(argv: list[str], desk: Desk) -> int:
    wants_help = any(word in ("-h", "--help") for word in argv)
    parser = Parser("", _overview() if wants_help else ABOUT, EXAMPLES)
    parser.usage = "gapwright [FILE] [--demo] [--version] [--debug]\n       gapwright COMMAND ..."
    parser.add_argument("file", nargs="?", metavar="FILE", help="a layout file")
    parser.add_argument("--demo", action="store_true", help="open the demo layout")
    parser.add_argument("--version", action="version", version=f"gapwright {__version__}")
    _refuse_misspelt(argv)
    args = parser.parsed(argv)
    if args is None:
        return Exit.OK
    if args.demo and args.file:
        raise Unusable("give a FILE or --demo, not both")
    path = Path(args.file) if args.file else None
    if path is not None and not path.exists():
        raise Unusable(f"{path}: there is no such file (check the name, or open without one)")
    if path is not None:
        _need_layout(path)
    return desk.open_window(path, demo=args.demo)


def _need_layout(path: Path) -> None:
    """Raise DataError for a file that no window could show, before one opens on something else."""
    from geometry.layout_file import read_layout

    read_layout(path)


def _overview() -> str:
    """Return what stands above the options in the help: the program, then its commands."""
    commands = [command_named(name) for name in COMMANDS]
    lines = [f"  {command.name:<12}{command.summary}" for command in commands]
    return "\n".join([ABOUT, "", "commands (each answers to --help):", *lines])


def _refuse_misspelt(argv: Sequence[str]) -> None:
    """Raise Unusable when the first word looks like a command and is no file."""
    first = argv[0] if argv else ""
    if not first or first.startswith("-") or Path(first).exists():
        return
    if near := meant(first, COMMANDS):
        raise Unusable(f"'{first}' is neither a file nor a command{near}")


def _tell_fault(fault: Exception, *, debug: bool) -> None:
    if debug:
        from traceback import format_exception

        console.complain("".join(format_exception(fault)))
        return
    what = " ".join(str(fault).split()) or "no message"
    console.complain(
        f"internal fault: {type(fault).__name__}: {what} (run again with --debug for details)"
    )
