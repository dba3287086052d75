"""The chosen entry of a field, cut where the field is too narrow for it.

Loaded when there is an entry: the many enums of QStyle take longer to make than the fields of the
window, which are still empty when it is first painted, take to be painted.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QStylePainter

TEXT_PAD_PX = 4
"""What a style keeps free beside the text of a field."""


def cut_entry(field: QComboBox) -> str:
    """Return the chosen entry, ending in an ellipsis where there is no room for all of it."""
    kind, part = QStyle.ComplexControl.CC_ComboBox, QStyle.SubControl.SC_ComboBoxEditField
    room = field.style().subControlRect(kind, _option(field), part, field).width() - TEXT_PAD_PX
    elide = Qt.TextElideMode.ElideRight
    return field.fontMetrics().elidedText(field.currentText(), elide, room)


def paint_cut_entry(field: QComboBox) -> None:
    """Paint a field with as much of the chosen entry as there is room for."""
    option = _option(field)
    option.currentText = cut_entry(field)
    painter = QStylePainter(field)
    painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
    painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)


def _option(field: QComboBox) -> QStyleOptionComboBox:
    option = QStyleOptionComboBox()
    field.initStyleOption(option)
    return option
