"""Which enclosure axis is read off along each stretch of the board; for rulers and grid."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import NamedTuple

from app.drawing.frame import BoardFrame, ViewFrame
from geometry.measures.pose import AXES, Way

FAR_MM = 100_000.0
"""The outermost stretches go on to here."""


class AxisSpan(NamedTuple):
    """A stretch of the board on which one enclosure axis is read off.

    From `start_mm` to `end_mm` on the board; the axis is 0 at `origin_mm` and grows with
    `sign` (+1 to the right or down). `axis` is its letter.
    """

    axis: str
    start_mm: float
    end_mm: float
    origin_mm: float
    sign: int

    def value_at(self, board_mm: float) -> float:
        """Return the enclosure coordinate at a place on the board (mm)."""
        return (board_mm - self.origin_mm) * self.sign

    def lines(self, first_mm: float, last_mm: float, step_mm: float) -> Iterator[tuple[int, float]]:
        """Yield (how many steps from zero, place on the board) of all steps within a range."""
        low, high = max(first_mm, self.start_mm), min(last_mm, self.end_mm)
        if low >= high:
            return
        ends = sorted((self.value_at(low) / step_mm, self.value_at(high) / step_mm))
        for count in range(math.ceil(ends[0] - 1e-9), math.floor(ends[1] + 1e-9) + 1):
            yield count, self.origin_mm + self.sign * count * step_mm


def axes_across(frame: BoardFrame) -> tuple[AxisSpan, ...]:
    """Return the axes read off along the board, from the left to the right."""
    return _spans([(v.right, v.shift[0], v.rect[0], v.rect[2]) for v in frame.views])


def axes_down(frame: BoardFrame) -> tuple[AxisSpan, ...]:
    """Return the axes read off down the board, from the top to the bottom."""
    return _spans([(v.down, v.shift[1], v.rect[1], v.rect[3]) for v in frame.views])


def place_text(
    view: ViewFrame | None, xy: tuple[float, float], figure: Callable[[float], str]
) -> str:
    """Return a place in a view as text, "x 388.5  z 391.0", each figure made by `figure`."""
    if view is None:
        return ""
    world = view.to_world(xy)
    shown = (f"{AXES[k]} {figure(v)}" for k, v in enumerate(world) if v is not None)
    return "  ".join(shown)


def _spans(stretches: list[tuple[Way, float, float, float]]) -> tuple[AxisSpan, ...]:
    """Return one span per row or column of views, meeting half way between them."""
    rows = sorted({(low, high, way.axis, way.sign, shift) for way, shift, low, high in stretches})
    merged: list[tuple[float, float, int, int, float]] = []
    for row in rows:
        last = merged[-1] if merged else None
        if last is not None and last[2:] == row[2:]:
            merged[-1] = (min(last[0], row[0]), max(last[1], row[1]), *row[2:])
        else:
            merged.append(row)
    spans = []
    for number, (low, high, axis, sign, shift) in enumerate(merged):
        start = (merged[number - 1][1] + low) / 2 if number else -FAR_MM
        end = (high + merged[number + 1][0]) / 2 if number + 1 < len(merged) else FAR_MM
        spans.append(AxisSpan(AXES[axis], start, end, shift, sign))
    return tuple(spans)
