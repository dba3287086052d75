"""Marks in a table or list the row that is previewed on the board, beside what is selected."""

from __future__ import annotations

from PySide6.QtCore import QRect
from PySide6.QtGui import QGuiApplication, QPainter, QPalette

BAR_PX = 4
TINT = 0.16
"""How much of the accent colour lies under the text, which stays as legible as on the ground."""


def paint_shown(painter: QPainter, row: QRect) -> None:
    """Paint the ground of a row that is previewed: a tint, and a bar at its left end.

    In the accent colour of the program: the view's own is that of a selection, which is pale.
    """
    accent = QGuiApplication.palette().color(
        QPalette.ColorGroup.Active, QPalette.ColorRole.Highlight
    )
    bar = QRect(row.left(), row.top(), BAR_PX, row.height())
    painter.fillRect(bar, accent)
    accent.setAlphaF(TINT)
    painter.fillRect(row, accent)
