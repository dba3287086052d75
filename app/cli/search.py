"""`gapwright search`: everything that fits, counted, the best of it, and near misses."""

from __future__ import annotations

import argparse
import shutil
from dataclasses import dataclass, field
from pathlib import Path
from time import perf_counter

from app.cli import console
from app.cli.command import Command
from app.cli.desk import Desk
from app.cli.outcome import Exit, Unusable
from app.cli.progress import Progress
from app.cli.search_arguments import (
    add_arguments,
    layout_of,
    png_path,
    refuse_what_cannot_be,
    wanted_of,
    wishes_of,
    zones_told_finer,
)
from app.cli.search_rows import in_printed_order
from app.cli.search_table import search_lines, unbegun_lines
from catalog.parts import Part
from geometry.layout import Layout
from geometry.layout_file import write_layout
from geometry.search.answers import Measure
from geometry.search.fault import SearchError, TooManyListed
from geometry.search.near.misses import NearMisses, near_misses
from geometry.search.near.summary import near_found
from geometry.search.near.words import near_text
from geometry.search.rows_csv import rows_csv
from geometry.search.run import Searched, Searching, search
from geometry.search.summary import every_row, summary
from geometry.search.usual import USUAL_SECONDS
from geometry.search.wishes import Wishes


@dataclass
class _Look:
    """A look for what fits: what is asked for, and what was found until it ended or was stopped."""

    args: argparse.Namespace
    layout: Layout
    wishes: Wishes
    wanted: list[Measure]
    parts: tuple[Part, ...]
    state: Searching | None = None
    near: NearMisses = field(default_factory=NearMisses)
    stopped: bool = False

    @property
    def seconds(self) -> float:
        """How long the search may take."""
        return USUAL_SECONDS if self.args.seconds is None else float(self.args.seconds)

    @property
    def found(self) -> Searched | None:
        """What was found, numbered as it is printed; None before there is anything."""
        return None if self.state is None else in_printed_order(self.state.found)

    def to_its_end(self) -> None:
        """Look, telling how far it is, until all is found or Ctrl-C. Raises SearchError."""
        progress = Progress()
        try:
            for state in search(self.layout, self.wishes, self.wanted, self.seconds):
                self.state = state
                progress.tell(state.stage.text)
            if self.args.sheet is not None or not self.args.csv:
                self._for_near_misses(progress)
        except KeyboardInterrupt:
            self.stopped = True
        progress.tell("")

    def _for_near_misses(self, progress: Progress) -> None:
        """Look for near misses: for so many seconds where that is asked for, else all of them."""
        found, start = self.found, perf_counter()
        if found is None:
            return
        for near in near_misses(
            found.problem, found.answer, self.wanted, self.parts,
            exclusions=found.exclusions, cutting=self.args.allow_cutting,
        ):  # fmt: skip
            self.near = near
            progress.tell(near_text(near))
            if self.args.seconds is not None and perf_counter() - start > self.seconds:
                break


def run(args: argparse.Namespace, desk: Desk) -> Exit:
    """Print what fits."""
    from app.cli.library_listing import opened_library

    sheet = png_path(args.sheet)
    refuse_what_cannot_be(args)
    library = opened_library()
    layout = layout_of(args, library)
    if not 1 <= args.slides <= 41:
        raise Unusable(f"{args.slides} slides cannot be listed (choose 1 to 41)")
    wanted = wanted_of(args.want)
    wishes = wishes_of(args, library, layout)
    finer = zones_told_finer(args, layout, wishes)
    look = _Look(args, layout, wishes, wanted, tuple(library.parts.values()))
    try:
        look.to_its_end()
    except TooManyListed as fault:
        raise Unusable(f"{fault}{_options_that_pass(fault)}") from fault
    except SearchError as fault:
        raise Unusable(str(fault)) from fault
    found = look.found
    if found is None:
        _say_nothing(args, layout, wanted, look.state)
        return Exit.STOPPED
    _say(args, found, look.near, finer, stopped=look.stopped)
    if sheet is not None:
        _write_sheets(desk, sheet, look, found)
    if args.out:
        _write_row(found, args.out, args.row or 1, stopped=look.stopped)
    _refuse_missing(args.details, len(found.answer.rows))
    if look.stopped:
        return Exit.STOPPED
    return Exit.NOTHING_FOUND if found.only_empty else Exit.OK


def _options_that_pass(fault: TooManyListed) -> str:
    """Return how what would pass is asked for, "--slides 7, or --judge as-drawn --slides 21"."""
    ways = [f"--slides {fault.slides}"] if fault.slides else []
    if fault.slides_as_drawn:
        ways.append(f"--judge as-drawn --slides {fault.slides_as_drawn}")
    return f"\nAs options: {', or '.join(ways)}." if ways else ""


