"""Tips shown beside the panel on which the pointer is, so that they cover none of its words."""

from __future__ import annotations

import textwrap
from itertools import chain

from PySide6.QtCore import QEvent, QObject, QPoint, QRect
from PySide6.QtGui import QFontMetrics, QHelpEvent
from PySide6.QtWidgets import QScrollArea, QToolTip, QWidget

LETTERS = 64
"""In a line of a tip: what is wider than the screen Qt wraps by itself, and puts elsewhere."""

SIDES_PX, OVER_PX = 26, 20
"""What a tip has beside its text, and how far below the place given to it Qt puts it, at most."""


def show_beside(widget: QWidget, text: str) -> None:
    """Show a tip to the left of a widget's panel, where its first line is."""
    lines = (textwrap.wrap(line, LETTERS) or [""] for line in text.split("\n"))
    folded = "\n".join(chain.from_iterable(lines))
    QToolTip.showText(place_beside(widget, folded), folded, widget)


def place_beside(widget: QWidget, text: str) -> QPoint:
    """Return what Qt is given as place of a tip that shall end at the left of a widget's panel."""
    panel: QWidget | None = widget
    while panel is not None and not isinstance(panel, QScrollArea):
        panel = panel.parentWidget()
    wide = QFontMetrics(QToolTip.font()).boundingRect(QRect(), 0, text).width()
    left = (panel or widget).mapToGlobal(QPoint(0, 0)).x()
    return QPoint(left - wide - SIDES_PX, widget.mapToGlobal(QPoint(0, -OVER_PX)).y())


class TipBeside(QObject):
    """Shows the tip of a widget in the place of Qt, which puts it over what stands below."""

    def __init__(self, widget: QWidget) -> None:
        super().__init__(widget)
        self._widget = widget
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Show the tip, where there is one."""
        if isinstance(event, QHelpEvent) and event.type() is QEvent.Type.ToolTip:
            if self._widget.toolTip():
                show_beside(self._widget, self._widget.toolTip())
            return True
        return super().eventFilter(watched, event)
