"""`gapwright depth`: how far from a zone's plate the next solid stands, along the zone.

Each stretch is told as drawn, in the worst case and within statistical limits, and so is the least
depth over the whole footprint.
"""

from __future__ import annotations

import argparse
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from app.cli import console
from app.cli.command import Command
from app.cli.desk import Desk
from app.cli.figure_lines import figure_lines
from app.cli.figures import mm_text, table
from app.cli.json_text import json_text
from app.cli.outcome import Exit, Unusable
from app.cli.similar_words import meant
from app.cli.zone_words import zone_id
from geometry.layout_file import read_layout
from geometry.scene import build_scene
from geometry.stackup.stack_ups import COVERAGE

if TYPE_CHECKING:
    from geometry.measures.envelope import DepthPiece
    from geometry.stackup.profile_figures import ProfileFigures
    from geometry.stackup.stack_ups import Figure
    from geometry.zone_profile import ZoneProfile

WIDTH = 100

STRETCHES_NOTE = (
    "Stretches begin and end as drawn; each is measured to its own solid. The least depth counts "
    "also what may come in from beside them. A stack leaves this less what it takes up and is off."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("file", metavar="FILE", help="a layout file")
    parser.add_argument("--zone", required=True, metavar="ZONE", help="the zone's id or name")
    parser.add_argument(
        "--side",
        choices=("inner", "outer"),
        default="inner",
        help="of the plate; inner if not said",
    )
    parser.add_argument(
        "--across", action="store_true", help="along the zone's width, not along its length"
    )
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument(
        "--contributors",
        action="store_true",
        help="list every dimension that has a share in the least depth, not just the largest",
    )


def run(args: argparse.Namespace, desk: Desk) -> Exit:  # noqa: ARG001 - needs no screen
    """Print the profile of one zone."""
    from geometry.stackup.profile_figures import profile_figures
    from geometry.zone_profile import zone_profile

    layout = read_layout(Path(args.file))
    zones = [zone.id for zone in layout.enclosure.zones]
    zone = zone_id(args.zone, layout.enclosure)
    if zone not in zones:
        near = meant(args.zone, (*zones, *(zone.name for zone in layout.enclosure.zones)))
        known = f"there is {', '.join(zones)}"
        raise Unusable(f"'{args.zone}' is no zone of this layout ({known}){near}")
    scene = build_scene(layout)
    try:
        found = zone_profile(scene, zone, args.side, across=args.across)
    except ValueError as fault:
        raise Unusable(f"{fault} (try the other --side)") from fault
    figures = profile_figures(scene, found)
    if args.json:
        from app.cli.depth_json import depth_file

        said = depth_file(args.file, found, figures)
        console.say(json_text(said.model_dump(mode="json")))
    else:
        lines = profile_lines(found, figures, contributors=args.contributors)
        console.say("\n".join(lines))
    return Exit.OK


def profile_lines(
    found: ZoneProfile, figures: ProfileFigures, *, contributors: bool = False
) -> list[str]:
    """Return the profile as a table, from the zone's corner on, and the least depth below it."""
    lines = [
        f"{found.names[found.zone.zone.id]}, {found.side} side: depth from the plate, along "
        f"{found.along.name} from the zone's corner",
        "",
    ]
    by_piece = dict(zip(found.profile.pieces, figures.pieces, strict=True))
    rows = []
    for a, b, piece in found.pieces():
        figure = by_piece[piece]
        name = found.names.get(str(piece.key), "nothing in its way")
        worst = "" if figure is None else mm_text(figure.worst.worst_mm)
        rows.append((mm_text(a), mm_text(b), _depth_text(found, piece), worst, _span(figure), name))
    head = ("from mm", "to mm", "depth mm", "worst mm", "statistical mm", "next solid")
    lines += table(head, rows, right=frozenset(range(4)), width=WIDTH)
    lines += ["", f"least depth {mm_text(found.profile.least_mm)} mm"]
    if figures.least is not None:
        lines += [
            f"  {line}"
            for told in figure_lines(figures.least, contributors)
            for line in textwrap.wrap(told, WIDTH - 2, subsequent_indent="  ")
        ]
    if found.stack_mm:
        top = max(height for _, _, height in found.stack_mm)
        lines.append(f"the stack on it reaches {mm_text(top)} mm")
    worst = f"Worst case: all dimensions off at once. Statistical: {COVERAGE}."
    return [*lines, "", *textwrap.wrap(f"{worst} {STRETCHES_NOTE}", WIDTH)]


def _span(figure: Figure | None) -> str:
    """Return the statistical limits of a stretch: "44.2 to 45.8"."""
    if figure is None:
        return ""
    return f"{mm_text(figure.likely_least_mm)} to {mm_text(figure.likely_most_mm)}"


def _depth_text(found: ZoneProfile, piece: DepthPiece) -> str:
    """Return the depth of a piece: one figure where it is level, else from end to end.

    The least is told too where it is at neither end.
    """
    first, last, least = (mm_text(mm) for mm in (*found.ends_mm(piece), piece.least()))
    ends = first if first == last else f"{first} to {last}"
    return ends if least in (first, last) else f"{ends}, least {least}"


COMMAND = Command(
    name="depth",
    about="""\
Measure how far from a zone's plate the next solid stands, along the zone.
The depth is exact, with the places where another solid, or another side of one, becomes the
nearest. Parts of the stack on the zone do not count, so that one sees where a thicker part
would still go. Each depth is given as drawn, in the worst case of all tolerances, and within
statistical limits; `gapwright check` tells what a stack that stands there leaves.""",
    examples="""\
  gapwright depth bench.json --zone front-zone
  gapwright depth bench.json --zone front-zone --contributors
  gapwright depth bench.json --zone front-zone --side outer --json""",
    add_arguments=add_arguments,
    run=run,
)
