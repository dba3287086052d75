"""Dimension lines by ISO 129-1: figure above the line and along it, read from below or right."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.drawing.fontmetrics import text_width_mm
from app.drawing.labels import text_box
from app.drawing.primitives import XY, Bounds, Fill, Ink, Path, Primitive, Text

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting

HEAD_SHARE = 0.17
"""Half the width of an arrow head, as a share of its length: about 20 degrees."""

TEXT_GAP_SHARE = 0.35
"""Room between the line and the figure, as a share of the capital height."""

BEYOND_WIDTHS = 8.0
"""How many line widths an extension line goes on beyond the dimension line (ISO 129-1)."""

TAIL_ARROWS = 1.5
"""Length of the line behind an arrow that stands outside, in arrow lengths."""


@dataclass(frozen=True)
class Dimension:
    """A dimension as primitives, and the rectangle that its figure takes up."""

    primitives: tuple[Primitive, ...]
    box: Bounds


def arrow_head(tip: XY, along: XY, ink: Ink, drafting: Drafting) -> Path:
    """Return a filled arrow head that points along a unit vector."""
    length = drafting.arrow_mm
    half = length * HEAD_SHARE
    back = (tip[0] - along[0] * length, tip[1] - along[1] * length)
    corners = (
        tip,
        (back[0] - along[1] * half, back[1] + along[0] * half),
        (back[0] + along[1] * half, back[1] - along[0] * half),
    )
    line = drafting.narrow(ink)
    return Path(corners, line, closed=True, fill=Fill(ink, solid=True))


def dimension(
    a: XY,
    b: XY,
    figure: str,
    drafting: Drafting,
    *,
    ink: Ink = Ink.DIMENSION,
    bold: bool = False,
    features: tuple[XY, XY] | None = None,
    halo: bool = False,
    taken: tuple[Bounds, ...] = (),
) -> Dimension:
    """Return a level or upright dimension from `a` to `b`, the ends of its line.

    `features` are the points measured, from which extension lines come; none are drawn without.
    Where the line is too short, arrows stand outside, and the figure too where it does not fit
    or where one of `taken` is in its way. Raises ValueError for a slanting line.
    """
    upright = abs(a[0] - b[0]) < abs(a[1] - b[1])
    if min(abs(a[0] - b[0]), abs(a[1] - b[1])) > drafting.unit_mm * 1e-3:
        raise ValueError("a dimension line here is level or upright")
    # From the left to the right, or from below to above, so that the figure reads that way.
    if (b[1] > a[1]) if upright else (b[0] < a[0]):
        a, b = b, a
        features = (features[1], features[0]) if features is not None else None
    length = math.dist(a, b)
    along = (0.0, -1.0) if upright else (1.0, 0.0)
    above = (-1.0, 0.0) if upright else (0.0, -1.0)
    out: list[Primitive] = []
    if features is not None:
        out.extend(_extensions((a, b), features, ink, drafting))
    line = drafting.narrow(ink)
    inside = length >= 3.0 * drafting.arrow_mm
    tail = drafting.arrow_mm * (1.0 + TAIL_ARROWS)
    back = (-along[0], -along[1])
    if inside:
        out.append(Path((a, b), line))
        out.append(arrow_head(a, back, ink, drafting))
        out.append(arrow_head(b, along, ink, drafting))
    else:
        out.append(Path((_off(a, along, -tail), _off(b, along, tail)), line))
        out.append(arrow_head(a, along, ink, drafting))
        out.append(arrow_head(b, back, ink, drafting))
    text = _figure(a, b, figure, drafting, ink=ink, bold=bold, halo=halo, taken=taken,
                   along=along, above=above, upright=upright, tail=0.0 if inside else tail)  # fmt: skip
    if not inside or math.dist(text.at, a) > length:
        end = _reach(text, drafting, upright=upright)
        start = b if math.dist(text.at, b) < math.dist(text.at, a) else a
        if not _between(text.at, a, b):
            out.append(Path((start, end), line))
    out.append(text)
    box = text_box(text.at, figure, drafting.cap_mm, upright=upright, bold=bold)
    return Dimension(tuple(out), box)


def _between(at: XY, a: XY, b: XY) -> bool:
    k = 0 if abs(a[0] - b[0]) > abs(a[1] - b[1]) else 1
    return min(a[k], b[k]) <= at[k] <= max(a[k], b[k])


def _reach(text: Text, drafting: Drafting, *, upright: bool) -> XY:
    """Return the far end of the line that carries a figure set outside."""
    half = text_width_mm(text.text, text.height_mm, bold=text.bold) / 2
    drop = drafting.cap_mm * (0.5 + TEXT_GAP_SHARE)
    x, y = text.at
    if upright:
        return (x + drop, y - half)
    return (x + half, y + drop)


def _figure(
    a: XY,
    b: XY,
    figure: str,
    drafting: Drafting,
    *,
    ink: Ink,
    bold: bool,
    halo: bool,
    taken: tuple[Bounds, ...],
    along: XY,
    above: XY,
    upright: bool,
    tail: float,
) -> Text:
    from app.drawing.silhouettes import overlaps

    cap = drafting.cap_mm
    half = text_width_mm(figure, cap, bold=bold) / 2
    length = math.dist(a, b)
    lift = cap * (0.5 + TEXT_GAP_SHARE)
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    beyond = half + max(tail, drafting.arrow_mm * 0.6)
    spots = [middle] if 2 * half <= length else []
    spots += [_off(b, along, beyond), _off(a, along, -beyond), middle]
    places = [_off(spot, above, lift) for spot in spots]
    chosen = places[0]
    for place in places:
        box = text_box(place, figure, cap, upright=upright, bold=bold)
        if not any(overlaps(box, other) for other in taken):
            chosen = place
            break
    angle = 90.0 if upright else 0.0
    return Text(chosen, figure, cap, ink, "middle", "middle", angle, bold=bold, halo=halo)


def _extensions(
    ends: tuple[XY, XY], features: tuple[XY, XY], ink: Ink, drafting: Drafting
) -> list[Primitive]:
    out: list[Primitive] = []
    for end, feature in zip(ends, features, strict=True):
        length = math.dist(end, feature)
        gap = 2.0 * drafting.unit_mm
        if length <= 2 * gap:
            continue
        along = ((end[0] - feature[0]) / length, (end[1] - feature[1]) / length)
        far = _off(end, along, BEYOND_WIDTHS * drafting.narrow_mm)
        out.append(Path((_off(feature, along, gap), far), drafting.narrow(ink)))
    return out


def _off(at: XY, along: XY, by: float) -> XY:
    return (at[0] + along[0] * by, at[1] + along[1] * by)