def _say(
    args: argparse.Namespace,
    found: Searched,
    near: NearMisses,
    zones: tuple[str, str] | None,
    *,
    stopped: bool,
) -> None:
    finer = [one.of(zones) for one in found.finer if zones is not None and {*zones} == {*one.zones}]
    if args.json:
        from app.cli.search_json import search_file

        said = search_file(found, near, finer=finer, cutting=args.allow_cutting, stopped=stopped)
        console.say(said.model_dump_json(indent=2))
    elif args.csv:
        console.say(rows_csv(every_row(found)))
    else:
        width = max(72, shutil.get_terminal_size((110, 24)).columns)
        lines = search_lines(
            found, near, width,
            in_full=_in_full(args.details, len(found.answer.rows)), finer=zones,
            cutting=args.allow_cutting, stopped=stopped,
        )  # fmt: skip
        console.say("\n".join(lines))


def _in_full(asked: list[int] | None, count: int) -> list[int]:
    """Return the numbers of the rows that are told in full, of those asked for that there are."""
    if asked is None:
        return []
    return [row for row in asked if 1 <= row <= count] if asked else list(range(1, count + 1))


def _refuse_missing(asked: list[int] | None, count: int) -> None:
    """Complain, once all else is told, about a row in full that there is not."""
    for row in asked or ():
        if not 1 <= row <= count:
            raise Unusable(f"there is no row {row} (there are {count})")


def _say_nothing(
    args: argparse.Namespace, layout: Layout, wanted: list[Measure], state: Searching | None
) -> None:
    """Say that the search was stopped before it had an answer, in the form that was asked for."""
    listed = () if state is None else state.listed
    if args.json:
        from app.cli.search_json import unbegun_file

        said = unbegun_file(layout, wanted, listed, tight=args.tight, cutting=args.allow_cutting)
        console.say(said.model_dump_json(indent=2))
    elif args.csv:
        console.say(rows_csv(()))
    elif listed:
        console.say("\n".join(unbegun_lines(layout, listed)))
    console.complain(
        "stopped before anything was found: rows come once all zones, and what goes together of "
        "each two, are checked"
    )
    if state is not None:
        console.complain(f"stopped at: {state.stage.text}")


def _write_sheets(desk: Desk, sheet: Path, look: _Look, found: Searched) -> None:
    from app.cli.search_sheet import write_search_sheets
    from app.sheet.fits_content import Fits

    near = near_found(found.problem, look.near, cutting=look.args.allow_cutting)
    fits = Fits(
        look.layout, look.wishes, look.seconds, summary(found), every_row(found), near, look.stopped
    )
    write_search_sheets(desk, sheet, look.args.paper, fits)


def _write_row(found: Searched, out: str, number: int, *, stopped: bool) -> None:
    rows = found.answer.rows
    if not 1 <= number <= len(rows):
        raise Unusable(f"there is no row {number} (there are {len(rows)})")
    write_layout(Path(out), rows[number - 1].layout)
    early = ", of those found before the search was stopped" if stopped else ""
    console.note(f"wrote row {number} to {out}{early}")


COMMAND = Command(
    name="search",
    about="""\
Count every combination over all mount zones that fits, and list the best.
An option of a zone is an exchanger in any of its turns, either face to the plate, with fans before,
behind, on both faces, on the other side of the plate or across it, at a listed slide; fans alone;
or nothing; with --pump also a pump on one of its innermost fans, or on the plate, in any turn. On
request several exchangers on one zone, fans alone beside one, and fans on some cells of a core are
listed too: many more. Not listed: two exchangers one over the other, or one on each side of a
plate; two rows of fans on one face; fans of several kinds in a row, or turned so that their plugs
look another way; gaskets and adapters; air that goes outward; slides between the listed ones; more
than one pump, or one on the outer side of a plate; parts elsewhere than on zones, but for a pump
with --free-pumps. Stacks in FILE are taken out of the zones that are searched, unless they are
locked; all else stays. Every row that is printed has passed the full check. Leftover and cables are
measured against what stood before the search; `gapwright check` on a written row gives the depths
with all of it in place. Near misses would be more than any row and are refused for few things; for
each the single changes are named that let it in, each verified by the full check. Cutting is not
among them but with --allow-cutting. Progress goes to standard error, to a file every ten seconds.
Ctrl-C keeps what was found: rows come once all options of all zones are listed and judged, then the
count, what excludes what, the largest and near misses; before there are rows it tells of each zone
how many options were listed, and how many of them stand.""",
    examples="""\
  gapwright search --enclosure bench-box
  gapwright search --enclosure bench-box --details 1 3
  gapwright search --enclosure bench-box --want volume,leftover -o best.json --row 2
  gapwright search --enclosure tall-tower --want area,volume --allow-cutting
  gapwright search --enclosure bench-box --finer front-zone floor-zone
  gapwright search bench.json --parts "radiator 120" fan-120-25 --sheet what-fits.png --paper A4
  gapwright search bench.json --parts "radiator 120" fan-120-25 --tight --csv > rows.csv""",
    add_arguments=add_arguments,
    run=run,
)
