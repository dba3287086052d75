"""Dimensions of the enclosure, of stacks, and of what each stack leaves over."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from app.drawing.dimensions import (
    Dimension,
    DimensionLine,
    Figure,
    Measured,
    Room,
    dimension,
    dimension_line,
)
from app.drawing.frame import union_bounds
from app.drawing.primitives import XY, Bounds, Text
from app.drawing.verdict_words import LeftoverWord, leftover_text
from geometry.measures.prism import whole_bounds
from geometry.part_solids import shape_prism
from geometry.stack_sides import plate_mm

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from app.drawing.drafting import Drafting
    from app.drawing.frame import BoardFrame, ViewFrame
    from catalog.enclosure import Enclosure
    from geometry.finding import Leftover, StackDepth
    from geometry.placement import Placed, ZoneFrame

OVERALL_CAPS = 3.2
"""Distance of overall dimensions from the view, in capital heights."""

LEAST_OVERALL_CAPS = 1.2
"""Their distance where the sheet ends nearer."""

ABOVE_LINE_CAPS = 1.9
"""What a figure and its distance take up beyond the line over which it stands."""

FIRST_ROW_CAPS, ROW_CAPS = 1.8, 4.0
"""Distance of a chain of dimensions from its stack, and of the total from the chain."""

OUTSIDE_ROW_CAPS = 2.4
"""Distance of a chain from the view outside it, where figures find room before its wall too."""


def overall_dimensions(
    enclosure: Enclosure, frame: BoardFrame, drafting: Drafting, sheet: Bounds | None = None
) -> dict[str, tuple[Dimension, ...]]:
    """Return the outer length, height and depth of an enclosure, each once, by view.

    Where the `sheet` ends near, they stand nearer to the view; one whose figure has no room on it
    is left out.
    """
    outer = whole_bounds([shape_prism(shape) for shape in enclosure.outer])
    room = Room(sheet=sheet)

    def spanned(a: XY, b: XY, fa: XY, fb: XY, axis: int) -> Iterator[Dimension]:
        nonlocal room
        figure = Figure(drafting.size(outer[axis + 3] - outer[axis]))
        dim = dimension(Measured(a, b, (fa, fb)), figure, drafting, room=room)
        if dim.box is not None:
            room = room.without(dim.box)
            yield dim

    side, bottom = frame.view("side"), frame.view("bottom")
    out: dict[str, tuple[Dimension, ...]] = {}
    box = side.box(outer)
    top = _beside(side.rect[1], sheet[1] if sheet else -math.inf, drafting)
    left = _beside(side.rect[0], sheet[0] if sheet else -math.inf, drafting)
    out["side"] = (
        *spanned((box[0], top), (box[2], top), (box[0], box[1]), (box[2], box[1]), 0),
        *spanned((left, box[1]), (left, box[3]), (box[0], box[1]), (box[0], box[3]), 2),
    )
    box = bottom.box(outer)
    left = _beside(bottom.rect[0], sheet[0] if sheet else -math.inf, drafting)
    out["bottom"] = tuple(
        spanned((left, box[1]), (left, box[3]), (box[0], box[1]), (box[0], box[3]), 1)
    )
    return out


def _beside(edge: float, end: float, drafting: Drafting) -> float:
    """Return where an overall dimension runs before a view's edge, on a sheet from `end` on."""
    cap = drafting.cap_mm
    usual, nearest = edge - OVERALL_CAPS * cap, edge - LEAST_OVERALL_CAPS * cap
    return min(max(usual, end + ABOVE_LINE_CAPS * cap), nearest)


def leftover_line(
    left: Leftover, word: LeftoverWord, view: ViewFrame, drafting: Drafting
) -> DimensionLine | None:
    """Return a leftover depth as a dimension line; None where it is not seen in true length.

    None too where no depth is missing, but room across the stack. A negative one spans the room
    that is shared, from the stack's face backwards.
    """
    ends = _leftover_ends(left, view)
    if ends is None:
        return None
    figure = Figure(leftover_text(word, drafting.figure), word.ink, bold=True, halo=True)
    return dimension_line(Measured(*ends), figure, drafting, within=view.rect)


def _leftover_ends(left: Leftover, view: ViewFrame) -> tuple[XY, XY] | None:
    along = view.direction(left.way)
    if not math.isfinite(left.mm) or left.sideways_mm is not None or along is None:
        return None
    start = view.to_board(left.start)
    return start, (start[0] + along[0] * left.mm, start[1] + along[1] * left.mm)


