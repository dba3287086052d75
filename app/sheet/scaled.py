"""Primitives moved and scaled as a whole, lettering, line widths and hatches with them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from app.drawing.fontmetrics import DESCENT_PER_CAP, text_width_mm
from app.drawing.primitives import (
    XY,
    Arc,
    Bounds,
    Circle,
    Fill,
    Primitive,
    Region,
    Stroke,
    Text,
)


def scaled(primitive: Primitive, factor: float, shift: XY = (0.0, 0.0)) -> Primitive:
    """Return a primitive with every length times `factor`, then shifted (mm)."""

    def at(point: XY) -> XY:
        return (point[0] * factor + shift[0], point[1] * factor + shift[1])

    if isinstance(primitive, Text):
        return primitive._replace(at=at(primitive.at), height_mm=primitive.height_mm * factor)
    stroke = _stroke(primitive.stroke, factor)
    if isinstance(primitive, Arc):
        radius = primitive.radius_mm * factor
        assert stroke is not None
        return primitive._replace(centre=at(primitive.centre), radius_mm=radius, stroke=stroke)
    fill = _fill(primitive.fill, factor)
    if isinstance(primitive, Circle):
        radius = primitive.radius_mm * factor
        return primitive._replace(
            centre=at(primitive.centre), radius_mm=radius, stroke=stroke, fill=fill
        )
    if isinstance(primitive, Region):
        rings = tuple(tuple(at(point) for point in ring) for ring in primitive.rings)
        return primitive._replace(rings=rings, stroke=stroke, fill=fill)
    points = tuple(at(point) for point in primitive.points)
    return primitive._replace(points=points, stroke=stroke, fill=fill)


def moved(primitive: Primitive, by: XY) -> Primitive:
    """Return a primitive shifted on the sheet (mm)."""
    return scaled(primitive, 1.0, by)


def _stroke(stroke: Stroke | None, factor: float) -> Stroke | None:
    return stroke and stroke._replace(width_mm=stroke.width_mm * factor)


def _fill(fill: Fill | None, factor: float) -> Fill | None:
    if fill is None:
        return None
    return fill._replace(spacing_mm=fill.spacing_mm * factor, line_mm=fill.line_mm * factor)


STANDS_ON_THE_LINE = frozenset("ABCDEFGHIKLMNOPRSTUVWXYZ0123456789.:-+ ")
"""Characters of which none reaches below the base line in the shipped font."""


def text_box(text: Text) -> Bounds:
    """Return the upright rectangle round a text, descenders included where it has any (mm)."""
    width = text_width_mm(text.text, text.height_mm, bold=text.bold)
    left = {"left": 0.0, "middle": -width / 2, "right": -width}[text.across]
    base = {"base": 0.0, "middle": text.height_mm / 2, "top": text.height_mm}[text.up]
    descent = 0.0 if STANDS_ON_THE_LINE.issuperset(text.text) else DESCENT_PER_CAP
    top, foot = base - text.height_mm, base + text.height_mm * descent
    # The page's y runs down, so a turn to the left has the opposite sign of the usual one.
    turn = math.radians(-text.angle_deg)
    corners = [
        (
            text.at[0] + x * math.cos(turn) - y * math.sin(turn),
            text.at[1] + x * math.sin(turn) + y * math.cos(turn),
        )
        for x in (left, left + width)
        for y in (top, foot)
    ]
    return _round_points(corners)


def extent(primitive: Primitive) -> Bounds:
    """Return the upright rectangle round a primitive, line widths left out (mm)."""
    if isinstance(primitive, Text):
        return text_box(primitive)
    if isinstance(primitive, Circle | Arc):
        (x, y), r = primitive.centre, primitive.radius_mm
        return (x - r, y - r, x + r, y + r)
    if isinstance(primitive, Region):
        return _round_points(primitive.rings[0])
    return _round_points(primitive.points)


def _round_points(points: Iterable[XY]) -> Bounds:
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))
