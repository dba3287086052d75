"""Primitives as Qt paths, pens and brushes, for painters and for items on a canvas.

Text becomes glyph outlines of the shipped font, set without kerning or hinting, so it is as wide
as app.drawing.fontmetrics says and the same on every machine. A QGuiApplication must exist.
"""

from __future__ import annotations

import math
import threading
from functools import lru_cache

from PySide6.QtCore import QByteArray, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QGlyphRun,
    QPainterPath,
    QPen,
    QPolygonF,
    QRawFont,
    QTransform,
)

from app.drawing.fontmetrics import CAP_PER_EM, face, font_bytes, text_width_mm
from app.drawing.hatching import hatch_lines
from app.drawing.linetypes import PATTERNS
from app.drawing.primitives import XY, Arc, Circle, Fill, Path, Primitive, Region, Stroke, Text
from app.drawing.theme import Theme

EM_PX = 1000.0
HALO_PER_CAP = 0.5
"""Width of the halo's line, as a share of the height of a capital."""

OFF_ACROSS = {"left": 0.0, "middle": -0.5, "right": -1.0}
OFF_UP = {"base": 0.0, "middle": 0.5, "top": 1.0}
"""How far from its anchor a text begins, in its width, and its base line lies, in its height."""

HATCH_SIDES = 64
"""Corners of a circle whose hatch is cut at a polygon."""


def pen_of(stroke: Stroke | None, theme: Theme) -> QPen:
    """Return the pen of a stroke, its width in drawing units."""
    if stroke is None:
        return QPen(Qt.PenStyle.NoPen)
    pen = QPen(QColor(theme.stroke(stroke.ink)), stroke.width_mm)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    pattern = PATTERNS[stroke.line_type]
    if pattern:
        pen.setDashPattern(list(pattern))
    return pen


def brush_of(fill: Fill | None, theme: Theme) -> QBrush:
    """Return the brush of a tint; none for a hatch, which is drawn as lines."""
    if fill is None or fill.hatch != "none":
        return QBrush()
    return plain_brush(theme.stroke(fill.ink) if fill.solid else theme.fill(fill.ink))


def text_brush(text: Text, theme: Theme) -> QBrush:
    """Return the brush that fills a text's glyphs."""
    return plain_brush(theme.stroke(text.ink))


def plain_brush(colour: str) -> QBrush:
    """Return the brush that fills with a colour alone."""
    # Given no style, PySide tries gradients and images first, and makes all of their enums; so it
    # does for `fillRect`, where `eraseRect` with this as the background does the same.
    return QBrush(QColor(colour), Qt.BrushStyle.SolidPattern)


def halo_pen(text: Text, theme: Theme) -> QPen:
    """Return the pen that draws the halo round a text's glyphs."""
    pen = QPen(QColor(theme.fill(text.ground)), text.height_mm * HALO_PER_CAP)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return pen


def hatch_pen(fill: Fill, theme: Theme) -> QPen:
    """Return the pen of a hatch's lines."""
    pen = QPen(QColor(theme.stroke(fill.ink)), fill.line_mm)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen


def hatch_path(primitive: Path | Region | Circle) -> QPainterPath:
    """Return the lines of a primitive's hatch; empty when it has none."""
    path = QPainterPath()
    fill = primitive.fill
    if fill is None or fill.hatch == "none":
        return path
    for start, end in hatch_lines(_rings(primitive), fill.hatch, fill.spacing_mm):
        path.moveTo(*start)
        path.lineTo(*end)
    return path


def _rings(primitive: Path | Region | Circle) -> tuple[tuple[XY, ...], ...]:
    if isinstance(primitive, Path):
        return (primitive.points,)
    if isinstance(primitive, Region):
        return primitive.rings
    (x, y), r = primitive.centre, primitive.radius_mm
    angles = [2 * math.pi * k / HATCH_SIDES for k in range(HATCH_SIDES)]
    return (tuple((x + r * math.cos(a), y + r * math.sin(a)) for a in angles),)


def outline_path(primitive: Primitive) -> QPainterPath:
    """Return the outline of a primitive; for text its glyphs, to be filled."""
    if isinstance(primitive, Text):
        return text_path(primitive)
    path = QPainterPath()
    trace(path, primitive)
    return path


