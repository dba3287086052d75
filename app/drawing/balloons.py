"""Balloons round a view (ISO 6433: references in circles of one size, in line, with leaders).

They stand in columns left and right of the view, further columns outward when one is full. The
order in a column is the one that keeps leaders from crossing: while two leaders of one side
cross, their balloons are exchanged, which makes them shorter in all, so it comes to an end.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal, NamedTuple

from app.drawing.fontmetrics import DESCENT_PER_CAP, text_width_mm
from app.drawing.leaders import (
    Leader,
    balloon_primitives,
    leader_primitives,
    spread_out,
    uncrossed,
)
from app.drawing.primitives import XY, Bounds, Ink, Primitive, Text
from app.drawing.verdict_words import VERDICT_INK
from geometry.finding import Verdict

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting

SPACING_RADII = 2.5
"""Distance from balloon to balloon, in balloon radii."""

NOTE_GAP_SHARE = 0.5


class Call(NamedTuple):
    """One balloon to place: its number, what it points at, the note beside it."""

    number: int
    anchor: XY
    note: str
    verdict: Verdict


class Columns(NamedTuple):
    """Where balloons of a view may stand: x of the first columns, and how far up and down.

    What lies left of `middle` goes to the left. `left_room` and `right_room` tell how far from
    the column's middle notes may reach: a note that needs more is left out. Balloons go below
    the rectangles `taken` that they would cover, as far down as `lowest`.
    """

    left: float
    right: float
    top: float
    bottom: float
    middle: float
    left_room: float = math.inf
    right_room: float = math.inf
    taken: tuple[Bounds, ...] = ()
    lowest: float = math.inf


class Placed(NamedTuple):
    """A call with the place of its balloon; `side` is -1 on the left, +1 on the right."""

    call: Call
    centre: XY
    side: int


def place_balloons(
    calls: tuple[Call, ...], columns: Columns, drafting: Drafting
) -> tuple[Placed, ...]:
    """Place the balloons of one view."""
    middle = columns.middle
    spacing = drafting.balloon_mm * SPACING_RADII
    capacity = max(1, int((columns.bottom - columns.top) / spacing) + 1)
    left = [call for call in calls if call.anchor[0] < middle]
    right = [call for call in calls if call.anchor[0] >= middle]
    # A full side gives those nearest to the middle to the other.
    for one, other in ((left, right), (right, left)):
        one.sort(key=lambda call: (abs(call.anchor[0] - middle), call.number))
        while len(one) > capacity and len(other) < capacity:
            other.append(one.pop(0))
    out: list[Placed] = []
    for side, every, x in ((-1, left, columns.left), (1, right, columns.right)):
        room = columns.left_room if side < 0 else columns.right_room
        chosen = [_noted(call, room, drafting) for call in every]
        chosen.sort(key=lambda call: (call.anchor[1], call.number))
        count = math.ceil(len(chosen) / capacity)
        if count * _column_width(chosen, drafting) > room + drafting.balloon_mm:
            chosen = [call._replace(note="") for call in chosen] if count > 1 else chosen
        wide = _column_width(chosen, drafting)
        for column in range(count):
            # Every count-th one, so that the leaders of an outer column pass between the balloons.
            part = chosen[column::count]
            heights = spread_out(
                [call.anchor[1] for call in part],
                [spacing / 2] * len(part),
                columns.top - spacing / 2,
                columns.bottom + spacing / 2,
                0.0,
            )
            at_x = x + side * column * wide
            heights = _cleared(heights, at_x, spacing, columns, drafting)
            placed = [Placed(call, (at_x, y), side) for call, y in zip(part, heights, strict=True)]
            out.extend(_uncrossed(placed))
    return tuple(sorted(out, key=lambda one: one.call.number))


def _noted(call: Call, room: float, drafting: Drafting) -> Call:
    """Return a call, its note left out where there is no room for it."""
    width = text_width_mm(call.note, drafting.cap_mm, bold=True)
    reach = drafting.balloon_mm + _note_gap(drafting) + width
    return call if reach <= room else call._replace(note="")


def _column_width(calls: list[Call], drafting: Drafting) -> float:
    widest = max((text_width_mm(c.note, drafting.cap_mm, bold=True) for c in calls), default=0.0)
    return widest + drafting.balloon_mm * 3.2


def _cleared(
    heights: list[float], x: float, spacing: float, columns: Columns, drafting: Drafting
) -> list[float]:
    """Return the heights, those lower where a balloon would cover what is taken."""
    r = drafting.balloon_mm
    taken = [box for box in columns.taken if box[0] < x + r and x - r < box[2]]
    if not taken:
        return heights
    out: list[float] = []
    low = -math.inf
    for height in heights:
        y = max(height, low)
        for box in sorted(taken, key=lambda box: box[1]):
            if box[1] < y + r and y - r < box[3]:
                y = box[3] + r
        out.append(y)
        low = y + spacing
    return out if not out or out[-1] <= columns.lowest else heights


def _uncrossed(placed: list[Placed]) -> list[Placed]:
    found = uncrossed([Leader(one.call.anchor, one.centre) for one in placed])
    return [one._replace(centre=leader.place) for one, leader in zip(placed, found, strict=True)]


def balloon_box(one: Placed, drafting: Drafting) -> Bounds:
    """Return the rectangle of a balloon with its note."""
    (x, y), r = one.centre, drafting.balloon_mm
    reach = r + _note_gap(drafting) + text_width_mm(one.call.note, drafting.cap_mm, bold=True)
    if one.side > 0:
        return (x - r, y - r, x + reach, y + r)
    return (x - reach, y - r, x + r, y + r)


def circle_box(one: Placed, drafting: Drafting) -> Bounds:
    """Return the rectangle of a balloon without its note."""
    (x, y), r = one.centre, drafting.balloon_mm
    return (x - r, y - r, x + r, y + r)


def note_box(one: Placed, drafting: Drafting) -> Bounds | None:
    """Return the rectangle of a balloon's note; None where it has none."""
    if not one.call.note:
        return None
    (x, y), (x0, _, x1, _) = one.centre, balloon_box(one, drafting)
    tall = drafting.cap_mm * (0.5 + DESCENT_PER_CAP)
    near = x + one.side * (drafting.balloon_mm + _note_gap(drafting))
    return (near, y - tall, x1, y + tall) if one.side > 0 else (x0, y - tall, near, y + tall)


