"""The menu that moves a whole stack: every zone of the enclosure, and why one does not take it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QMenu, QWidget

from app.ui.actions import key_of
from app.ui.session import Session, sentence
from geometry.edits import move_stack, slide_note, why_not_moved
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
        """List the zones; one that does not take the stack says why in its text.

        The one on which the stack stands is ticked, as it cannot be chosen.
        """
        self.clear()
        stack = self._stack()
        if stack is None:
            self.addAction("No stack is selected").setEnabled(False)
            return
        layout = self._session.edited.scene.layout
        for zone, name in zone_names(layout.enclosure).items():
            why = why_not_moved(layout, stack.id, zone)
            here = zone == stack.zone
            reason = "" if here else why.removeprefix(f"zone {name} ")
            text = f"{name}: {reason}" if reason else name
            action = self.addAction(text.replace("&", "&&"))
            tip = sentence(why) if why else f"Move the stack to {name}"
            action.setToolTip(tip)
            action.setStatusTip(tip)
            action.setEnabled(not why)
            if here:
                action.setCheckable(True)
                action.setChecked(True)
            action.triggered.connect(
                lambda _=False, s=stack.id, z=zone, n=name: self._move(s, z, n)
            )

    @property
    def why_nowhere(self) -> str:
        """Why no other zone takes the stack; empty when one does, or none is selected."""
        stack = self._stack()
        if stack is None:
            return ""
        layout = self._session.edited.scene.layout
        others = [zone for zone in zone_names(layout.enclosure) if zone != stack.zone]
        reasons = [why_not_moved(layout, stack.id, zone) for zone in others]
        if not all(reasons):
            return ""
        told = " ".join(sentence(why) for why in reasons)
        return f"The stack can go to no other zone. {told or 'There is none.'}"

    def _move(self, stack: str, zone: str, name: str) -> None:
        session = self._session
        before, stood = session.document.layout, self._stood(stack, zone)
        if session.apply(
            f"Move stack to {name}", lambda la: move_stack(la, stack, zone, stood=stood)
        ):
            session.take_zone(zone)
            note = slide_note(before, session.document.layout, stack)
            if note:
                session.told.emit(f"{sentence(note)} {key_of('undo')} undoes the move.")

    def _stood(self, stack_id: str, zone: str) -> Stack | None:
        """Return how a stack stood on a zone when it was last there; None when it never was."""
        zones = self._session.document.layout.enclosure.zones
        for layout in self._session.document.earlier():
            if layout.enclosure.zones != zones:
                return None
            for stack in layout.stacks:
                if (stack.id, stack.zone) == (stack_id, zone):
                    return stack
        return None
