"""A drawing as the bytes of a PNG file that prints true to scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColor, QImage, QImageWriter, QPainter

from app.paint.painter import paint_drawing

if TYPE_CHECKING:
    from app.drawing.primitives import Drawing
    from app.drawing.theme import Theme

MM_PER_INCH = 25.4
COMPRESSION = 20
"""Of Qt's 0 to 100, which it turns into zlib's 0 to 9. Under 20 the file is not compressed at all;
over 20 an A3 sheet gets at most a twentieth smaller and takes up to twice as long (measured)."""


def dots_per_metre(dpi: float) -> int:
    """Return the figure of the pHYs chunk for a resolution: dots per metre, a whole number."""
    return round(dpi / (MM_PER_INCH / 1000))


def paint_image(drawing: Drawing, dpi: float, theme: Theme) -> QImage:
    """Return a drawing, one unit a millimetre, as an image of its bounds at a resolution."""
    x0, y0, x1, y1 = drawing.bounds
    dots_per_mm = dpi / MM_PER_INCH
    size = (round((x1 - x0) * dots_per_mm), round((y1 - y0) * dots_per_mm))
    image = QImage(*size, QImage.Format.Format_RGB32)
    if image.isNull():
        raise MemoryError(f"no memory for an image of {size[0]} x {size[1]} dots")
    image.fill(QColor(theme.paper))
    image.setDotsPerMeterX(dots_per_metre(dpi))
    image.setDotsPerMeterY(dots_per_metre(dpi))
    painter = QPainter(image)
    painter.scale(dots_per_mm, dots_per_mm)
    painter.translate(-x0, -y0)
    paint_drawing(drawing, painter, theme)
    painter.end()
    return image


def png_bytes(drawing: Drawing, dpi: float, theme: Theme) -> bytes:
    """Return a drawing as the bytes of a PNG file: the same for the same drawing.

    The file holds no time and no name of a program. Raises OSError when it cannot be encoded.
    """
    image = paint_image(drawing, dpi, theme)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"png"))
    writer.setCompression(COMPRESSION)
    if not writer.write(image):
        raise OSError(f"the picture could not be encoded: {writer.errorString()}")
    buffer.close()
    return bytes(data.data())
