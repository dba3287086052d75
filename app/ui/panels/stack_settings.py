"""What holds for a whole stack: its slide in the slots of its zone, its air, its lock."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QFormLayout, QHBoxLayout, QLabel, QPushButton, QWidget

from app.ui.actions import with_keys
from app.ui.combo import combo
from app.ui.numbers import LengthField
from app.ui.panels.stack_texts import slots_text
from app.ui.part_commands import take_out_stack
from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.widgets import muted
from app.ui.zone_menu import ZoneMenu
from catalog.enclosure import Zone
from geometry.edits import set_locked, set_slide, set_stack_air
from geometry.layout import Stack


class StackSettings(QWidget):
    """Asks for edits of the stack at hand; `asked` tells of each, also of one that is refused."""

    asked = Signal()

    def __init__(self, session: Session, skin: Skin) -> None:
        super().__init__()
        self._session, self._skin = session, skin
        self._zone: Zone | None = None
        self.slide_u = LengthField(skin, "Slide along u")
        self.slide_v = LengthField(skin, "Slide along v")
        self._slide_u_label, self._slide_v_label = QLabel(), QLabel()
        self._slots = muted()
        self.air = combo(
            "Air of the stack", "Whether the stack blows into the enclosure or out of it"
        )
        self.air.addItem("inward", "inward")
        self.air.addItem("outward", "outward")
        self.lock = QPushButton("Lock")
        self.lock.setCheckable(True)
        self.lock.setToolTip("Keep the whole stack as it is")
        self.move_to = QPushButton("Move to zone")
        self.move_to.setToolTip(
            with_keys("move_stack", "Move the whole stack, with all its layers, to another zone")
        )
        self.move_to.setMenu(ZoneMenu(session, lambda: session.stack_at_hand, self))
        self.remove = QPushButton("Take out")
        self.remove.setToolTip(
            with_keys("remove_stack", "Take the whole stack out, with all its layers")
        )
        form = QFormLayout(self)
        form.setContentsMargins(0, 0, 0, 0)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self._slide_u_label.setBuddy(self.slide_u)
        self._slide_v_label.setBuddy(self.slide_v)
        form.addRow(self._slide_u_label, self.slide_u)
        form.addRow(self._slide_v_label, self.slide_v)
        form.addRow("", self._slots)
        air = QHBoxLayout()
        air.addWidget(self.air, 1)
        air.addWidget(self.lock)
        form.addRow("Air", air)
        whole = QHBoxLayout()
        whole.addWidget(self.move_to, 1)
        whole.addWidget(self.remove)
        form.addRow("", whole)
        self.slide_u.typed_mm.connect(lambda _: self._slide())
        self.slide_v.typed_mm.connect(lambda _: self._slide())
        self.air.activated.connect(self._on_air)
        self.lock.clicked.connect(self._on_lock)
        self.remove.clicked.connect(self._on_remove)

    def show_stack(self, zone: Zone, stack: Stack) -> None:
        """Show what a stack on a zone has now."""
        self._zone = zone
        self._slide_u_label.setText(f"Slide along {zone.u[1]}")
        self._slide_v_label.setText(f"Slide along {zone.v[1]}")
        sign_u, sign_v = _signs(zone)
        self.slide_u.set_mm(sign_u * stack.slide_u_mm)
        self.slide_v.set_mm(sign_v * stack.slide_v_mm)
        self._slots.setText(slots_text(zone, self._skin.unit))
        with QSignalBlocker(self.air), QSignalBlocker(self.lock):
            self.air.setCurrentIndex(self.air.findData(stack.air))
            self.lock.setChecked(stack.locked)
            self.lock.setText("Unlock" if stack.locked else "Lock")
        for moving in (self.slide_u, self.slide_v, self.move_to, self.remove):
            moving.setEnabled(not stack.is_fixed)
        self.air.setEnabled(not stack.locked)

    def _slide(self) -> None:
        stack, zone = self._session.stack_at_hand, self._zone
        if stack is None or zone is None:
            return
        sign_u, sign_v = _signs(zone)
        u, v = sign_u * self.slide_u.value_mm, sign_v * self.slide_v.value_mm
        self._session.apply("Slide stack", lambda la: set_slide(la, stack.id, u, v))
        self.asked.emit()

    def _on_air(self, index: int) -> None:
        stack, air = self._session.stack_at_hand, self.air.itemData(index)
        if stack is not None:
            self._session.apply(f"Air {air}", lambda la: set_stack_air(la, stack.id, air))
        self.asked.emit()

    def _on_remove(self) -> None:
        stack = self._session.stack_at_hand
        if stack is not None:
            take_out_stack(self._session, stack)
        self.asked.emit()

    def _on_lock(self, locked: bool) -> None:
        stack = self._session.stack_at_hand
        if stack is not None:
            name = "Lock stack" if locked else "Unlock stack"
            self._session.apply(name, lambda la: set_locked(la, stack.id, locked))
        self.asked.emit()


def _signs(zone: Zone) -> tuple[int, int]:
    """Return the signs by which slides are typed along +x, +y, +z, not along u and v."""
    return (1 if zone.u[0] == "+" else -1, 1 if zone.v[0] == "+" else -1)