def trace(path: QPainterPath, primitive: Path | Region | Circle | Arc) -> None:
    """Add the outline of a primitive to a path, apart from what is in it."""
    if isinstance(primitive, Path):
        points = primitive.points
        path.moveTo(*points[0])
        for x, y in points[1:]:
            path.lineTo(x, y)
        if primitive.closed:
            path.closeSubpath()
    elif isinstance(primitive, Circle):
        r = primitive.radius_mm
        path.addEllipse(QPointF(*primitive.centre), r, r)
    elif isinstance(primitive, Arc):
        (x, y), r = primitive.centre, primitive.radius_mm
        around = QRectF(x - r, y - r, 2 * r, 2 * r)
        path.arcMoveTo(around, primitive.start_deg)
        path.arcTo(around, primitive.start_deg, primitive.sweep_deg)
    else:
        for ring in primitive.rings:
            path.addPolygon(QPolygonF([QPointF(*p) for p in ring]))
            path.closeSubpath()


class _Fonts(threading.local):
    """The shipped face at the sizes asked for; Qt wants a font of its own for every thread."""

    def __init__(self) -> None:
        self.at = lru_cache(maxsize=64)(self._load)

    @staticmethod
    def _load(bold: bool, em_px: float) -> QRawFont:
        data = QByteArray(font_bytes(bold=bold))
        return QRawFont(data, em_px, QFont.HintingPreference.PreferNoHinting)


_fonts = _Fonts()


@lru_cache(maxsize=512)
def _glyph_index(char: str, bold: bool) -> int | None:
    indexes = _fonts.at(bold, EM_PX).glyphIndexesForString(char)
    return indexes[0] if indexes else None


@lru_cache(maxsize=512)
def _glyph(char: str, bold: bool) -> QPainterPath:
    index = _glyph_index(char, bold)
    return _fonts.at(bold, EM_PX).pathForGlyph(index) if index is not None else QPainterPath()


@lru_cache(maxsize=2048)
def _line_path(text: str, bold: bool) -> QPainterPath:
    """Return a line of text at EM_PX, base line through the origin."""
    path = QPainterPath()
    # Overlapping contours of one glyph are filled as one.
    path.setFillRule(Qt.FillRule.WindingFill)
    advances = face(bold=bold)
    x = 0.0
    for char in text:
        path.addPath(_glyph(char, bold).translated(x, 0.0))
        x += advances.advance(char) * EM_PX
    return path


def glyph_run(text: Text, dots_per_mm: float) -> tuple[QPointF, QGlyphRun]:
    """Return where a level text begins on its base line (mm), and its glyphs, placed in dots.

    They cover the same dots as `text_path` filled, but that each letter stands on a whole dot up
    and down and on a quarter of one along (measured: some fifty times as fast).
    """
    em_px = text.height_mm / CAP_PER_EM * dots_per_mm
    advances = face(bold=text.bold)
    indexes: list[int] = []
    places: list[QPointF] = []
    x = 0.0
    for char in text.text:
        index = _glyph_index(char, text.bold)
        if index is not None:
            indexes.append(index)
            places.append(QPointF(x, 0.0))
        x += advances.advance(char) * em_px
    run = QGlyphRun()
    run.setRawFont(_fonts.at(text.bold, em_px))
    run.setGlyphIndexes(indexes)
    run.setPositions(places)
    left, down = text_start(text)
    return QPointF(text.at[0] + left, text.at[1] + down), run


def text_start(text: Text) -> XY:
    """Return how far from a text's anchor it begins on its base line, before it is turned."""
    width = text_width_mm(text.text, text.height_mm, bold=text.bold)
    return width * OFF_ACROSS[text.across], text.height_mm * OFF_UP[text.up]


def text_path(text: Text) -> QPainterPath:
    """Return the glyphs of a text in place."""
    factor = text.height_mm / (CAP_PER_EM * EM_PX)
    left, down = text_start(text)
    place = QTransform()
    place.translate(*text.at)
    place.rotate(-text.angle_deg)
    place.translate(left, down)
    place.scale(factor, factor)
    return place.map(_line_path(text.text, text.bold))
