"""Dimensions of the enclosure, of stacks, and of what each stack leaves over."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from app.drawing.dimensions import Dimension, dimension, figure_reach
from app.drawing.primitives import XY, Bounds
from app.drawing.words import LeftoverWord, figure_text, leftover_text
from geometry.measures.prism import whole_bounds
from geometry.part_solids import shape_prism

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.drawing.drafting import Drafting
    from app.drawing.frame import BoardFrame, ViewFrame
    from catalog.enclosure import Enclosure
    from geometry.finding import Leftover, StackDepth
    from geometry.placement import Placed, ZoneFrame

OVERALL_CAPS = 3.2
"""Distance of overall dimensions from the view, in capital heights."""


def plain_figure(mm: float) -> str:
    """Return a nominal size as it stands on a drawing: no decimals that are nought."""
    return figure_text(mm).removesuffix(".0")


def overall_dimensions(
    enclosure: Enclosure, frame: BoardFrame, drafting: Drafting
) -> dict[str, tuple[Dimension, ...]]:
    """Return the outer length, height and depth of an enclosure, each once, by view."""
    outer = whole_bounds([shape_prism(shape) for shape in enclosure.outer])
    length, depth, height = (outer[k + 3] - outer[k] for k in range(3))
    away = OVERALL_CAPS * drafting.cap_mm
    side, bottom = frame.view("side"), frame.view("bottom")
    out: dict[str, tuple[Dimension, ...]] = {}
    box = side.box(outer)
    top = side.rect[1] - away
    left = side.rect[0] - away
    out["side"] = (
        _spanned((box[0], top), (box[2], top), (box[0], box[1]), (box[2], box[1]),
                 plain_figure(length), drafting),
        _spanned((left, box[1]), (left, box[3]), (box[0], box[1]), (box[0], box[3]),
                 plain_figure(height), drafting),
    )  # fmt: skip
    box = bottom.box(outer)
    left = bottom.rect[0] - away
    out["bottom"] = (
        _spanned((left, box[1]), (left, box[3]), (box[0], box[1]), (box[0], box[3]),
                 plain_figure(depth), drafting),
    )  # fmt: skip
    return out


def _spanned(a: XY, b: XY, fa: XY, fb: XY, figure: str, drafting: Drafting) -> Dimension:
    return dimension(a, b, figure, drafting, features=(fa, fb))


def leftover_dimension(
    left: Leftover,
    word: LeftoverWord,
    view: ViewFrame,
    drafting: Drafting,
    taken: tuple[Bounds, ...] = (),
) -> Dimension | None:
    """Return a leftover depth as a dimension line; None where it is not seen in true length.

    A negative one spans the room that is shared, from the stack's face backwards.
    """
    ends = _leftover_ends(left, view)
    if ends is None:
        return None
    return dimension(
        *ends,
        leftover_text(left.mm, word.word),
        drafting,
        ink=word.ink,
        bold=True,
        halo=True,
        taken=taken,
        within=view.rect,
    )


def leftover_reach(
    left: Leftover, word: LeftoverWord, view: ViewFrame, drafting: Drafting
) -> Bounds | None:
    """Return where the figure of a leftover depth may stand; None where none is drawn."""
    ends = _leftover_ends(left, view)
    if ends is None:
        return None
    return figure_reach(*ends, leftover_text(left.mm, word.word), drafting, bold=True)


def _leftover_ends(left: Leftover, view: ViewFrame) -> tuple[XY, XY] | None:
    along = view.direction(left.way)
    if not math.isfinite(left.mm) or along is None:
        return None
    start = view.to_board(left.start)
    return start, (start[0] + along[0] * left.mm, start[1] + along[1] * left.mm)


def stack_dimensions(
    depth: StackDepth,
    frame: ZoneFrame,
    items: Sequence[Placed],
    view: ViewFrame,
    drafting: Drafting,
    taken: tuple[Bounds, ...] = (),
) -> tuple[Dimension, ...]:
    """Return a stack side's layers as a chain of dimensions with their total beside it.

    Empty where its depth is not seen in true length. They stand beside the end of the stack
    where the zone's u runs to, clear of its parts; figures keep clear of the rectangles `taken`.
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
    sign = 1.0 if depth.side == "inner" else -1.0

    def place(level: float, row: int) -> XY:
        step = drafting.cap_mm * (1.8 + 4.0 * row)
        point = view.to_board(frame.pose.point((0.0, 0.0, sign * level)))
        return (edge + step, point[1]) if upright else (point[0], edge + step)

    chain: list[Dimension] = []
    for low, high in pairwise(marks):
        used = (*taken, *(dim.box for dim in chain))
        a, b = place(low, 0), place(high, 0)
        chain.append(_link(a, b, plain_figure(high - low), drafting, used))
    if len(marks) > 2:
        a, b = place(marks[0], 1), place(marks[-1], 1)
        chain.append(dimension(a, b, plain_figure(marks[-1] - marks[0]), drafting, halo=True))
    return tuple(chain)


def _link(a: XY, b: XY, figure: str, drafting: Drafting, taken: tuple[Bounds, ...]) -> Dimension:
    return dimension(a, b, figure, drafting, halo=True, chained=True, taken=taken)


def _edge(frame: ZoneFrame, view: ViewFrame, points: list[XY], *, upright: bool) -> float:
    zone = frame.zone
    corners = [
        view.to_board(frame.pose.point((u, v, 0.0)))
        for u in (0.0, zone.length_mm)
        for v in (0.0, zone.width_mm)
    ]
    k = 0 if upright else 1
    return max(p[k] for p in (*corners, *points))
