"""Fields for typed lengths, shown in the user's unit and handed on in mm, and for numbers."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFocusEvent, QPainter, QPaintEvent, QPalette, QPen, QWheelEvent
from PySide6.QtWidgets import QDoubleSpinBox, QSpinBox, QWidget

from app.ui.skin import Skin
from app.ui.undo_keys import UndoPasses
from app.ui.units import MM_PER_INCH, Unit
from catalog.model import LIMIT_MM

TARGET_PX = 24
"""Least size of what is to be hit by a pointer (WCAG 2.2, 2.5.8)."""

RADIUS_PX = 3.0


class LengthField(QDoubleSpinBox):
    """A spin box in mm or inch; `typed_mm` tells a value that the user has settled on."""

    typed_mm = Signal(float)

    def __init__(
        self,
        skin: Skin,
        name: str,
        tip: str = "",
        least_mm: float = -LIMIT_MM,
        most_mm: float = LIMIT_MM,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._skin = skin
        self._name, self._tip = name, tip
        self._range_mm = (least_mm, most_mm)
        self._value_mm = 0.0
        self.setAccessibleName(name)
        self.setKeyboardTracking(False)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(92, TARGET_PX)
        UndoPasses(self, self.lineEdit())
        self._dress()
        skin.changed.connect(self._dress)
        self.valueChanged.connect(self._on_value)

    def set_mm(self, value_mm: float) -> None:
        """Show a value; not told as typed."""
        self._value_mm = value_mm
        if self.hasFocus() and self.lineEdit().isModified():
            return
        with QSignalBlocker(self):
            self.setValue(value_mm / self._skin.unit.mm)

    @property
    def value_mm(self) -> float:
        """The value that holds."""
        return self._value_mm

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Leave the field with the value that holds."""
        super().focusOutEvent(event)
        self.set_mm(self._value_mm)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Count only with the keyboard in the field; otherwise the panel round it scrolls."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the field in a border that is seen in both colours, as the other fields have it."""
        super().paintEvent(event)
        _paint_border(self)

    def _dress(self) -> None:
        unit = self._skin.unit
        with QSignalBlocker(self):
            self.setDecimals(4 if unit is Unit.INCH else 2)
            self.setSingleStep(0.05 if unit is Unit.INCH else 1.0)
            self.setSuffix(f" {unit.value}")
            self.setRange(self._range_mm[0] / unit.mm, self._range_mm[1] / unit.mm)
            self.setValue(self._value_mm / unit.mm)
        words = f"{self._name} ({unit.value})"
        self.setToolTip(f"{words}\n{self._tip}" if self._tip else words)

    def _on_value(self, value: float) -> None:
        mm = round(value * MM_PER_INCH, 4) if self._skin.unit is Unit.INCH else value
        self._value_mm = mm
        self.typed_mm.emit(mm)


class CountField(QSpinBox):
    """A spin box for whole numbers that leaves the wheel to the panel round it, as lengths do."""

    def __init__(self, name: str, least: int, most: int) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.setRange(least, most)
        self.setMinimumHeight(TARGET_PX)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        UndoPasses(self, self.lineEdit())

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Count only with the keyboard in the field."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the field in the border that the other fields have."""
        super().paintEvent(event)
        _paint_border(self)


def _paint_border(field: QWidget) -> None:
    """Paint the border of a field in the colours that the palette has for controls."""
    role, palette = QPalette.ColorRole, field.palette()
    wide = 2.0 if field.hasFocus() else 1.0
    control = role.Highlight if field.hasFocus() else role.Dark
    painter = QPainter(field)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(palette.color(control if field.isEnabled() else role.Mid), wide))
    edge = QRectF(field.rect()).adjusted(wide / 2, wide / 2, -wide / 2, -wide / 2)
    painter.drawRoundedRect(edge, RADIUS_PX, RADIUS_PX)
