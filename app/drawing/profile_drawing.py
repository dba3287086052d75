"""The depth profile of a zone drawn over it: where the next solid stands, with its breakpoints.

The free room is hatched from the plate to the profile; each piece has its depth ("120.0 deep"),
each breakpoint its place along the zone ("at 60.0"), counted from the zone's corner, which has the
circle of an origin (ISO 129-1, running dimensions). It is drawn in the views that show both in true
length.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf
from typing import TYPE_CHECKING, Literal

from app.drawing.board_making import LEVEL_LABEL
from app.drawing.dimensions import WIDE_ROOM, Room
from app.drawing.fontmetrics import text_width_mm
from app.drawing.labels import figure_box
from app.drawing.primitives import (
    XY,
    Bounds,
    Circle,
    Drawing,
    Group,
    Ink,
    LineType,
    Path,
    Primitive,
    Text,
)
from app.drawing.verdict_words import figure_text

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting
    from app.drawing.frame import BoardFrame, ViewFrame
    from app.drawing.verdict_words import Write
    from geometry.measures.envelope import DepthPiece
    from geometry.zone_profile import ZoneProfile

LEVEL = 8_100
"""Over the parts, under the notes of a running gesture."""

CURVE_STEPS = 24
"""Chords by which a round stretch is drawn."""

Across = Literal["left", "middle", "right"]

DEPTH_WORD, PLACE_WORD = "deep", "at"
"""What tells a depth off the plate from a place along the zone; both in mm."""

SPOTS = (0.0, -0.5, 0.5, -1.0, 1.0)
"""Where along a piece its depth may stand, as shares of the way from its middle to its ends."""

OPEN_SHARE = 0.5
"""What has nothing before it is drawn this part of the zone's length deep."""


def profile_groups(
    found: ZoneProfile, frame: BoardFrame, drafting: Drafting, room: Room = WIDE_ROOM
) -> Iterator[Group]:
    """Yield the profile in every view that shows its side and its depth in true length.

    A figure for which the `room` has no place is left out; the profile itself is to scale.
    """
    for view in frame.views:
        if view.direction(found.along) is not None and view.direction(found.way) is not None:
            key = f"profile:{view.name}:{found.zone.zone.id}:{found.side}"
            yield Group(key, tuple(_profile(found, view, drafting, room)), LEVEL)


def room_beside(drawing: Drawing, sheet: Bounds | None) -> Room:
    """Return the room that the names, figures and balloons of a board leave."""
    taken: list[Bounds] = []
    for group in drawing.groups:
        if group.level >= LEVEL_LABEL:
            for one in group.primitives:
                if isinstance(one, Text):
                    taken.append(figure_box(one))
                elif isinstance(one, Circle):
                    (x, y), r = one.centre, one.radius_mm
                    taken.append((x - r, y - r, x + r, y + r))
    return Room(tuple(taken), (), sheet)


def _profile(
    found: ZoneProfile, view: ViewFrame, drafting: Drafting, room: Room
) -> Iterator[Primitive]:
    deepest = _open_mm(found)
    line: list[XY] = []
    for piece in found.profile.pieces:
        line += [view.to_board(found.point(t, d)) for t, d in _curve(piece, deepest)]
    first, last = found.profile.pieces[0].t0, found.profile.pieces[-1].t1
    base = [view.to_board(found.point(t, 0.0)) for t in (last, first)]
    hatch = drafting.hatch(Ink.ZONE, "diagonal", 2.0)
    yield Path((*line, *base), None, closed=True, fill=hatch)
    yield Path(tuple(line), drafting.wide(Ink.ZONE))
    for piece in found.profile.pieces[:-1]:
        ends = (found.point(piece.t1, 0.0), found.point(piece.t1, _at(piece, piece.t1, deepest)))
        dashed = drafting.narrow(Ink.ZONE, LineType.DASHED)
        yield Path((view.to_board(ends[0]), view.to_board(ends[1])), dashed)
    yield from _figures(found, view, drafting, deepest, room)


