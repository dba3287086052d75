"""`gapwright search`: everything that fits, counted, the best of it, and near misses."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path
from time import perf_counter

from app.cli import console
from app.cli.command import Command, number, whole_number
from app.cli.desk import Desk
from app.cli.near_word import meant
from app.cli.outcome import Exit, Unusable
from app.cli.progress import Progress
from app.cli.search_table import search_lines, unbegun_lines
from app.cli.zone_words import zone_ids
from catalog.parts import Part
from catalog.store import Library, NotInLibraryError
from geometry.layout import Layout
from geometry.layout_file import read_layout, write_layout
from geometry.search.answers import MEASURES, Measure
from geometry.search.fault import SearchError, TooManyListed
from geometry.search.near.misses import NearMisses, near_misses
from geometry.search.near.words import near_text
from geometry.search.problem import Listed
from geometry.search.rows_csv import rows_csv
from geometry.search.run import Searched, Searching, search
from geometry.search.summary import every_row
from geometry.search.usual import USUAL_SECONDS, USUAL_SLIDES, USUAL_WANTED, usual
from geometry.search.wishes import FAN_PLACES, Wishes, wishes_from
from geometry.zone_names import zone_names


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="a layout file")
    parser.add_argument("--enclosure", metavar="NAME", help="an empty enclosure of the library")
    parser.add_argument(
        "--parts", nargs="+", metavar="PART",
        help="ids of parts of FILE or the library, or words that they answer to in quotes; "
        "default: all exchangers with ports on a face, fans 25 mm thick, and pumps",
    )  # fmt: skip
    parser.add_argument(
        "--want", default=",".join(USUAL_WANTED), metavar="A,B",
        help=f"what counts for the best trade-offs, of {', '.join(MEASURES)}; "
        f"default: {','.join(USUAL_WANTED)}",
    )  # fmt: skip
    parser.add_argument(
        "--zones", nargs="+", metavar="ZONE", help="ids or names of zones to fill; default: all"
    )
    parser.add_argument(
        "--finer", nargs=2, metavar="ZONE",
        help="tell of two zones what excludes what by thickness of exchangers and places of fans",
    )  # fmt: skip
    parser.add_argument(
        "--tight", action="store_true", help="allow what is tight; default: clear only"
    )
    parser.add_argument(
        "--pump", choices=("none", "allowed", "required"), default="none",
        help="a pump or pump-and-reservoir on an inner fan or a plate; default: none",
    )  # fmt: skip
    parser.add_argument(
        "--free-pumps", action="store_true",
        help="with --pump: a pump on its own feet or bracket too, at listed places",
    )  # fmt: skip
    parser.add_argument(
        "--fans", nargs="+", choices=FAN_PLACES, default=FAN_PLACES, metavar="PLACE",
        help=f"where fans may stand to a core, of {', '.join(FAN_PLACES)} (push-pull across the "
        "plate: on its other side and on the core's far face); default: all",
    )  # fmt: skip
    parser.add_argument(
        "--mixed-fans", action="store_true", help="fans of two kinds on the two faces of a core"
    )
    parser.add_argument(
        "--side-by-side", action="store_true",
        help="several exchangers on one zone too, and fans or a pump on the cells that they leave; "
        "very many more are listed, so name few --parts",
    )  # fmt: skip
    parser.add_argument(
        "--part-rows", action="store_true", help="fans on only some of the cells of a core too"
    )
    parser.add_argument(
        "--states", action="store_true",
        help="choose the states of obstacles too; default: as the layout has them",
    )  # fmt: skip
    parser.add_argument(
        "--judge", choices=("worst case", "nominal"),
        help="judge gaps so; default: as the layout says, and by worst case for an enclosure",
    )  # fmt: skip
    parser.add_argument(
        "--allow-cutting", action="store_true",
        help="near misses: look at cutting obstacles too; it is irreversible. Default: no cutting",
    )  # fmt: skip
    parser.add_argument(
        "--slides", type=whole_number, default=USUAL_SLIDES, metavar="N",
        help="slides listed along each slot: 1 as it lies, unslid or slid no farther than into its "
        "slots, 2 both ends too, 3 their middle too where it does not lie there, more are finer; "
        "the slide of what stands on a zone now is always listed too",
    )  # fmt: skip
    parser.add_argument(
        "--seconds", type=number, metavar="S",
        help="time for the trade-offs, and for the exact count before it becomes an estimate; "
        f"default: {USUAL_SECONDS:g}. Where it is given, near misses are cut short after it too",
    )  # fmt: skip
    parser.add_argument(
        "--details", nargs="*", type=whole_number, metavar="N",
        help="tell rows in full below the table, those with these numbers or, without one, all",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument("--csv", action="store_true", help="print the trade-offs as CSV")
    parser.add_argument("-o", "--out", metavar="OUT", help="write one row as a layout file")
    parser.add_argument(
        "--row", type=whole_number, default=1, metavar="N", help="which one; default: 1"
    )
    parser.add_argument(
        "--sheet", metavar="OUT.png",
        help="write the answer as sheets too, 300 dpi; further ones are OUT-2.png and so on",
    )  # fmt: skip
    parser.add_argument(
        "--paper", choices=("A4", "A3"), default="A3", type=str.upper,
        help="paper of the sheets; default: A3",
    )  # fmt: skip


def run(args: argparse.Namespace, desk: Desk) -> Exit:
    """Print what fits."""
    from app.cli.library_listing import opened_library

    sheet = _png(args.sheet)
    _refuse_what_cannot_be(args)
    library = opened_library()
    layout = _layout(args, library)
    if not 1 <= args.slides <= 41:
        raise Unusable(f"{args.slides} slides cannot be listed (choose 1 to 41)")
    wanted = wanted_of(args.want)
    wishes = wishes_of(args, library, layout)
    finer = _two_zones(args, layout, wishes)
    state = Searching("")
    near = NearMisses()
    seconds = USUAL_SECONDS if args.seconds is None else args.seconds
    stopped = False
    progress = Progress()
    try:
        for state in search(layout, wishes, wanted, seconds):
            progress.tell(state.stage)
        found = state.found
        if found is not None and (sheet is not None or not args.csv):
            start = perf_counter()
            parts = tuple(library.parts.values())
            for near in near_misses(
                found.problem, found.answer, wanted, parts,
                exclusions=found.exclusions, cutting=args.allow_cutting,
            ):  # fmt: skip
                progress.tell(near_text(near))
                if args.seconds is not None and perf_counter() - start > args.seconds:
                    break
    except TooManyListed as fault:
        raise Unusable(f"{fault}{_options_that_pass(fault)}") from fault
    except SearchError as fault:
        raise Unusable(str(fault)) from fault
    except KeyboardInterrupt:
        stopped = True
    progress.tell("")
    found = state.found
    if found is None:
        _say_nothing(args, layout, wanted, state.listed)
        return Exit.STOPPED
    _say(args, found, near, finer, stopped=stopped)
    if args.out:
        _write_row(found, args.out, args.row)
    if sheet is not None:
        from app.cli.search_sheet import write_search_sheets

        write_search_sheets(
            desk, sheet, args.paper, found, near,
            layout=layout, wishes=wishes, seconds=seconds,
            cutting=args.allow_cutting, stopped=stopped,
        )  # fmt: skip
    _refuse_missing(args.details, len(found.answer.rows))
    return Exit.STOPPED if stopped else Exit.OK


def _options_that_pass(fault: TooManyListed) -> str:
    """Return how what would pass is asked for, "--slides 7, or --judge nominal --slides 21"."""
    ways = [f"--slides {fault.slides}"] if fault.slides else []
    if fault.slides_as_drawn:
        ways.append(f"--judge nominal --slides {fault.slides_as_drawn}")
    return f"\nAs options: {', or '.join(ways)}." if ways else ""


def _refuse_what_cannot_be(args: argparse.Namespace) -> None:
    if args.seconds is not None and not args.seconds > 0:
        raise Unusable(f"{args.seconds:g} seconds are no time to search (give more than 0)")
    if args.row < 1:
        raise Unusable(f"there is no row {args.row} (rows are counted from 1)")
    if args.csv and args.json:
        raise Unusable("print either --csv or --json, not both")
    if args.details is not None and (args.csv or args.json):
        raise Unusable("--details is for the table (--json and --csv tell every row in full)")
    for row in args.details or ():
        if row < 1:
            raise Unusable(f"there is no row {row} (rows are counted from 1)")
    if args.free_pumps and args.pump == "none":
        raise Unusable("--free-pumps needs --pump allowed or --pump required")


def _two_zones(args: argparse.Namespace, layout: Layout, wishes: Wishes) -> tuple[str, str] | None:
    """Return the zones of which it is told more finely what excludes what."""
    if args.finer is None:
        return None
    if args.csv:
        raise Unusable("--finer is for the table and --json (--csv has rows only)")
    both = zone_ids(args.finer, layout.enclosure)
    known = [zone.id for zone in layout.enclosure.zones]
    for zone in both:
        if zone not in known:
            raise Unusable(f'there is no zone "{zone}" (there are {", ".join(known)})')
    if both[0] == both[1]:
        raise Unusable(f"--finer needs two zones ('{args.finer[1]}' is the first again)")
    names = zone_names(layout.enclosure)
    searched = known if wishes.zones is None else wishes.zones
    for zone in both:
        if zone not in searched:
            filled = ", ".join(names[one] for one in searched if one in names)
            raise Unusable(f"--finer: {names[zone]} is not searched (--zones asks for {filled})")
    return both[0], both[1]


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
    args: argparse.Namespace, layout: Layout, wanted: list[Measure], listed: tuple[Listed, ...]
) -> None:
    """Say that the search was stopped before it had an answer, in the form that was asked for."""
    if args.json:
        from app.cli.search_json import unbegun_file

        said = unbegun_file(layout, wanted, listed, tight=args.tight, cutting=args.allow_cutting)
        console.say(said.model_dump_json(indent=2))
    elif listed:
        console.say("\n".join(unbegun_lines(layout, listed)))
    console.complain("stopped before anything was found: rows come once all zones are judged")


def _png(text: str | None) -> Path | None:
    if text is None:
        return None
    out = Path(text)
    if out.suffix.lower() != ".png":
        raise Unusable(f"{out}: only PNG can be written (give a name that ends in .png)")
    return out


def _write_row(found: Searched, out: str, number: int) -> None:
    rows = found.answer.rows
    if not 1 <= number <= len(rows):
        raise Unusable(f"there is no row {number} (there are {len(rows)})")
    write_layout(Path(out), rows[number - 1].layout)
    console.complain(f"wrote row {number} to {out}")


def wanted_of(text: str) -> list[Measure]:
    """Return the measures that count, by their keys with commas between; Unusable if unknown."""
    keys = list(dict.fromkeys(word.strip() for word in text.split(",")))
    for key in keys:
        if key not in MEASURES:
            known = f"there are {', '.join(MEASURES)}"
            raise Unusable(f"'{key}' is no measure ({known}){meant(key, MEASURES)}")
    return [MEASURES[key] for key in keys]


def _layout(args: argparse.Namespace, library: Library) -> Layout:
    if bool(args.file) == bool(args.enclosure):
        raise Unusable("give a layout FILE or --enclosure NAME (see `gapwright enclosures`)")
    if args.file:
        return read_layout(Path(args.file))
    try:
        enclosure = library.enclosure(args.enclosure)
    except NotInLibraryError as fault:
        known = ", ".join(library.enclosures)
        near = meant(args.enclosure, library.enclosures)
        raise Unusable(f"{fault} (there are {known}){near}") from fault
    return Layout(name=enclosure.name, enclosure=enclosure)


def wishes_of(args: argparse.Namespace, library: Library, layout: Layout) -> Wishes:
    """Return what is asked for, with parts of a layout or the library. Raises Unusable."""
    return wishes_from(
        _parts(args, library, layout),
        Wishes(
            tight_allowed=args.tight,
            slide_steps=args.slides,
            pump=args.pump,
            free_pumps=args.free_pumps,
            fan_places=tuple(args.fans),
            mixed_fans=args.mixed_fans,
            side_by_side=args.side_by_side,
            part_rows=args.part_rows,
            obstacle_states=args.states,
            judge=args.judge,
            zones=None if args.zones is None else zone_ids(args.zones, layout.enclosure),
        ),
    )


def _parts(args: argparse.Namespace, library: Library, layout: Layout) -> list[Part]:
    """Return the parts to use; a part of the layout counts before one of the library."""
    shelf: dict[str, Part] = {**library.parts, **layout.parts}
    if args.parts is None:
        return [p for p in shelf.values() if usual(p)]
    found: dict[str, Part] = {}
    for words in args.parts:
        if not words.strip():
            raise Unusable("'' names no part (leave --parts out for the usual ones)")
        if words in shelf:
            answers = [shelf[words]]
        else:
            answers = [shelf[part.id] for part in library.search(words)]
            answers += [p for p in layout.parts.values() if _answers(p, words)]
        if not answers:
            raise Unusable(f"no part of the library answers to '{words}' (see `gapwright parts`)")
        found.update((one.id, one) for one in answers)
    return list(found.values())


def _answers(part: Part, words: str) -> bool:
    text = f"{part.id} {part.name}".lower()
    return all(word in text for word in words.lower().split())


COMMAND = Command(
    name="search",
    about="""\
Say everything that fits: every combination over all mount zones, counted.
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
