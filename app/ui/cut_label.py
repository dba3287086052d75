"""A label of several lines that ends in an ellipsis where it is given too little height."""

from __future__ import annotations

from bisect import bisect_right

from PySide6.QtCore import QRect, Qt
from PySide6.QtWidgets import QLabel

ELLIPSIS = " …"


class CutLabel(QLabel):
    """Says as many of its words as have room; its tip then has all of them."""

    def __init__(self) -> None:
        super().__init__()
        self.setWordWrap(True)
        self._whole = ""

    @property
    def whole(self) -> str:
        """All that it would say."""
        return self._whole

    def say(self, text: str) -> None:
        """Show a text, all of it until it is cut."""
        self._whole = text
        self.setText(text)
        self.setToolTip("")

    def cut_to(self, width_px: int, high_px: int) -> None:
        """Keep the words that have room in a rectangle, or what has room in one line of it."""
        metrics = self.fontMetrics()
        most = max(high_px, metrics.lineSpacing())
        words = self._whole.split(" ")

        def high(count: int) -> int:
            text = " ".join(words[:count]) + (ELLIPSIS if count < len(words) else "")
            room = QRect(0, 0, width_px, 1 << 20)
            return metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, text).height()

        if high(len(words)) <= most:
            self.say(self._whole)
            return
        count = bisect_right(range(1, len(words)), most, key=high)
        self.setText(" ".join(words[: max(1, count)]) + ELLIPSIS)
        self.setToolTip(self._whole)
