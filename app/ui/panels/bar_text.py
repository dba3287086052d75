"""A word and its figure in a box of the stack bar: as much of them as the box has room for."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter

PAD_PX = 4.0
"""What a box keeps free beside its text, both sides together."""


@dataclass(frozen=True)
class BoxText:
    """Lines as they go into a box, perhaps turned to read from below."""

    lines: tuple[str, ...]
    turned: bool = False


NOTHING = BoxText(())


def box_text(word: str, figure: str, wide: float, high: float, metrics: QFontMetricsF) -> BoxText:
    """Return of a word and a figure what goes into a box of some pixels, the figure first of all.

    One over the other, or in a line, or that turned; then the figure alone, and then nothing: what
    is left out is in the tip.
    """
    line = f"{word} {figure}".strip()
    ways = [
        BoxText((word, figure)) if word else NOTHING,
        BoxText((line,)),
        BoxText((line,), turned=True),
        BoxText((figure,)),
        BoxText((figure,), turned=True),
    ]
    return next((way for way in ways if way.lines and _fits(way, wide, high, metrics)), NOTHING)


def _fits(text: BoxText, wide: float, high: float, metrics: QFontMetricsF) -> bool:
    across, up = (high, wide) if text.turned else (wide, high)
    return (
        max(map(metrics.horizontalAdvance, text.lines)) <= across - PAD_PX
        and len(text.lines) * metrics.height() <= up
    )


def write_into(painter: QPainter, box: QRectF, word: str, figure: str) -> None:
    """Write a word and its figure into a box, as much as goes into it."""
    metrics = QFontMetricsF(painter.font(), painter.device())
    text = box_text(word, figure, box.width(), box.height(), metrics)
    if not text.turned:
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, "\n".join(text.lines))
        return
    painter.save()
    painter.translate(box.center())
    painter.rotate(-90)
    turned = QRectF(-box.height() / 2, -box.width() / 2, box.height(), box.width())
    painter.drawText(turned, Qt.AlignmentFlag.AlignCenter, text.lines[0])
    painter.restore()


def largest_free(box: QRectF, covers: list[QRectF]) -> QRectF:
    """Return the largest part of a box that none of some covers lies over."""
    free = QRectF(box)
    for cover in covers:
        over = cover.intersected(free)
        if over.width() < 1 or over.height() < 1:
            continue
        parts = [QRectF(free) for _ in range(4)]
        parts[0].setBottom(over.top())
        parts[1].setTop(over.bottom())
        parts[2].setRight(over.left())
        parts[3].setLeft(over.right())
        free = max(parts, key=lambda part: part.width() * part.height())
    return free
