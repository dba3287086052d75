"""Panels follow a drag one after the other, so that none of them holds up a frame of the board.

While the pointer moves they come to it seldom, and what they show is marked as older; once it rests
they do at once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import monotonic

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QWidget

from app.ui.board.pointer_work import PointerWork

PACE_S = 0.4
"""From one panel to the next while the pointer moves: of 24 frames, one has a panel to paint."""

REST_MS = 60
"""After so long without a move the pointer is taken to rest."""

Refresh = Callable[[bool], None]
"""Shows a panel as it is; True tells that the pointer moves on."""


class PanelPace(QObject):
    """Refreshes panels by turns after `ask`, or all of them `now`."""

    def __init__(
        self,
        panels: Sequence[tuple[QWidget, Refresh]],
        follow: PointerWork,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._panels, self._follow = tuple(panels), follow
        self._due: list[int] = []
        self._last_s = 0.0
        self._sent = False
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self._send)

    def add(self, panel: QWidget, refresh: Refresh) -> None:
        """Take in a panel that was built later."""
        self._panels = (*self._panels, (panel, refresh))

    def ask(self) -> None:
        """Refresh every panel in its turn; those that are hidden wait for `now`."""
        if not self._due:
            self._last_s = monotonic()
        self._due.extend(k for k in range(len(self._panels)) if k not in self._due)
        self._rest.start()
        if monotonic() - self._last_s > PACE_S:
            self._send()

    def now(self) -> None:
        """Refresh all panels."""
        self._rest.stop()
        self._due.clear()
        for _, refresh in self._panels:
            refresh(False)

    def _send(self) -> None:
        if not self._sent:
            self._sent = True
            self._follow.errand(self._next)

    def _next(self) -> None:
        """Refresh the next panel that is seen; the others follow at once when the pointer rests."""
        self._sent = False
        moving = self._rest.isActive()
        while self._due:
            number = self._due.pop(0)
            panel, refresh = self._panels[number]
            if panel.isVisible():
                refresh(moving)
                self._last_s = monotonic()
                if moving:
                    # What it shows is marked as older until the pointer rests.
                    self._due.append(number)
                break
        if self._due and not moving:
            self._send()
