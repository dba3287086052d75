"""What `gapwright search` is asked for: its arguments, and the wishes that they make."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path

from app.cli.command import CommaList, number, one_of, whole_number
from app.cli.outcome import Unusable
from app.cli.similar_words import meant
from app.cli.zone_words import zone_ids
from catalog.files import refuse_unsavable
from catalog.parts import Part
from catalog.store import Library, NotInLibraryError
from geometry.layout import Layout
from geometry.layout_file import read_layout
from geometry.search.answers import MEASURES, Measure
from geometry.search.usual import USUAL_SECONDS, USUAL_SLIDES, USUAL_WANTED, usual
from geometry.search.wishes import FAN_PLACES, Judging, Wishes, wishes_from
from geometry.zone_names import zone_names


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="a layout file")
    parser.add_argument("--enclosure", metavar="NAME", help="an empty enclosure of the library")
    parser.add_argument(
        "--parts", nargs="+", metavar="PART",
        help="ids of parts of FILE or the library, or words that they answer to in quotes, with "
        "blanks or commas between; default: all exchangers with ports on a face, fans 25 mm "
        "thick, and pumps",
    )  # fmt: skip
    parser.add_argument(
        "--want", default=",".join(USUAL_WANTED), metavar="A,B",
        help=f"what counts for the best trade-offs, of {', '.join(MEASURES)}; "
        f"default: {','.join(USUAL_WANTED)}",
    )  # fmt: skip
    parser.add_argument(
        "--zones", nargs="+", metavar="ZONE",
        help="ids or names of zones to fill, with blanks or commas between; default: all",
    )  # fmt: skip
    parser.add_argument(
        "--finer", nargs="+", metavar="ZONE",
        help="show for two zones what excludes what, by thickness of exchangers and places of fans",
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
        "--fans", nargs="+", action=CommaList, each=one_of(FAN_PLACES), default=FAN_PLACES,
        metavar="PLACE",
        help=f"where fans may stand on a core, of {', '.join(FAN_PLACES)} (push-pull across the "
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
        "--judge", type=_judged_by, metavar="worst-case|as-drawn",
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
        "the slide of what stands on a zone now is always listed too; "
        f"default: {USUAL_SLIDES}",
    )  # fmt: skip
    parser.add_argument(
        "--seconds", type=number, metavar="S",
        help="time for the trade-offs, and for the exact count before it becomes an estimate; "
        f"default: {USUAL_SECONDS:g}. Where it is given, near misses are cut short after it too",
    )  # fmt: skip
    parser.add_argument(
        "--details", nargs="*", action=CommaList, each=whole_number, metavar="N",
        help="show rows in full below the table: those with these numbers or, without one, all",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument("--csv", action="store_true", help="print the trade-offs as CSV")
    parser.add_argument("-o", "--out", metavar="OUT", help="write one row as a layout file")
    parser.add_argument(
        "--row", type=whole_number, metavar="N", help="which row -o writes; default: 1"
    )
    parser.add_argument(
        "--sheet", metavar="OUT.png",
        help="write the answer as sheets too, 300 dpi; further ones are OUT-2.png and so on",
    )  # fmt: skip
    parser.add_argument(
        "--paper", choices=("A4", "A3"), default="A3", type=str.upper,
        help="paper of the sheets; default: A3",
    )  # fmt: skip


def refuse_what_cannot_be(args: argparse.Namespace) -> None:
    """Refuse what can be told to be wrong before anything is read.

    Raises Unusable, and DataError where a file that is to be written cannot be.
    """
    if args.seconds is not None and not args.seconds > 0:
        raise Unusable(f"{args.seconds:g} seconds are no time to search (give more than 0)")
    if args.row is not None and args.row < 1:
        raise Unusable(f"there is no row {args.row} (rows are counted from 1)")
    if args.row is not None and args.out is None:
        raise Unusable("--row says which row -o writes (give -o OUT too)")
    if args.csv and args.json:
        raise Unusable("print either --csv or --json, not both")
    if args.details is not None and (args.csv or args.json):
        raise Unusable("--details is for the table (--json and --csv tell every row in full)")
    for row in args.details or ():
        if row < 1:
            raise Unusable(f"there is no row {row} (rows are counted from 1)")
    if args.free_pumps and args.pump == "none":
        raise Unusable("--free-pumps needs --pump allowed or --pump required")
    for out in (args.out, args.sheet):
        if out is not None:
            refuse_unsavable(Path(out))


def zones_told_finer(
    args: argparse.Namespace, layout: Layout, wishes: Wishes
) -> tuple[str, str] | None:
    """Return the zones of which it is told more finely what excludes what."""
    if args.finer is None:
        return None
    if args.csv:
        raise Unusable("--finer is for the table and --json (--csv has rows only)")
    both = zone_ids(args.finer, layout.enclosure)
    if len(both) != 2:
        raise Unusable(f"--finer needs two zones (it was given {len(both)})")
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


def png_path(text: str | None) -> Path | None:
    if text is None:
        return None
    out = Path(text)
    if out.suffix.lower() != ".png":
        raise Unusable(f"{out}: only PNG can be written (give a name that ends in .png)")
    return out


def wanted_of(text: str) -> list[Measure]:
    """Return the measures that count, by their keys with commas between; Unusable if unknown."""
    keys = list(dict.fromkeys(word.strip() for word in text.split(",")))
    for key in keys:
        if key not in MEASURES:
            known = f"there are {', '.join(MEASURES)}"
            raise Unusable(f"'{key}' is no measure ({known}){meant(key, MEASURES)}")
    return [MEASURES[key] for key in keys]


def layout_of(args: argparse.Namespace, library: Library) -> Layout:
    if args.file and args.enclosure:
        raise Unusable("give a layout FILE or --enclosure NAME, not both")
    if not args.file and not args.enclosure:
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
        # Names hold commas too: only what answers to nothing as a whole is a list.
        whole = _answering(words, shelf, library, layout)
        for one in [words] if whole else words.split(","):
            if not one.strip():
                raise Unusable("'' names no part (leave --parts out for the usual ones)")
            answers = whole or _answering(one.strip(), shelf, library, layout)
            if not answers:
                raise Unusable(f"no part of the library matches '{one}' (see `gapwright parts`)")
            found.update((part.id, part) for part in answers)
    return list(found.values())


def _answering(
    words: str, shelf: Mapping[str, Part], library: Library, layout: Layout
) -> list[Part]:
    """Return the parts that answer to some words, or the one whose id they are."""
    if not words.strip():
        return []
    if words in shelf:
        return [shelf[words]]
    listed = [shelf[part.id] for part in library.search(words)]
    wanted = words.lower().split()
    own = (
        part
        for part in layout.parts.values()
        if all(word in f"{part.id} {part.name}".lower() for word in wanted)
    )
    return [*listed, *own]


def _judged_by(text: str) -> Judging:
    """Return how gaps are judged; "nominal", as the layout file has it, is as drawn."""
    if text == "nominal":
        return "nominal"
    found = one_of(("worst case", "as drawn"))(text)
    return "worst case" if found == "worst case" else "nominal"
