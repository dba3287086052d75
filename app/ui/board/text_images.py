"""Texts as small pictures, each painted once: to copy one costs far less than to fill letters."""

from __future__ import annotations

import math
from collections.abc import Iterator

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPixmap, QTransform

from app.drawing.fontmetrics import CAP_PER_EM, face, text_width_mm
from app.drawing.primitives import Bounds, Text
from app.paint.shapes import glyph_run, halo_pen, text_brush, text_path, text_start
from app.ui.board.strips import Looks, corners

PARTS = 4
"""Into how many parts of a dot the place of a letter along its line is rounded."""

MOST = 2_000
"""How many pictures are kept; a board full of names and figures has some hundreds."""

ROUND_CAPS = 0.6
"""How far letters with marks over or under them, and halos, reach beyond capitals (heights)."""

Image = tuple[QPixmap, int, int]
"""A picture, and where its corner lies off the whole dot at which the text begins."""


Stamp = tuple[QPoint, QPixmap]
"""A picture, and the dot at which its corner stands."""


class LetterHalos:
    """Paints the halos of single letters as they show at one scale, in dots a millimetre."""

    def __init__(self, looks: Looks, scale: float) -> None:
        self.looks, self.scale = looks, scale
        self._known: dict[tuple[object, ...], Image] = {}

    def of(self, text: Text, char: str, part: int) -> Image:
        """Return the halo of a letter of a text that stands some parts of a dot off a whole one."""
        key = (char, text.height_mm, text.bold, text.ground, part)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._painted(text, char, part)
        return found

    def _painted(self, text: Text, char: str, part: int) -> Image:
        letter = Text((0.0, 0.0), char, text.height_mm, bold=text.bold, ground=text.ground)
        place = QTransform(self.scale, 0.0, 0.0, self.scale, part / PARTS, 0.0)
        path, pen = text_path(letter), halo_pen(letter, self.looks.theme)
        half = pen.widthF() / 2
        rect = path.controlPointRect().adjusted(-half, -half, half, half)
        around = place.mapRect(rect).toAlignedRect().adjusted(-1, -1, 1, 1)
        picture = _blank(around.width(), around.height())
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.translate(-around.x(), -around.y())
        painter.setTransform(place, combine=True)
        painter.strokePath(path, pen)
        painter.end()
        return picture, around.x(), around.y()


class TextImages:
    """Paints texts as they show at one scale, `to_dots` being the way from the board to dots.

    A text is level or reads upwards. `halos` are those of letters painted before, if any.
    """

    def __init__(self, looks: Looks, to_dots: QTransform, halos: LetterHalos | None = None) -> None:
        self._looks, self._to_dots = looks, to_dots
        self._scale = to_dots.m11()
        self._texts: dict[tuple[object, ...], Image] = {}
        if halos is None or halos.looks is not looks or halos.scale != self._scale:
            halos = LetterHalos(looks, self._scale)
        self.halos = halos

    def stamp(self, text: Text) -> Stamp:
        """Return the picture of a text with its place, in dots from the viewport's corner."""
        at, (left, down) = self._to_dots.map(QPointF(*text.at)), text_start(text)
        upright = text.angle_deg == 90.0
        if upright:
            # Turned to the left, what runs on runs up and what lies below lies right.
            along, across = -at.y() + left * self._scale, at.x() + down * self._scale
        else:
            along, across = at.x() + left * self._scale, at.y() + down * self._scale
        whole, part = divmod(math.floor(along * PARTS + 0.5), PARTS)
        line = math.floor(across + 0.5)
        look = (text.height_mm, text.ink, text.bold, text.halo, text.ground)
        key = (text.text, look, upright, part)
        found = self._texts.get(key)
        if found is None:
            if len(self._texts) >= MOST:
                self._texts.clear()
            found = self._level(text, part)
            found = self._texts[key] = turned(found) if upright else found
        picture, dx, dy = found
        x, y = (line, -whole) if upright else (whole, line)
        return QPoint(x + dx, y + dy), picture

    def _level(self, text: Text, part: int) -> Image:
        """Paint a text that begins some parts of a dot off a whole one, as if it were level."""
        cap = text.height_mm * self._scale
        wide = text_width_mm(text.text, text.height_mm, bold=text.bold) * self._scale
        by = math.ceil(ROUND_CAPS * cap) + 1
        high = math.ceil(cap) + 2 * by
        picture = _blank(math.ceil(wide) + 2 * by + 1, high)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.TextAntialiasing)
        painter.translate(by, high - by)
        if text.halo:
            for x, halo in self._letter_halos(text, part):
                painter.drawPixmap(x + halo[1], halo[2], halo[0])
        painter.setPen(QPen(text_brush(text, self._looks.theme), 1.0))
        painter.drawGlyphRun(QPointF(part / PARTS, 0.0), glyph_run(text, self._scale)[1])
        painter.end()
        return picture, -by, by - high

    def _letter_halos(self, text: Text, part: int) -> Iterator[tuple[int, Image]]:
        """Yield the halo of each letter, with the whole dot off which it stands."""
        em, x = text.height_mm * self._scale / CAP_PER_EM, part / PARTS
        advances = face(bold=text.bold)
        for char in text.text:
            whole, off = divmod(math.floor(x * PARTS + 0.5), PARTS)
            yield whole, self.halos.of(text, char, off)
            x += advances.advance(char) * em


def _blank(wide: int, high: int) -> QPixmap:
    picture = QPixmap(wide, high)
    picture.fill(Qt.GlobalColor.transparent)
    return picture


def turned(image: Image) -> Image:
    """Return a picture turned to the left, round the dot at which its text begins."""
    picture, dx, dy = image
    return picture.transformed(QTransform().rotate(-90.0)), dy, -(dx + picture.width())


def text_bounds(text: Text) -> Bounds:
    """Return bounds (mm) within which a text with its halo stands in any case."""
    x, y = text.at
    cap, width = text.height_mm, text_width_mm(text.text, text.height_mm, bold=text.bold)
    left, down = text_start(text)
    by = ROUND_CAPS * cap
    x0, y0, x1, y1 = left - by, down - cap - by, left + width + by, down + by
    if text.angle_deg:
        turned_rect = QTransform().rotate(-text.angle_deg).mapRect(QRectF(x0, y0, x1 - x0, y1 - y0))
        x0, y0, x1, y1 = corners(turned_rect)
    return x + x0, y + y0, x + x1, y + y1
