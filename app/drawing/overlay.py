"""What lies over the board while one works on it: lit zones and parts, the ghost and its figure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from app.drawing.drafting import Drafting
from app.drawing.fontmetrics import fitted, text_width_mm
from app.drawing.frame import BoardFrame, ViewFrame
from app.drawing.owners import Shown, owners_of
from app.drawing.primitives import (
    XY,
    Bounds,
    Fill,
    Group,
    Ink,
    LineType,
    Path,
    Primitive,
    Stroke,
    Text,
)
from app.drawing.silhouettes import drawn, inside, outline_in, overlaps, rectangle
from app.drawing.verdict_words import VERDICT_INK
from geometry.finding import Finding
from geometry.placement import ZoneFrame
from geometry.scene import Scene

ZONE_LEVEL, LIT_LEVEL, GHOST_LEVEL, NOTE_LEVEL = 900, 8_000, 8_200, 9_900
NOTE_OFF_PX = 18.0
NOTE_MOST_PX = 340.0
LOUD, LINE_STEP = 1.35, 1.75


NoteLine = tuple[str, Ink, bool]
"""A line of a note, its ink, and whether it is loud."""


class Note(NamedTuple):
    """Lines of text beside the pointer; the first may be a figure with its verdict's ink.

    They stand off a rectangle where there is room for that: the part which they are about.
    """

    at: XY
    lines: tuple[NoteLine, ...]
    off: Bounds | None = None


def zone_groups(
    scene: Scene, frame: BoardFrame, zones: Sequence[str], drafting: Drafting
) -> Iterator[Group]:
    """Yield the zones that can take the part under way, lit."""
    for view in frame.views:
        for zone_id in zones:
            zone = scene.frames[zone_id]
            if zone.present:
                shapes = _lit_zone(zone, view, drafting)
                yield Group(f"lit-zone:{view.name}:{zone_id}", shapes, ZONE_LEVEL)


def _lit_zone(zone: ZoneFrame, view: ViewFrame, drafting: Drafting) -> tuple[Primitive, ...]:
    wide = drafting.wide(Ink.ZONE)
    long, broad = zone.zone.length_mm, zone.zone.width_mm
    corners = tuple(
        view.to_board(zone.pose.point((u, v, 0.0)))
        for u, v in ((0.0, 0.0), (long, 0.0), (long, broad), (0.0, broad))
    )
    if zone.inward.axis == view.toward.axis:
        return (Path(corners, wide, closed=True, fill=Fill(Ink.ZONE)),)
    thick = 5 * drafting.unit_mm
    (x0, y0), (x1, y1) = corners[0], corners[2]
    dx, dy = (0.0, thick) if abs(x1 - x0) > abs(y1 - y0) else (thick, 0.0)
    band = ((x0 - dx, y0 - dy), (x1 - dx, y1 - dy), (x1 + dx, y1 + dy), (x0 + dx, y0 + dy))
    return (Path(band, wide, closed=True, fill=Fill(Ink.ZONE)),)


def ghost_groups(
    scene: Scene, frame: BoardFrame, part_id: str, drafting: Drafting
) -> Iterator[Group]:
    """Yield the outline of the part under way, in the line type of moving parts' positions."""
    line = drafting.wide(Ink.SELECTION, LineType.DOUBLE_CHAIN)
    solids = [solid for solid in scene.solids_of.get(part_id, ()) if solid.hard]
    for view in frame.views:
        shapes = tuple(
            drawn(outline_in(view, prism), line) for solid in solids for prism in solid.prisms
        )
        yield Group(f"ghost:{view.name}", shapes, GHOST_LEVEL)


def lit_groups(
    scene: Scene, frame: BoardFrame, finding: Finding, drafting: Drafting
) -> Iterator[Group]:
    """Yield the parts of a finding, outlined in its verdict's ink."""
    line = drafting.wide(VERDICT_INK[finding.verdict])
    heavy = line._replace(width_mm=line.width_mm * 1.7)
    concerned = [shown for shown in owners_of(scene) if shown.owner in finding.ids]
    for view in frame.views:
        for shown in concerned:
            yield Group(f"lit:{view.name}:{shown.owner}", _outlines(shown, view, heavy), LIT_LEVEL)


def _outlines(shown: Shown, view: ViewFrame, line: Stroke) -> tuple[Primitive, ...]:
    return tuple(
        drawn(outline_in(view, prism), line)
        for solid in (shown.hard or shown.solids)
        for prism in solid.prisms
    )


def note_group(note: Note, seen: Bounds, drafting: Drafting) -> Group:
    """Return the lines beside the pointer in a box that keeps within what is seen."""
    unit, pad = drafting.unit_mm, 6 * drafting.unit_mm
    room = max(0.0, seen[2] - seen[0] - 4 * pad)
    heights = [drafting.cap_mm * (LOUD if loud else 1.0) for _, _, loud in note.lines]
    texts = [
        fitted(text, height, min(room, NOTE_MOST_PX * unit), bold=loud)
        for (text, _, loud), height in zip(note.lines, heights, strict=True)
    ]
    wide = 2 * pad + max(
        text_width_mm(text, height, bold=loud)
        for text, height, (_, _, loud) in zip(texts, heights, note.lines, strict=True)
    )
    high = 2 * pad + sum(heights) * LINE_STEP - heights[-1] * (LINE_STEP - 1.0)
    off = NOTE_OFF_PX * unit
    x, y = note.at[0] + off, note.at[1] + off
    if x + wide > seen[2]:
        x = max(seen[0], note.at[0] - off - wide)
    if y + high > seen[3]:
        y = max(seen[1], note.at[1] - off - high)
    x, y = _off_part((x, y), (wide, high), note.off, seen, off)
    box = rectangle((x, y, x + wide, y + high), drafting.narrow(Ink.SELECTION), Fill(Ink.PAPER))
    out: list[Primitive] = [box]
    y += pad
    for text, height, (_, ink, loud) in zip(texts, heights, note.lines, strict=True):
        out.append(Text((x + pad, y), text, height, ink, up="top", bold=loud))
        y += height * LINE_STEP
    return Group("note", tuple(out), NOTE_LEVEL)


def _off_part(at: XY, size: XY, part: Bounds | None, seen: Bounds, gap: float) -> XY:
    """Return where a note's corner goes to be seen whole and off the part, if there is room.

    Beside, below or above the part, where it is nearest to the pointer.
    """
    (x, y), (wide, high) = at, size
    if part is None or not overlaps((x, y, x + wide, y + high), part):
        return at
    corners = [
        (left, top)
        for left, top in (
            (part[2] + gap, y),
            (part[0] - gap - wide, y),
            (x, part[3] + gap),
            (x, part[1] - gap - high),
        )
        if inside((left, top, left + wide, top + high), seen)
    ]
    return min(corners, key=lambda corner: math.dist(corner, at), default=at)
