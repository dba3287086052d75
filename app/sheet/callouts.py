"""Balloons and item references beside a view, tied to what they mean by leader lines (ISO 6433).

They stand in columns on the right of a view and in rows below it, ordered like what they point
at, so that leaders of one column do not cross.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from app.drawing.fontmetrics import text_width_mm
from app.drawing.frame import union_bounds
from app.drawing.leaders import (
    Leader,
    balloon_primitives,
    leader_primitives,
    spread_out,
    uncrossed,
)
from app.drawing.primitives import XY, Bounds, Ink, Primitive, Stroke, Text
from app.sheet.table import ring_stroke

RADIUS_MM = 3.4
_APART_MM = 1.2
STEP_MM = 2 * RADIUS_MM + _APART_MM
"""Distance between the middles of two balloons."""

FIRST_MM = 11.0
"""Distance of the nearest balloons' middles from the view: room for leaders to fan out."""

_DOT_MM = 0.5
_LETTERING_MM = 2.5


@dataclass(frozen=True)
class Callout:
    """What stands outside and what it points at, on paper.

    A finding has a `ring` of its verdict's ink, heavy when blocked; an item reference has none.
    """

    key: str
    text: str
    target: XY
    ring: Ink | None = None
    heavy: bool = True

    @property
    def half_mm(self) -> float:
        """Half its width: a balloon's radius, or half a reference's text with room beside it."""
        if self.ring is not None:
            return RADIUS_MM
        width = text_width_mm(self.text, _LETTERING_MM, bold=True)
        return max(RADIUS_MM, width / 2 + 1.0)


@dataclass(frozen=True)
class Seats:
    """The middles of balloons by their callouts' keys, and the rectangle round core and all."""

    places: Mapping[str, XY]
    box: Bounds


def seatings(callouts: Sequence[Callout], core: Bounds) -> tuple[Seats, ...]:
    """Return ways to give every callout a place, the best balanced first.

    They differ in how many columns stand on the right; what these do not take stands in rows
    below. A callout goes to the border that its target is nearer to, as far as there is room.
    """
    x0, y0, x1, y1 = core
    per_column = max(1, int((y1 - y0 - 2 * RADIUS_MM) / STEP_MM) + 1)
    widths = [2 * one.half_mm + _APART_MM for one in callouts]
    mean = sum(widths) / len(widths) if widths else STEP_MM
    per_row = max(1, int((x1 - x0) / mean))
    shapes: set[tuple[int, int]] = set()
    for columns in range(math.ceil(len(callouts) / per_column) + 1):
        rows = math.ceil(max(0, len(callouts) - columns * per_column) / per_row)
        shapes |= {(columns, rows), (columns, max(rows, 1))}
    ordered = sorted(shapes, key=lambda shape: (max(shape), abs(shape[0] - shape[1]), shape))
    return tuple(_seats(callouts, core, shape, per_column, per_row) for shape in ordered)


def _seats(
    callouts: Sequence[Callout],
    core: Bounds,
    shape: tuple[int, int],
    per_column: int,
    per_row: int,
) -> Seats:
    x0, y0, x1, y1 = core
    columns, rows = shape
    by_side = sorted(callouts, key=lambda one: (x1 - one.target[0]) - (y1 - one.target[1]))
    wanted = sum(x1 - one.target[0] <= y1 - one.target[1] for one in callouts)
    count = max(len(callouts) - rows * per_row, min(wanted, columns * per_column))
    right, below = by_side[:count], by_side[count:]
    places: dict[str, XY] = {}
    places.update(_line_up(right, columns, (y0, y1), x1, across=False))
    places.update(_line_up(below, rows, (x0, x1), y1, across=True))
    places = _uncrossed(callouts, places)
    boxes = [_round(one, places[one.key]) for one in callouts]
    return Seats(places, union_bounds([core, *boxes]))


def _uncrossed(callouts: Sequence[Callout], places: Mapping[str, XY]) -> dict[str, XY]:
    """Let callouts of about one width change places until no two of their leaders cross."""

    def alike(i: int, j: int) -> bool:
        return abs(callouts[i].half_mm - callouts[j].half_mm) <= _APART_MM / 2

    found = uncrossed([Leader(one.target, places[one.key]) for one in callouts], alike)
    return {one.key: leader.place for one, leader in zip(callouts, found, strict=True)}


def _round(one: Callout, middle: XY) -> Bounds:
    x, y = middle
    return (x - one.half_mm, y - RADIUS_MM, x + one.half_mm, y + RADIUS_MM)


def _line_up(
    callouts: Sequence[Callout],
    layers: int,
    along: tuple[float, float],
    edge: float,
    *,
    across: bool,
) -> Iterator[tuple[str, XY]]:
    """Yield the middles of balloons in one or more lines, as near to their targets as they go."""
    k = 0 if across else 1
    ordered = sorted(callouts, key=lambda one: (one.target[k], one.target[1 - k], one.key))
    widest = max([one.half_mm for one in callouts], default=RADIUS_MM)
    layer_mm = STEP_MM if across else max(STEP_MM, 2 * widest + _APART_MM)
    staggered: list[float] = []
    if layers > 1 and (not across or all(one.half_mm > widest - _APART_MM for one in callouts)):
        # Neighbours in turn stand in front and behind, so that leaders pass between.
        step = (2 * widest if across else 2 * RADIUS_MM) + _APART_MM
        half = (step / layers - _APART_MM) / 2
        wanted = [one.target[k] for one in ordered]
        edge_mm = widest if across else RADIUS_MM
        room = (along[0] + edge_mm - half, along[1] - edge_mm + half)
        staggered = spread_out(wanted, [half] * len(ordered), *room, _APART_MM)
    for layer in range(layers):
        line = ordered[layer::layers]
        level = edge + FIRST_MM + layer * layer_mm
        wanted = [one.target[k] for one in line]
        halves = [one.half_mm if across else RADIUS_MM for one in line]
        # Lines behind the first stand half a step off, so that their leaders pass between.
        low = along[0] + (STEP_MM / 2 if layer % 2 else 0.0)
        spots = staggered[layer::layers] or spread_out(wanted, halves, low, along[1], _APART_MM)
        for one, spot in zip(line, spots, strict=True):
            yield one.key, ((spot, level) if across else (level, spot))


def leader_of(callout: Callout, middle: XY) -> tuple[Primitive, ...]:
    """Return a callout's leader, which ends in a dot within the outline it means.

    A reference has no ring; its leader begins at the box round its text.
    """
    line = Stroke(callout.ring or Ink.OUTLINE, width_mm=0.18)
    leader, ringed = Leader(callout.target, middle), callout.ring is not None
    half = (callout.half_mm, RADIUS_MM)
    return tuple(leader_primitives(leader, half, line, _DOT_MM, round_end=ringed))


def lettering_of(callout: Callout, middle: XY) -> tuple[Primitive, ...]:
    """Return a callout's ring and text; an item reference has no ring."""
    text, mm = callout.text, _LETTERING_MM
    if callout.ring is None:
        return (Text(middle, text, mm, across="middle", up="middle", bold=True, halo=True),)
    stroke = ring_stroke(callout.ring, heavy=callout.heavy)
    return balloon_primitives(middle, RADIUS_MM, text, mm, stroke)
