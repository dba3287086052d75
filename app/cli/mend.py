"""`gapwright mend`: the smallest changes that clear what is blocked or tight."""

from __future__ import annotations

import argparse
import shutil
import textwrap
from collections.abc import Sequence
from pathlib import Path

from app.cli import console
from app.cli.command import Command, whole_number
from app.cli.desk import Desk
from app.cli.figures import table
from app.cli.outcome import Exit, Unusable
from app.cli.progress import Progress
from app.cli.report_table import NARROWEST
from catalog.files import refuse_unsavable
from geometry.checks.rules.worst_case import KIND as WORST_CASE
from geometry.checks.runner import check_layout
from geometry.edits import CUT_CAUTION
from geometry.finding import Finding, Verdict
from geometry.layout_file import read_layout, write_layout
from geometry.remedies import NONE_CLEARS_ALL
from geometry.search.mending.changes import NOT_TRIED
from geometry.search.mending.mend import Mend, Mends, mends

HELP_WIDTH = 100
"""Characters in a line of the help text."""

WHOLE_TO = 12
"""A list of so many changes is printed whole."""

NONE_SO_FAR = "Nothing tried so far clears all; these clear some"
NUMBERED_LAST = "changes have their numbers and their least amounts only at the end"
LEFT_IS = "left: how many findings of the whole layout would still be blocked or tight."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("file", metavar="FILE", help="a layout file")
    parser.add_argument(
        "--finding", type=whole_number, metavar="N",
        help="clear this finding only, numbered as by `gapwright check`; default: all",
    )  # fmt: skip
    parser.add_argument(
        "--allow-cutting", action="store_true",
        help="look at cutting obstacles too; it is irreversible. Default: no cutting",
    )  # fmt: skip
    parser.add_argument(
        "--all", action="store_true",
        help=f"print every change; default: where there are more than {WHOLE_TO}, the smallest of "
        "each kind, and how many more there are",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print JSON, every change in it")
    parser.add_argument("--apply", type=whole_number, metavar="N", help="make change N")
    parser.add_argument("-o", "--out", metavar="OUT", help="where to write the changed layout")


def run(args: argparse.Namespace, desk: Desk) -> Exit:  # noqa: ARG001 - needs no screen
    """Print the changes, and write the layout of one where that is asked for."""
    from app.cli.library_listing import opened_library

    if (args.apply is None) != (args.out is None):
        raise Unusable("--apply N and -o OUT go together")
    if args.apply is not None and args.apply < 1:
        raise Unusable(f"there is no change {args.apply} (changes are counted from 1)")
    if args.out is not None:
        refuse_unsavable(Path(args.out))
    layout = read_layout(Path(args.file))
    checked = check_layout(layout, remedies=False)
    told = [f for f in checked.report.findings if f.verdict is not Verdict.CLEAR]
    parts = {p.id: p for p in opened_library().parts.values()}
    parts.update(layout.parts)
    found, stopped = Mends((), 0, 0, done=True), False
    progress = Progress()
    try:
        for found in mends(
            checked,
            tuple(parts.values()),
            _finding(args.finding, told),
            cutting=args.allow_cutting,
        ):
            so_far = f"{len(found.found)} changes found"
            progress.tell(f"{found.tried} changed layouts checked, {so_far}")
    except KeyboardInterrupt:
        stopped = True
    progress.tell("")
    if args.json:
        from app.cli.mend_json import mend_file

        said = mend_file(
            args.file, told, found, asked=args.finding, cutting=args.allow_cutting, stopped=stopped
        )
        console.say(said.model_dump_json(indent=2))
    else:
        width = max(NARROWEST, shutil.get_terminal_size((110, 24)).columns)
        lines = _lines(args.file, told, found, args.finding, width, every=args.all, stopped=stopped)
        console.say("\n".join(lines))
    if stopped:
        if args.apply is not None:
            console.complain(f"stopped: {NUMBERED_LAST}; {args.out} is not written")
        return Exit.STOPPED
    if args.apply is not None:
        if not 1 <= args.apply <= len(found.found):
            raise Unusable(f"there is no change {args.apply} (there are {len(found.found)})")
        write_layout(Path(args.out), found.found[args.apply - 1].layout)
        console.note(f"wrote {args.out}: {found.found[args.apply - 1].name}")
    return Exit.NOTHING_FOUND if told and not found.found else Exit.OK


def _finding(number: int | None, told: list[Finding]) -> Finding | None:
    if number is None:
        return None
    if not 1 <= number <= len(told):
        raise Unusable(f"there is no finding {number} (there are {len(told)})")
    return told[number - 1]


def _lines(
    file: str,
    told: list[Finding],
    found: Mends,
    asked: int | None,
    width: int,
    *,
    every: bool,
    stopped: bool,
) -> list[str]:
    """Return the findings that are to be cleared, `asked` or all, and what clears them.

    `every` change is told where that is asked for, else the smallest of each kind. No line passes
    `width`, but for a change whose columns leave less than 24 characters.
    """
    if not told:
        return [f"{file}: nothing is blocked or tight"]
    lines = [
        line
        for n, f in enumerate(told, start=1)
        if asked in (None, n)
        for line in (*_told(n, f, width), *_why(f, width))
    ]
    lines.append("")
    if found.found:
        shown = list(enumerate(found.found, start=1)) if every else smallest_of_kinds(found.found)
        rows = [
            (str(n), ", ".join(map(str, m.clears)), str(m.left), "\n".join(m.steps))
            for n, m in shown
        ]
        if asked is None and not any(len(m.clears) == len(told) for m in found.found):
            said = NONE_SO_FAR if stopped else NONE_CLEARS_ALL
            lines += [*textwrap.wrap(f"{said}:", width), ""]
        head = ("#", "clears", "left", "change, verified by the full check")
        lines += table(head, rows, right=frozenset((0, 2)), width=width)
        lines += _more_lines(len(found.found) - len(shown), width)
        key = f"clears: findings as `gapwright check` numbers them. {LEFT_IS}"
        lines += ["", *textwrap.wrap(key, width)]
    else:
        lines.append("no single change and no pair that was tried clears any of these")
        lines += textwrap.wrap(NOT_TRIED, width)
    if found.locked:
        lines += textwrap.wrap(f"Locked, and so not changed: {', '.join(found.locked)}.", width)
    lines.append("")
    if any(mend.cuts for mend in found.found):
        lines += textwrap.wrap(f"Caution: {CUT_CAUTION}", width)
    lines.append(f"{found.tried} changed layouts were checked.")
    if found.untried:
        lines.append(f"{found.untried} further pairs of changes were not tried.")
    if stopped:
        lines.append("Stopped before it was done; what was found so far is kept.")
    return lines


def smallest_of_kinds(found: Sequence[Mend]) -> list[tuple[int, Mend]]:
    """Return the changes that are told unasked, by number; all of them where they are few.

    Of one kind are those that change the same sorts of things and clear the same findings.
    """
    numbered = list(enumerate(found, start=1))
    if len(numbered) <= WHOLE_TO:
        return numbered
    first: dict[object, tuple[int, Mend]] = {}
    for number, mend in numbered:
        first.setdefault((mend.kinds, mend.clears), (number, mend))
    return list(first.values())


def _more_lines(more: int, width: int) -> list[str]:
    """Say how many changes are not printed, and how they are seen."""
    if not more:
        return []
    are = "is" if more == 1 else "are"
    said = f"{more} more of the same kinds {are} not printed: --all prints all; --apply takes any."
    return ["", *textwrap.wrap(said, width)]


def _told(number: int, found: Finding, width: int) -> list[str]:
    lead = f"{number}  {found.verdict.value.upper()}  "
    return textwrap.wrap(lead + found.title, width, subsequent_indent=" " * len(lead))


def _why(found: Finding, width: int) -> list[str]:
    """Return why a gap that is clear as drawn is not in the worst case, as lines."""
    if found.kind != WORST_CASE:
        return []
    return textwrap.wrap(found.advice, width, initial_indent="   ", subsequent_indent="   ")


COMMAND = Command(
    name="mend",
    about="""\
Find the smallest changes that clear blocked or tight findings.
Single changes first: slide a stack or a free part, turn a part, flip an exchanger, turn its ports,
fans on one face only, on the other side of the plate or in another order, thinner parts or the next
thicker, a smaller pump, the pump on another fan, other cells or another zone, another state of an
obstacle; and with --allow-cutting trimming an obstacle or cutting it out. Pairs are tried when no
single change clears all without cutting. Each has been verified by the full check on the changed
layout; none makes another fault. A long list is told by the smallest change of each kind.
"""
    + textwrap.fill(NOT_TRIED, HELP_WIDTH),
    examples="""\
  gapwright mend bench.json
  gapwright mend bench.json --finding 1 --allow-cutting
  gapwright mend bench.json --all
  gapwright mend bench.json --apply 1 -o mended.json

exit code 4: something is blocked or tight, and nothing that was tried clears it""",
    add_arguments=add_arguments,
    run=run,
)
