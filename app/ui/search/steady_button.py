"""A button that is as wide whichever of its texts it shows, so that nothing beside it moves."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QPushButton


class SteadyButton(QPushButton):
    """Shows one of some texts, at first the first of them."""

    def __init__(self, *texts: str) -> None:
        super().__init__(texts[0])
        self._texts = texts

    def sizeHint(self) -> QSize:
        """Ask for room for the widest of the texts."""
        hint = super().sizeHint()
        hint.setWidth(hint.width() - self._wide(self.text()) + max(map(self._wide, self._texts)))
        return hint

    def _wide(self, text: str) -> int:
        return self.fontMetrics().size(Qt.TextFlag.TextShowMnemonic, text).width()
