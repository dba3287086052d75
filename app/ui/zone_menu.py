"""The menu that moves a whole stack: every zone of the enclosure, and why one does not take it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QMenu, QWidget

from app.ui.session import Session, sentence
from geometry.edits import move_stack, why_not_moved
from geometry.layout import Stack
from geometry.zone_names import zone_names


class ZoneMenu(QMenu):
    """Filled whenever it opens, for the stack that `stack` then names."""

    def __init__(
        self, session: Session, stack: Callable[[], Stack | None], parent: QWidget
    ) -> None:
        super().__init__(parent)
        self._session, self._stack = session, stack
        self.setToolTipsVisible(True)
        self.aboutToShow.connect(self.fill)

    def fill(self) -> None:
        """List the zones; the one on which the stack stands is ticked, as it cannot be chosen."""
        self.clear()
        stack = self._stack()
        if stack is None:
            self.addAction("No stack is selected").setEnabled(False)
            return
        layout = self._session.edited.scene.layout
        for zone, name in zone_names(layout.enclosure).items():
            why = why_not_moved(layout, stack.id, zone)
            action = self.addAction(name.replace("&", "&&"))
            tip = sentence(why) if why else f"Move stack {stack.id} to {name}"
            action.setToolTip(tip)
            action.setStatusTip(tip)
            action.setEnabled(not why)
            if zone == stack.zone:
                action.setCheckable(True)
                action.setChecked(True)
            action.triggered.connect(
                lambda _=False, s=stack.id, z=zone, n=name: self._move(s, z, n)
            )

    def _move(self, stack: str, zone: str, name: str) -> None:
        if self._session.apply(f"Move stack to {name}", lambda la: move_stack(la, stack, zone)):
            self._session.take_zone(zone)
