"""A window with help text beside the main one; it stops nothing."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTextBrowser, QVBoxLayout, QWidget

from app.ui.widgets import keep_on_screen

WIDE_PX, TALL_PX = 680, 560
ROUND_PX = 40
"""Margins, frame and scroll bar beside the text."""


class HelpDialog(QDialog):
    """Shows one text."""

    def __init__(self, title: str, text_html: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setModal(False)
        self.text = QTextBrowser()
        self.text.setHtml(text_html)
        self.text.setAccessibleName(title)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.close)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 12, 12, 12)
        column.addWidget(self.text)
        column.addWidget(buttons)
        keep_on_screen(self, QSize(WIDE_PX, self._tall_px()))

    def _tall_px(self) -> int:
        """Return the height for all of a short text, or for a page of a long one."""
        self.text.document().setTextWidth(WIDE_PX - ROUND_PX)
        text = int(self.text.document().size().height())
        others = self.sizeHint().height() - self.text.sizeHint().height()
        return min(TALL_PX, text + others + ROUND_PX)
