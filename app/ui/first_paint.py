"""Tells when the board is on the screen, so that what nobody sees yet can wait until then."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal

from app.ui.board.canvas import BoardCanvas

A_MOMENT_MS = 20
"""Until the frame is on the screen and what the user did meanwhile has been seen to."""


class FirstPaint(QObject):
    """`done` comes once, a moment after a board has been painted for the first time."""

    done = Signal()

    def __init__(self, board: BoardCanvas) -> None:
        super().__init__(board)
        self._board = board
        board.painted.connect(self._on_painted)

    def _on_painted(self) -> None:
        self._board.painted.disconnect(self._on_painted)
        # All other widgets are painted in the same go; the moment begins when they are done.
        QTimer.singleShot(0, self, self._wait)

    def _wait(self) -> None:
        QTimer.singleShot(A_MOMENT_MS, self, self._tell)

    def _tell(self) -> None:
        self.done.emit()