def _figures(
    found: ZoneProfile, view: ViewFrame, drafting: Drafting, deepest: float, room: Room
) -> Iterator[Primitive]:
    cap = drafting.cap_mm
    across = view.direction(found.along)
    assert across is not None
    upright = across[0] == 0.0
    back = view.direction(-found.way)
    assert back is not None
    side: Across = "middle" if back[0] == 0 else "left" if back[0] > 0 else "right"
    free_mm = -1e9
    ends = (found.profile.pieces[0].t0, found.profile.pieces[-1].t1)
    corner = view.to_board(found.point(ends[0] if found.along.sign > 0 else ends[1], 0.0))
    yield Circle(corner, 0.3 * cap, drafting.narrow(Ink.MUTED))
    for t0, _, piece in sorted(found.pieces(), key=lambda one: one[0]):
        depth = _depth(piece, found, view, drafting, deepest, room)
        if depth is not None:
            room = room.without(figure_box(depth))
            yield depth
        # The places of breakpoints stand along the plate, as many as have room.
        place = f"{PLACE_WORD} {drafting.figure(t0)}" if t0 > 0 else f"{PLACE_WORD} 0"
        wide = 1.6 * cap if upright else text_width_mm(place, drafting.small_cap_mm) + 0.6 * cap
        if t0 - free_mm > wide:
            mark = view.to_board(found.point(piece.t0 if found.along.sign > 0 else piece.t1, 0.0))
            at = (mark[0] + back[0] * 1.2 * cap, mark[1] + back[1] * 1.2 * cap)
            text = Text(at, place, drafting.small_cap_mm, Ink.MUTED, side, "middle", halo=True)
            if room.free(figure_box(text)):
                free_mm = t0
                room = room.without(figure_box(text))
                yield text


def _depth(
    piece: DepthPiece,
    found: ZoneProfile,
    view: ViewFrame,
    drafting: Drafting,
    deepest: float,
    room: Room,
) -> Text | None:
    """Return the depth of a piece inside the profile, close to the line that it tells of."""
    cap, along, back = drafting.cap_mm, view.direction(found.along), view.direction(-found.way)
    assert along is not None
    assert back is not None
    upright = along[0] == 0.0
    side: Across = "middle" if back[0] == 0 else "left" if back[0] > 0 else "right"
    for words in (depth_text(piece, drafting.figure), depth_figure(piece, drafting.figure)):
        half = (1.6 * cap if upright else text_width_mm(words, cap, bold=True)) / 2
        spare = (piece.t1 - piece.t0) / 2 - half
        for share in SPOTS if spare > 0.0 else ():
            t = (piece.t0 + piece.t1) / 2 + share * spare
            end = view.to_board(found.point(t, _at(piece, t, deepest)))
            at = (end[0] + 0.6 * cap * back[0], end[1] + 1.1 * cap * back[1])
            text = Text(at, words, cap, Ink.TEXT, side, "middle", bold=True, halo=True)
            if room.free(figure_box(text)):
                return text
    return None


def depth_text(piece: DepthPiece, figure: Write = figure_text) -> str:
    """Return the depth of a piece with the word that tells it from a place: "120.0 deep"."""
    told = depth_figure(piece, figure)
    return told if piece.side is None else f"{told} {DEPTH_WORD}"


def depth_figure(piece: DepthPiece, figure: Write = figure_text) -> str:
    """Return the depth of a piece: one figure where it is level, its ends where it is not."""
    ends = (piece.depth(piece.t0), piece.depth(piece.t1))
    if isinf(ends[0]):
        return "open"
    if ends[0] == ends[1] == piece.least():
        return figure(ends[0])
    if piece.least() < min(ends):
        return f"≥ {figure(piece.least())}"
    return f"{figure(min(ends))} to {figure(max(ends))}"


def _curve(piece: DepthPiece, deepest: float) -> list[tuple[float, float]]:
    steps = CURVE_STEPS if piece.side is not None and piece.side.r else 1
    step = (piece.t1 - piece.t0) / steps
    places = [piece.t0 + k * step for k in range(steps)] + [piece.t1]
    return [(t, _at(piece, t, deepest)) for t in places]


def _at(piece: DepthPiece, t: float, deepest: float) -> float:
    return min(max(piece.depth(t), 0.0), deepest)


def _open_mm(found: ZoneProfile) -> float:
    """Return how deep what has no end is drawn: a little deeper than the deepest that has one."""
    known = [m for p in found.profile.pieces if not isinf(m := p.most())]
    first, last = found.profile.pieces[0].t0, found.profile.pieces[-1].t1
    return max(known, default=0.0) + OPEN_SHARE * (last - first) * (len(known) == 0) + 1.0
