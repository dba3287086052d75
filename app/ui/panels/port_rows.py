"""One row per port of a part: plugged, or open with a fitting."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QComboBox, QFormLayout, QWidget

from app.ui.combo import combo
from app.ui.session import Session
from app.ui.skin import Skin
from catalog.parts import Fitting, Part, Port, part_ports
from geometry.edits import plug_port, set_fitting
from geometry.layout import port_use
from geometry.part_solids import DEFAULT_FITTING
from geometry.placement import Placed

PLUGGED, USUAL = "plugged", "usual"


class PortRows(QWidget):
    """Fields for the ports of one part."""

    def __init__(
        self, session: Session, skin: Skin, parts: Sequence[Part], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._skin = session, skin
        self._parts = parts
        self._key: tuple[object, ...] = ()
        self._form = QFormLayout(self)
        self._form.setContentsMargins(0, 0, 0, 0)
        self._form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        self.boxes: dict[str, QComboBox] = {}
        """The field of every port shown, by the port's id."""

    def show_part(self, one: Placed | None) -> None:
        """Show the ports of a part; None, or a part without ports, shows nothing."""
        ports = part_ports(one.part) if one is not None else ()
        key = (one.id, one.part.id) if one is not None and ports else ()
        if key != self._key:
            self._key = key
            self._rebuild(one, ports)
        for port in ports:
            self._show_use(self.boxes[port.id], port, one)
        self.setVisible(bool(ports))

    def _rebuild(self, one: Placed | None, ports: Sequence[Port]) -> None:
        while self._form.rowCount():
            self._form.removeRow(0)
        self.boxes = {}
        if one is None:
            return
        for port in ports:
            tip = f"Port {port.id}, {port.thread}: plugged, or open with a fitting"
            box = combo(f"Port {port.id}", tip)
            box.addItem("plugged", PLUGGED)
            room = DEFAULT_FITTING.name.removeprefix("Fitting ")
            box.addItem(f"open, room for {room} assumed", USUAL)
            for fitting in (p for p in self._parts if isinstance(p, Fitting)):
                if fitting.thread == port.thread:
                    box.addItem(_use_text(fitting.name), fitting.id)
            box.activated.connect(partial(self._on_choice, one.id, port.id))
            tank = {"port_end": ", port end", "return_end": ", return end", None: ""}[port.tank]
            self._form.addRow(f"{port.id} ({port.thread}{tank})", box)
            self.boxes[port.id] = box

    def _show_use(self, box: QComboBox, port: Port, one: Placed | None) -> None:
        if one is None:
            return
        use = port_use(port, one.use.ports)
        wanted = PLUGGED if use.plugged else use.fitting or USUAL
        with QSignalBlocker(box):
            if box.findData(wanted) < 0:
                box.addItem(_use_text(self._session.edited.scene.layout.part(wanted).name), wanted)
            box.setCurrentIndex(box.findData(wanted))

    def _on_choice(self, placed_id: str, port_id: str, index: int) -> None:
        wanted = str(self.boxes[port_id].itemData(index))
        if wanted == PLUGGED:
            self._session.apply(
                f"Plug port {port_id}", lambda la: plug_port(la, placed_id, port_id)
            )
            return
        known = {f.id: f for f in (p for p in self._parts if isinstance(p, Fitting))}
        layout_part = self._session.edited.scene.layout.parts.get(wanted)
        fitting = known.get(wanted)
        if fitting is None and isinstance(layout_part, Fitting):
            fitting = layout_part
        name = f"Open port {port_id}" if fitting is None else f"Fitting on port {port_id}"
        self._session.apply(name, lambda la: set_fitting(la, placed_id, port_id, fitting))


def _use_text(name: str) -> str:
    """Return what a port with this fitting is called; one with a plug is not open."""
    kind, _, rest = name.partition(", ")
    return f"plugged, {rest}" if kind == "Plug" else f"open, {name}"
