"""Our own icons, drawn as strokes on a 20 x 20 field in the colour of the text beside them.

Each is a list of polylines ("M x y L x y ...", circles as "C x y r"), so that they stay sharp at
every scale and follow light and dark.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QIconEngine, QPainter, QPainterPath, QPen, QPixmap
from shiboken6 import isValid

FIELD = 20.0

_STROKES: dict[str, str] = {
    "new": "M5 2 L12 2 L16 6 L16 18 L5 18 Z M12 2 L12 6 L16 6 M8 12 L13 12 M10.5 9.5 L10.5 14.5",
    "open": "M2 16 L2 5 L7 5 L9 7 L16 7 L16 9 M2 16 L5 9 L19 9 L16 16 Z",
    "save": "M3 3 L14 3 L17 6 L17 17 L3 17 Z M6 3 L6 7 L12 7 L12 3 M6 17 L6 11 L14 11 L14 17",
    "sheet": "M2 3 L18 3 L18 17 L2 17 Z M4 5 L16 5 L16 15 L4 15 Z M10 11 L16 11 M10 11 L10 15",
    "undo": "M8 4 L3 8 L8 12 M3 8 L12 8 L16 11 L16 16",
    "redo": "M12 4 L17 8 L12 12 M17 8 L8 8 L4 11 L4 16",
    "rotate": "M15 5 L17 9 L13 9 M17 9 L15 13 L10 15 L5 13 L3 9 L5 5 L9 3",
    "flip": "M2 7 L14 7 L14 4 L18 8 M18 13 L6 13 L6 16 L2 12 M14 7 L14 10 L18 8",
    "face": "M3 4 L17 4 M3 16 L17 16 M7 7 L7 13 M7 13 L5 11 M7 13 L9 11 "
    "M13 13 L13 7 M13 7 L11 9 M13 7 L15 9",
    "air": "M2 6 L13 6 L16 5 L16 3 M2 10 L17 10 M2 14 L12 14 L15 15 L15 17 M15 8 L17 10 L15 12",
    "thicker": "M4 4 L7 4 L7 16 L4 16 Z M11 4 L17 4 L17 16 L11 16 Z M7 10 L11 10 "
    "M10 8 L11 10 L10 12",
    "thinner": "M3 4 L9 4 L9 16 L3 16 Z M13 4 L16 4 L16 16 L13 16 Z M9 10 L13 10 "
    "M12 8 L13 10 L12 12",
    "copy": "M3 3 L13 3 L13 13 L3 13 Z M7 13 L7 17 L17 17 L17 7 L13 7",
    "delete": "M4 6 L16 6 M8 6 L8 3 L12 3 L12 6 M5.5 6 L6.5 17 L13.5 17 L14.5 6 "
    "M9 9 L9 14 M11 9 L11 14",
    "lock": "M5 9 L15 9 L15 17 L5 17 Z M7 9 L7 5 L9 3 L11 3 L13 5 L13 9",
    "unlock": "M5 9 L15 9 L15 17 L5 17 Z M7 9 L7 5 L9 3 L11 3 L13 5",
    "fit": "M3 7 L3 3 L7 3 M13 3 L17 3 L17 7 M17 13 L17 17 L13 17 "
    "M7 17 L3 17 L3 13 M7 7 L13 7 L13 13 L7 13 Z",
    "fits": "M3 3 L10 3 L10 8 L3 8 Z M3 11 L7 11 L7 17 L3 17 Z M13 3 L17 3 L17 8 L13 8 Z "
    "M10 14 L12 16 L17 11",
    "zoom_in": "C 9 9 6 M13.5 13.5 L18 18 M6 9 L12 9 M9 6 L9 12",
    "zoom_out": "C 9 9 6 M13.5 13.5 L18 18 M6 9 L12 9",
    "exchanger": "M2 5 L5 5 L5 15 L2 15 Z M5 6 L15 6 L15 14 L5 14 Z M15 4 L18 4 L18 16 L15 16 Z "
    "M7 6 L7 14 M9 6 L9 14 M11 6 L11 14 M13 6 L13 14",
    "fan": "M3 3 L17 3 L17 17 L3 17 Z C 10 10 6 C 10 10 2",
    "pump": "C 10 11 6 M10 5 L10 2 M4 11 L2 11 C 10 11 2",
    "reservoir": "M5 4 L15 4 L15 17 L5 17 Z M5 8 L15 8 M8 4 L8 2 L12 2 L12 4",
    "pump_reservoir": "M6 2 L14 2 L14 11 L6 11 Z M6 5 L14 5 "
    "M4 11 L16 11 L16 18 L4 18 Z C 10 14.5 2",
    "gasket": "M3 3 L17 3 L17 17 L3 17 Z M6 6 L14 6 L14 14 L6 14 Z",
    "adapter": "M2 14 L18 14 L18 17 L2 17 Z M6 5 L14 5 L14 8 L6 8 Z M6 8 L2 14 M14 8 L18 14",
    "board": "M3 3 L17 3 L17 17 L3 17 Z M6 6 L11 6 L11 11 L6 11 Z M14 5 L14 13 M6 14 L12 14",
    "card": "M2 6 L18 6 L18 14 L2 14 Z M6 14 L6 16 L12 16 L12 14 C 12 10 2.5",
    "supply": "M3 5 L17 5 L17 15 L3 15 Z C 8 10 3 M14 8 L14 12",
    "drive": "M4 3 L16 3 L16 17 L4 17 Z C 10 9 4 C 10 9 1 M7 15 L9 15",
    "fitting": "M7 3 L13 3 L13 8 L7 8 Z M5 8 L15 8 L15 12 L5 12 Z M8 12 L8 17 L12 17 L12 12",
    "blocked": "C 10 10 8 M6 6 L14 14 M14 6 L6 14",
    "tight": "M10 2 L18 17 L2 17 Z M10 7 L10 12 M10 14 L10 15",
    "clear": "C 10 10 8 M6 10 L9 13 L14 7",
    "not_run": "C 10 10 8 M6 10 L14 10",
    "add": "M10 4 L10 16 M4 10 L16 10",
    "remove": "M4 10 L16 10",
    "up": "M4 12 L10 6 L16 12",
    "down": "M4 8 L10 14 L16 8",
    "close": "M5 5 L15 15 M15 5 L5 15",
    "end_view": "M2 5 L11 5 L11 15 L2 15 Z M14 5 L18 5 L18 15 L14 15 Z",
    "help": "C 10 10 8 M8 8 L8 6 L12 6 L12 9 L10 10 L10 12 M10 14 L10 15",
}

NAMES = tuple(_STROKES)


def stroke_path(name: str) -> QPainterPath:
    """Return the strokes of an icon on the 20 x 20 field; KeyError for an unknown name."""
    path = QPainterPath()
    words = _STROKES[name].replace("M", " M ").replace("L", " L ").replace("Z", " Z ").split()
    at = 0
    while at < len(words):
        mark = words[at]
        if mark == "Z":
            path.closeSubpath()
            at += 1
            continue
        x, y = float(words[at + 1]), float(words[at + 2])
        if mark == "C":
            radius = float(words[at + 3])
            path.addEllipse(QPointF(x, y), radius, radius)
            at += 4
            continue
        if mark == "M":
            path.moveTo(x, y)
        else:
            path.lineTo(x, y)
        at += 3
    return path


class StrokeEngine(QIconEngine):
    """Paints an icon where and as large as it is wanted, in the colour for its state."""

    def __init__(self, name: str, text_colour: QColor, faint_colour: QColor) -> None:
        super().__init__()
        self._name, self._text_colour, self._faint_colour = name, text_colour, faint_colour

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, state: QIcon.State) -> None:  # noqa: ARG002 - Qt's signature
        """Paint the icon into a rectangle, faint where what it stands for cannot be done."""
        faint = mode == QIcon.Mode.Disabled
        colour = self._faint_colour if faint else self._text_colour
        paint_icon(painter, self._name, QRectF(rect), colour)

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        """Return the icon alone, `size` device pixels wide and high.

        A button that is being laid out may ask for one without height or width: nothing is
        painted into that.
        """
        pixmap = QPixmap(size)
        if pixmap.isNull():
            return pixmap
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        self.paint(painter, pixmap.rect(), mode, state)
        painter.end()
        return pixmap

    def clone(self) -> StrokeEngine:
        """Return another that paints the same, for a copy of an icon that goes its own way."""
        _cloned[:] = [one for one in _cloned if isValid(one)]
        _cloned.append(StrokeEngine(self._name, self._text_colour, self._faint_colour))
        return _cloned[-1]


_cloned: list[StrokeEngine] = []
"""The clones that Qt has not deleted yet: it owns them, but PySide would let them go at once."""


def icon(name: str, text_colour: QColor, faint_colour: QColor) -> QIcon:
    """Return an icon for usual and disabled use; KeyError for an unknown name."""
    if name not in _STROKES:
        raise KeyError(name)
    return QIcon(StrokeEngine(name, text_colour, faint_colour))


def paint_icon(painter: QPainter, name: str, into: QRectF, colour: QColor) -> None:
    """Paint an icon into a rectangle of a widget that paints itself."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(into.topLeft())
    painter.scale(into.width() / FIELD, into.height() / FIELD)
    pen = QPen(colour, 1.4)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(stroke_path(name))
    painter.restore()
