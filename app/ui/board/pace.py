"""Panels follow a drag one after the other, so that none of them holds up a frame of the board."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QWidget

PACE_MS = 40
"""From one panel to the next; the board follows at every move."""


class Pace(QObject):
    """Refreshes panels by turns after `ask`, or all of them `now`."""

    def __init__(
        self, panels: Sequence[tuple[QWidget, Callable[[], None]]], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._panels = tuple(panels)
        self._due: list[int] = []
        self._timer = QTimer(self, singleShot=True, interval=PACE_MS)
        self._timer.timeout.connect(self._next)

    def add(self, panel: QWidget, refresh: Callable[[], None]) -> None:
        """Take in a panel that was built later."""
        self._panels = (*self._panels, (panel, refresh))

    def ask(self) -> None:
        """Refresh every panel in its turn; those that are hidden wait for `now`."""
        self._due.extend(k for k in range(len(self._panels)) if k not in self._due)
        if not self._timer.isActive():
            self._timer.start()

    def now(self) -> None:
        """Refresh all panels."""
        self._timer.stop()
        self._due.clear()
        for _, refresh in self._panels:
            refresh()

    def _next(self) -> None:
        while self._due:
            panel, refresh = self._panels[self._due.pop(0)]
            if panel.isVisible():
                refresh()
                break
        if self._due:
            self._timer.start()