def without_note(one: Placed) -> Placed:
    """Return a balloon that says its number alone."""
    return one._replace(call=one.call._replace(note=""))


def _note_gap(drafting: Drafting) -> float:
    return drafting.cap_mm * NOTE_GAP_SHARE


def noted_balloon(one: Placed, drafting: Drafting, *, lit: bool = False) -> tuple[Primitive, ...]:
    """Return a balloon, its leader and its note."""
    call, (x, y), r = one.call, one.centre, drafting.balloon_mm
    ink = VERDICT_INK[call.verdict]
    ring = drafting.wide(ink) if call.verdict is Verdict.BLOCKED or lit else drafting.narrow(ink)
    ground = ink if _tinted(call, lit) else Ink.PAPER
    line = drafting.wide(ink) if lit else drafting.narrow(ink)
    leader = Leader(call.anchor, one.centre)
    out = [
        *leader_primitives(leader, (r, r), line, drafting.unit_mm * 2.2),
        *balloon_primitives(one.centre, r, str(call.number), drafting.cap_mm, ring, ground),
    ]
    across: Literal["left", "right"] = "left" if one.side > 0 else "right"
    if call.note:
        at = (x + one.side * (r + _note_gap(drafting)), y)
        out.append(
            Text(at, call.note, drafting.cap_mm, ink, across, "middle", bold=True, halo=True)
        )
    return tuple(out)


def _tinted(call: Call, lit: bool) -> bool:
    return lit or call.verdict is Verdict.BLOCKED