def stack_dimensions(
    depth: StackDepth,
    frame: ZoneFrame,
    items: Sequence[Placed],
    view: ViewFrame,
    drafting: Drafting,
    room: Room,
    hurdles_near: Callable[[Bounds], Sequence[Bounds]],
) -> tuple[Dimension, ...]:
    """Return a stack side's layers as a chain of dimensions with their total beside it.

    They begin at the face of the plate on which the side is seated.
    Empty where its depth is not seen in true length. They stand beside the end of the stack
    where the zone's u runs to, clear of its parts, or as near to that as the sheet of the `room`
    lets them. No figure covers what the room has taken or one of the hurdles: where the chain has
    more figures outside the view it stands there, on extension lines, and a figure for which there
    is no room is left out; of a chain without half of its figures nothing is drawn.
    `hurdles_near` gives those that meet a rectangle.
    """
    out = frame.out_of_plate(depth.side)
    along = view.direction(out)
    if along is None or not items:
        return ()
    upright = along[0] == 0.0
    boxes = [view.to_board(item.pose.shift) for item in items]
    edge = _edge(frame, view, boxes, upright=upright)
    levels = [0.0]
    for span in sorted(depth.layers, key=lambda s: s.base_mm):
        levels.extend((span.base_mm, span.top_mm))
    marks = sorted({round(level, 6) for level in levels})
    outside = max(edge, view.rect[2 if upright else 3])
    if room.sheet is not None:
        last = room.sheet[2 if upright else 3]
        rows_caps = ROW_CAPS * (len(marks) > 2)
        edge = min(edge, last - drafting.cap_mm * (FIRST_ROW_CAPS + rows_caps))
        outside = min(outside, last - drafting.cap_mm * (OUTSIDE_ROW_CAPS + rows_caps))
    sign, seat = 1.0 if depth.side == "inner" else -1.0, plate_mm(frame, depth.side)

    def place(level: float, at: float) -> XY:
        point = view.to_board(frame.pose.point((0.0, 0.0, sign * (seat + level))))
        return (at, point[1]) if upright else (point[0], at)

    # The total comes first: where there is room for one figure alone it is that.
    rows = [(marks[0], marks[-1], 1)] if len(marks) > 2 else []
    rows += [(low, high, 0) for low, high in pairwise(marks)]

    def chained(start: float, *, extended: bool) -> list[tuple[DimensionLine, XY | None]]:
        lines: list[DimensionLine] = []
        first_caps = OUTSIDE_ROW_CAPS if extended else FIRST_ROW_CAPS
        for low, high, row in rows:
            at = start + drafting.cap_mm * (first_caps + ROW_CAPS * row)
            # One extension line for each level: the total has both ends, a layer has its top.
            whole = row == 1 or len(rows) == 1
            features = (
                place(low, edge) if extended and whole else None,
                place(high, edge) if extended and (whole or high < marks[-1]) else None,
            )
            measured = Measured(place(low, at), place(high, at), features)
            figure = Figure(drafting.size(high - low), halo=True)
            lines.append(dimension_line(measured, figure, drafting, chained=row == 0))
        reach = union_bounds([line.reach for line in lines])
        here = room.near(reach).without(*hurdles_near(reach))
        chain: list[tuple[DimensionLine, XY | None]] = []
        for line in lines:
            at_spot = line.spot(here.near(line.reach)).at
            if at_spot is not None:
                here = here.without(line.box_at(at_spot))
            chain.append((line, at_spot))
        return chain

    chain = chained(edge, extended=False)
    if outside > edge and _figures(chain) < len(chain):
        chain = max(chain, chained(outside, extended=True), key=_figures)
    if 2 * _figures(chain) < len(chain):
        return ()
    total_last = (*chain[1:], chain[0])
    return _figures_last([line.figured(spot) for line, spot in total_last])


def _figures_last(dims: Sequence[Dimension]) -> tuple[Dimension, ...]:
    """Return the same with all lines under all figures, which else a neighbour's would cross."""
    every = [one for dim in dims for one in dim.primitives]
    lines = Dimension(tuple(one for one in every if not isinstance(one, Text)), None)
    figures = (
        Dimension((one,), dim.box)
        for dim in dims
        for one in dim.primitives
        if isinstance(one, Text)
    )
    return (lines, *figures)


def _figures(chain: Sequence[tuple[DimensionLine, XY | None]]) -> int:
    return sum([spot is not None for _, spot in chain])


def _edge(frame: ZoneFrame, view: ViewFrame, points: list[XY], *, upright: bool) -> float:
    zone = frame.zone
    corners = [
        view.to_board(frame.pose.point((u, v, 0.0)))
        for u in (0.0, zone.length_mm)
        for v in (0.0, zone.width_mm)
    ]
    k = 0 if upright else 1
    return max(p[k] for p in (*corners, *points))
