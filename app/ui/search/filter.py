"""Which rows of a search are listed: words, a pattern, least and most of every measure."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QLocale, QSignalBlocker, Signal
from PySide6.QtGui import QDoubleValidator
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLayout,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.ui.combo import combo
from app.ui.panels.parts_panel import SearchField
from app.ui.search.measure_units import per_unit, unit_sign
from app.ui.search.rows import HEAD_TIPS, LIMITED, SHORT_NAMES, RowFilter, measure_of
from app.ui.skin import Skin
from app.ui.undo_keys import UndoPasses
from geometry.search.summary import RowSummary

LIMIT_PX = 58


class FilterBar(QWidget):
    """`changed`: other rows are to be listed."""

    changed = Signal()

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._patterns: tuple[str, ...] = ()
        self._resetting = False
        self.words = SearchField()
        self.words.setPlaceholderText("Filter rows, for example: floor push 45")
        self.words.setClearButtonEnabled(True)
        self.words.setAccessibleName("Filter rows")
        self.words.setToolTip("List the rows that hold all these words; “push-pull” is one")
        UndoPasses(self.words, self.words)
        self.pattern = combo("Pattern", "List one pattern")
        self.pattern.setMinimumContentsLength(16)
        self.limits_button = QPushButton("&Limits")
        self.limits_button.setCheckable(True)
        self.limits_button.setToolTip("Show fields for the least and the most of every figure")
        self.clear = QPushButton("Clea&r")
        self.clear.setToolTip("List all rows again")
        top = QHBoxLayout()
        top.setSpacing(6)
        top.addWidget(self.words, 2)
        top.addWidget(self.pattern, 3)
        top.addWidget(self.limits_button)
        top.addWidget(self.clear)
        self.limits: dict[str, tuple[QLineEdit, QLineEdit]] = {}
        self._labels: dict[str, QLabel] = {}
        self._box = QFrame()
        grid = QGridLayout(self._box)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(5)
        grid.setVerticalSpacing(4)
        for k, key in enumerate(LIMITED):
            across = 4 * (k % 3)
            label = QLabel()
            label.setToolTip(HEAD_TIPS.get(key, ""))
            self._labels[key] = label
            fields = (self._field(key, "least"), self._field(key, "most"))
            self.limits[key] = fields
            label.setBuddy(fields[0])
            grid.addWidget(label, k // 3, across)
            grid.addWidget(fields[0], k // 3, across + 1)
            grid.addWidget(fields[1], k // 3, across + 2)
            grid.setColumnMinimumWidth(across + 3, 4)
        grid.setColumnStretch(12, 1)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSizeConstraint(QLayout.SizeConstraint.SetMinimumSize)
        column.setSpacing(5)
        column.addLayout(top)
        column.addWidget(self._box)
        self._box.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self._box.hide()
        self.words.textChanged.connect(self._on_typed)
        self.pattern.currentIndexChanged.connect(self.changed)
        self.limits_button.toggled.connect(self._box.setVisible)
        self.clear.clicked.connect(self.reset)
        skin.changed.connect(self._dress)
        self._dress()
        self.set_rows(())

    def _field(self, key: str, which: str) -> QLineEdit:
        field = QLineEdit()
        field.setPlaceholderText(which)
        field.setFixedWidth(LIMIT_PX)
        field.setAccessibleName(f"{SHORT_NAMES[key]}, {which}")
        field.setToolTip(f"List rows with at {which} so much")
        validator = QDoubleValidator(field)
        validator.setLocale(QLocale.c())
        field.setValidator(validator)
        UndoPasses(field, field)
        field.textChanged.connect(self._on_typed)
        return field

    def _on_typed(self) -> None:
        if not self._resetting:
            self.changed.emit()

    def _dress(self) -> None:
        for key, label in self._labels.items():
            sign = unit_sign(measure_of(key), self._skin.unit)
            label.setText(f"{SHORT_NAMES[key]}{f', {sign}' if sign else ''}")
        self.changed.emit()

    def set_rows(self, rows: Sequence[RowSummary]) -> None:
        """Offer the patterns of some rows."""
        patterns = tuple(dict.fromkeys(row.pattern for row in rows))
        if patterns == self._patterns and self.pattern.count():
            return
        self._patterns = patterns
        wanted = self.pattern.currentData()
        with QSignalBlocker(self.pattern):
            self.pattern.clear()
            self.pattern.addItem("All patterns", None)
            for pattern in patterns:
                self.pattern.addItem(pattern, pattern)
            self.pattern.setCurrentIndex(max(0, self.pattern.findData(wanted)))

    @property
    def wanted(self) -> RowFilter:
        """What is to be listed."""
        limits = {
            key: (self._figure(key, least), self._figure(key, most))
            for key, (least, most) in self.limits.items()
            if least.text() or most.text()
        }
        return RowFilter(self.words.text(), self.pattern.currentData(), limits)

    def _figure(self, key: str, field: QLineEdit) -> float | None:
        """Return what is typed, in the unit that rows have it in; None where there is no number."""
        value, good = QLocale.c().toDouble(field.text())
        if not good:
            return None
        return value * per_unit(measure_of(key), self._skin.unit)

    def reset(self) -> None:
        """List all rows again."""
        fields = [self.words, *(field for pair in self.limits.values() for field in pair)]
        self._resetting = True
        for field in fields:
            # Unblocked: the field itself hides its own button when it has become empty.
            field.clear()
        with QSignalBlocker(self.pattern):
            self.pattern.setCurrentIndex(0)
        self._resetting = False
        self.changed.emit()
