"""Hatches as plain lines, cut at the outline they fill, so that every back end draws the same."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from app.drawing.primitives import XY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.drawing.primitives import Hatch

Line = tuple[XY, XY]

_ANGLES_DEG: dict[Hatch, tuple[float, ...]] = {
    "none": (),
    "diagonal": (45.0,),
    "back": (-45.0,),
    "cross": (45.0, -45.0),
    "level": (0.0,),
    "upright": (90.0,),
}

MOST_LINES = 2_000
"""More lines than this in one hatch are a grey field; the spacing is doubled until they fit."""


def hatch_lines(rings: Sequence[Sequence[XY]], kind: Hatch, spacing_mm: float) -> tuple[Line, ...]:
    """Return the lines of a hatch inside rings, by the even-odd rule.

    Lines start from the drawing's origin, so hatches of neighbours run on into each other.
    """
    out: list[Line] = []
    for angle in _ANGLES_DEG[kind]:
        out.extend(_lines_at(rings, math.radians(angle), spacing_mm))
    return tuple(out)


def _lines_at(rings: Sequence[Sequence[XY]], angle: float, spacing_mm: float) -> list[Line]:
    # Turned so that the hatch lies level; y runs down the page, so a rise turns the other way.
    cos, sin = math.cos(angle), -math.sin(angle)
    turned = [[(x * cos + y * sin, y * cos - x * sin) for x, y in ring] for ring in rings]
    heights = [y for ring in turned for _, y in ring]
    if not heights:
        return []
    least, most = min(heights), max(heights)
    while (most - least) / spacing_mm > MOST_LINES:
        spacing_mm *= 2
    lines: list[Line] = []
    for step in range(math.ceil(least / spacing_mm), math.floor(most / spacing_mm) + 1):
        level = step * spacing_mm
        crossings = sorted(_crossings(turned, level))
        for left, right in zip(crossings[::2], crossings[1::2], strict=False):
            start = (left * cos - level * sin, left * sin + level * cos)
            end = (right * cos - level * sin, right * sin + level * cos)
            lines.append((start, end))
    return lines


def _crossings(rings: Sequence[Sequence[XY]], level: float) -> list[float]:
    found = []
    for ring in rings:
        before = ring[-1]
        for point in ring:
            if (before[1] <= level) != (point[1] <= level):
                share = (level - before[1]) / (point[1] - before[1])
                found.append(before[0] + share * (point[0] - before[0]))
            before = point
    return found
