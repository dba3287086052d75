"""The layers of one side of a stack as rows: name, thickness, move, remove."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.units import figure_text, length_text
from app.ui.widgets import set_property, wrapping
from catalog.parts import Exchanger
from geometry.edits import move_layer, remove_layer
from geometry.finding import StackDepth
from geometry.layout import Layer, Side, Stack


class LayerRow(QFrame):
    """One layer; Enter or a click selects it, its buttons move and remove it."""

    chosen = Signal(int)
    moved = Signal(int, int)
    removed = Signal(int)

    def __init__(self, index: int, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self._index = index
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._name = wrapping()
        self._mm = QLabel()
        self._buttons: list[tuple[QToolButton, str]] = []
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 3, 4)
        row.setSpacing(2)
        row.addWidget(self._name, 1)
        row.addWidget(self._mm)
        for icon, tip, act in (
            ("up", "Move this layer towards the plate", lambda: self.moved.emit(index, -1)),
            ("down", "Move this layer away from the plate", lambda: self.moved.emit(index, 1)),
            ("remove", "Remove this layer", lambda: self.removed.emit(index)),
        ):
            button = QToolButton()
            button.setIcon(skin.icon(icon))
            button.setToolTip(tip)
            button.setAccessibleName(tip)
            button.clicked.connect(act)
            row.addWidget(button)
            self._buttons.append((button, icon))
        skin.changed.connect(lambda: self._dress(skin))

    def _dress(self, skin: Skin) -> None:
        for button, icon in self._buttons:
            button.setIcon(skin.icon(icon))

    def show_layer(self, name: str, mm: str, selected: bool, last: bool) -> None:
        """Show a layer."""
        if self._name.text() != name:
            self._name.setText(name)
        if self._mm.text() != mm:
            self._mm.setText(mm)
        self._buttons[0][0].setEnabled(self._index > 0)
        self._buttons[1][0].setEnabled(not last)
        set_property(self, "current", "true" if selected else "false")
        self.setAccessibleName(f"Layer {self._index + 1}: {name}, {mm}")

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Select the layer's part."""
        if event.button() is Qt.MouseButton.LeftButton:
            self.chosen.emit(self._index)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter selects, Delete removes, Alt with up or down moves."""
        key, alt = event.key(), bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.chosen.emit(self._index)
        elif key == Qt.Key.Key_Delete:
            self.removed.emit(self._index)
        elif alt and key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.moved.emit(self._index, -1 if key == Qt.Key.Key_Up else 1)
        else:
            super().keyPressEvent(event)


class LayerRows(QWidget):
    """Rows from the plate outwards."""

    def __init__(self, session: Session, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._skin = session, skin
        self._rows: list[LayerRow] = []
        self._layers: tuple[Layer, ...] = ()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(3)

    def show_side(self, stack: Stack, side: Side, depth: StackDepth | None) -> None:
        """Show the layers of one side."""
        self._layers = stack.side(side)
        while len(self._rows) < len(self._layers):
            row = LayerRow(len(self._rows), self._skin)
            row.chosen.connect(self._choose)
            row.moved.connect(self._move)
            row.removed.connect(self._remove)
            self._column.addWidget(row)
            self._rows.append(row)
        spans = {span.layer: span for span in depth.layers} if depth is not None else {}
        for number, row in enumerate(self._rows):
            row.setVisible(number < len(self._layers))
            if number >= len(self._layers):
                continue
            layer = self._layers[number]
            span = spans.get(layer.id)
            mm = length_text(span.top_mm - span.base_mm, self._skin.unit) if span else ""
            selected = self._session.selected in {item.id for item in layer.items}
            row.show_layer(self._told(layer), mm, selected, number == len(self._layers) - 1)

    def _told(self, layer: Layer) -> str:
        """Return the name, and of an exchanger with thicker tanks both thicknesses."""
        layout, unit = self._session.edited.scene.layout, self._skin.unit
        lines = [self._name(layer)]
        for part in dict.fromkeys(layout.part(item.part) for item in layer.items):
            if isinstance(part, Exchanger):
                core, tanks = (
                    figure_text(mm, unit)
                    for mm in (part.core_thickness_mm, part.thickness_at_tanks_mm)
                )
                if core != tanks:
                    lines.append(f"{core} core, {tanks} at the tanks")
        return "\n".join(lines)

    def _name(self, layer: Layer) -> str:
        layout = self._session.edited.scene.layout
        names = [layout.part(item.part).name for item in layer.items]
        counts = {name: names.count(name) for name in names}
        return ", ".join(f"{n} × {name}" if n > 1 else name for name, n in counts.items())

    def _choose(self, index: int) -> None:
        self._session.select(self._layers[index].items[0].id)

    def _move(self, index: int, step: int) -> None:
        layer, wanted = self._layers[index], index + step
        if 0 <= wanted < len(self._layers):
            self._session.apply("Move layer", lambda la: move_layer(la, layer.id, wanted))

    def _remove(self, index: int) -> None:
        layer = self._layers[index]
        self._session.apply(f"Take out {self._name(layer)}", lambda la: remove_layer(la, layer.id))
