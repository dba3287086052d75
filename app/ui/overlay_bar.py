"""A bar that lies over its parent and keeps to it, without the parent making room."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QFrame, QWidget


class OverlayBar(QFrame):
    """As wide as its parent and as tall as it needs; hidden until it is shown.

    A bar that lies elsewhere than at the top says where in `top_px`.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("notice")
        self.setAutoFillBackground(True)
        if parent is not None:
            parent.installEventFilter(self)
        self.hide()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the parent while there is something to be seen."""
        if not self.isHidden() and watched is self.parent() and event.type() is QEvent.Type.Resize:
            self.keep_to_parent()
        return super().eventFilter(watched, event)

    def keep_to_parent(self) -> None:
        """Take the parent's width, and lie over all else in it."""
        over = self.parentWidget()
        if over is not None:
            self.fit_width(over.width())
            tall = self.heightForWidth(over.width())
            self.setGeometry(0, self.top_px(over.height(), tall), over.width(), tall)
            self.raise_()

    def fit_width(self, width_px: int) -> None:
        """Lay out what is in the bar for a width, before its height is asked for."""

    def top_px(self, room_px: int, tall_px: int) -> int:  # noqa: ARG002 - for bars that lie lower
        """Return how far below the parent's top a bar so tall lies."""
        return 0
