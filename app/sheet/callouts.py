"""Balloons and item references beside a view, tied to what they mean by leader lines (ISO 6433).

They stand in columns on the right of a view and in rows below it, ordered like what they point
at, so that leaders of one column do not cross.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from app.drawing.primitives import (
    XY,
    Bounds,
    Circle,
    Fill,
    Ink,
    LineType,
    Path,
    Primitive,
    Stroke,
    Text,
)

RADIUS_MM = 3.4
STEP_MM = 8.0
"""Distance between the middles of two balloons."""

FIRST_MM = 11.0
"""Distance of the nearest balloons' middles from the view: room for leaders to fan out."""

_DOT_MM = 0.5
_LETTERING_MM = 2.5


@dataclass(frozen=True)
class Callout:
    """What stands outside and what it points at, on paper.

    A finding has a `ring`, of its verdict's ink, and a number; an item reference has none.
    """

    key: str
    text: str
    target: XY
    ring: Ink | None = None
    line_type: LineType = LineType.CONTINUOUS


@dataclass(frozen=True)
class Seats:
    """Callouts with the middles of their balloons, and how far they reach beside the view."""

    places: Mapping[str, XY]
    right_mm: float
    below_mm: float


def seat(callouts: Sequence[Callout], core: Bounds) -> Seats:
    """Give every callout a place: on the right or below, whichever border its target is nearer.

    When one side is full the other takes the rest, then a second column or row is opened.
    """
    x0, y0, x1, y1 = core
    per_column = max(1, int((y1 - y0 - 2 * RADIUS_MM) / STEP_MM) + 1)
    per_row = max(1, int((x1 - x0 - 2 * RADIUS_MM) / STEP_MM) + 1)
    columns, rows = _layers(len(callouts), per_column, per_row)
    room_right = min(len(callouts), columns * per_column)
    by_side = sorted(callouts, key=lambda one: (x1 - one.target[0]) - (y1 - one.target[1]))
    least_right = len(callouts) - rows * per_row
    wanted = sum(x1 - one.target[0] <= y1 - one.target[1] for one in callouts)
    count = max(least_right, min(wanted, room_right))
    right, below = by_side[:count], by_side[count:]
    places: dict[str, XY] = {}
    places.update(_line_up(right, columns, (y0, y1), x1, across=False))
    places.update(_line_up(below, rows, (x0, x1), y1, across=True))
    return Seats(
        places,
        _depth(max((places[one.key][0] - x1 for one in right), default=None)),
        _depth(max((places[one.key][1] - y1 for one in below), default=None)),
    )


def _depth(farthest: float | None) -> float:
    return 0.0 if farthest is None else farthest + RADIUS_MM + 0.5


def _layers(count: int, per_column: int, per_row: int) -> tuple[int, int]:
    """Return how many columns and rows are opened: the fewest, columns first."""
    columns, rows = 1, 1
    while columns * per_column + rows * per_row < count:
        if columns <= rows:
            columns += 1
        else:
            rows += 1
    return columns, rows


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
    for layer in range(layers):
        line = ordered[layer::layers]
        level = edge + FIRST_MM + layer * STEP_MM
        wanted = [one.target[k] for one in line]
        # Lines behind the first stand half a step off, so that their leaders pass between.
        shift = STEP_MM / 2 if layer % 2 else 0.0
        spots = spread_out(wanted, STEP_MM, along[0] + RADIUS_MM, along[1] - RADIUS_MM, shift)
        for one, spot in zip(line, spots, strict=True):
            yield one.key, ((spot, level) if across else (level, spot))


def spread_out(
    wanted: Sequence[float], step: float, low: float, high: float, shift: float = 0.0
) -> list[float]:
    """Return places in the order of `wanted`, at least `step` apart, within `low` to `high`.

    Each is as near to what is wanted as its neighbours let it; where there are more than the
    length takes, they run over `high`. `shift` moves the lower end.
    """
    low += shift
    spots: list[float] = []
    for place in wanted:
        spots.append(max(place, low, spots[-1] + step if spots else low))
    limit = max(high, low + step * (len(spots) - 1))
    for k in range(len(spots) - 1, -1, -1):
        spots[k] = min(spots[k], limit)
        limit = spots[k] - step
    return spots


def callout_primitives(callout: Callout, middle: XY) -> tuple[Primitive, ...]:
    """Return one callout: leader, ring, text; the leader ends in a dot within the outline."""
    ink = callout.ring or Ink.OUTLINE
    x, y = callout.target
    away = math.dist(middle, callout.target)
    share = RADIUS_MM / away if away > RADIUS_MM else 0.0
    start = (middle[0] + (x - middle[0]) * share, middle[1] + (y - middle[1]) * share)
    parts: list[Primitive] = [
        Path((start, callout.target), Stroke(ink, width_mm=0.25)),
        Circle(callout.target, _DOT_MM, None, Fill(ink, solid=True)),
    ]
    if callout.ring is not None:
        stroke = Stroke(ink, callout.line_type, 0.5)
        parts.append(Circle(middle, RADIUS_MM, stroke, Fill(Ink.PAPER)))
    else:
        parts.append(Circle(middle, RADIUS_MM - 0.4, None, Fill(Ink.PAPER)))
    height = _LETTERING_MM if callout.ring is not None else 3.5
    parts.append(
        Text(middle, callout.text, height, ink if callout.ring else Ink.TEXT,
             across="middle", up="middle", bold=True)
    )  # fmt: skip
    return tuple(parts)
