"""Two parts of a panel: side by side where there is room, otherwise one instead of the other."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QWidget

BESIDE_PX = 880
"""In a narrower panel the rows beside the choices would be cut."""


class FoldingSplit(QSplitter):
    """Shows the second of two widgets, and the first beside it, or instead of it, while wanted.

    `folded`: there was room for both and is none any more. `arranged`: which of them are shown may
    be others than before.
    """

    folded = Signal()
    arranged = Signal()

    def __init__(self, first: QWidget, second: QWidget, sizes: tuple[int, int]) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self._first, self._second = first, second
        self._wanted = True
        self._was_beside = False
        self.addWidget(first)
        self.addWidget(second)
        self.setStretchFactor(1, 1)
        self.setChildrenCollapsible(False)
        self.setSizes(list(sizes))

    @property
    def beside(self) -> bool:
        """Whether both have room side by side."""
        return self.width() >= BESIDE_PX

    @property
    def shows_second(self) -> bool:
        """Whether the second is shown."""
        return self.beside or not self._wanted

    def show_first(self, wanted: bool) -> None:
        """Show or hide the first."""
        self._wanted = wanted
        self._share()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width anew."""
        super().resizeEvent(event)
        if self._was_beside and not self.beside:
            self.folded.emit()
        self._was_beside = self.beside
        self._share()

    def _share(self) -> None:
        self._first.setVisible(self._wanted)
        self._second.setVisible(self.shows_second)
        self.arranged.emit()
