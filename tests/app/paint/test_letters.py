"""Letters from Qt's store stand where their outlines would: the same ink, to within a dot."""

from __future__ import annotations

import numpy as np
import pytest

from app.drawing.primitives import Drawing, Group, Ink, Text
from app.drawing.theme import PRINT
from app.paint.png import paint_image

DPI = 300


def darkness(text: Text, *, outlines: bool) -> np.ndarray:
    """Return how dark each dot of a small page with one text is, 0 to 255."""
    from PySide6.QtGui import QPainter

    from app.paint.shapes import text_brush, text_path

    shown = () if outlines else (Group("text", (text,)),)
    image = paint_image(Drawing((0.0, 0.0, 60.0, 20.0), shown), DPI, PRINT)
    if outlines:
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(DPI / 25.4, DPI / 25.4)
        painter.fillPath(text_path(text), text_brush(text, PRINT))
        painter.end()
    dots = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4)
    return 255 - dots[..., 1].astype(float)


@pytest.mark.usefixtures("qapp")
@pytest.mark.parametrize("height_mm", [1.8, 2.5, 2.7, 2.8, 3.5, 7.0])
@pytest.mark.parametrize("across", ["left", "middle", "right"])
def test_letters_cover_what_their_outlines_cover(height_mm: float, across: str) -> None:
    text = Text((30.0, 10.3), "148.5 clear, −2 gÄ", height_mm, Ink.TEXT, across, "middle")  # type: ignore[arg-type]
    ours, outlines = darkness(text, outlines=False), darkness(text, outlines=True)
    assert outlines.sum() > 0
    assert ours.sum() == pytest.approx(outlines.sum(), rel=0.03)
    for axis in (0, 1):
        inked, wanted = (np.flatnonzero(page.max(axis=axis) > 100) for page in (ours, outlines))
        assert abs(int(inked[0]) - int(wanted[0])) <= 1
        assert abs(int(inked[-1]) - int(wanted[-1])) <= 1
