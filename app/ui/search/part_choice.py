"""Which parts a search may use: a ready choice, or ticks in a list that can be filtered.

The list begins with the ticks of the choice before it.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRect, QSignalBlocker, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QStyle,
    QVBoxLayout,
    QWidget,
)

from app.ui.combo import combo
from app.ui.panels.part_texts import KIND_GROUPS
from app.ui.panels.parts_panel import SearchField
from app.ui.tick_box import TickDelegate
from app.ui.undo_keys import UndoPasses
from app.ui.widgets import muted
from catalog.parts import Exchanger, Fan, Part, Pump, PumpReservoir
from catalog.store import Library
from geometry.layout import Layout
from geometry.search.usual import usual

CHOICES: tuple[tuple[str, str], ...] = (
    ("usual", "the usual ones"),
    ("all", "all of the library"),
    ("layout", "those in the layout"),
    ("chosen", "those ticked below"),
)
USUAL_TIP = (
    "The usual ones: exchangers with ports on a face, fans 25 mm thick, pumps (those without a "
    "plate only where one may stand on its own feet). More parts take longer"
)
ROWS_SEEN = 7
BESIDE_PX = 24
"""What the style keeps free of the width of a line beside box and name, at most."""


NAME_PAD_PX = 10
"""What a name keeps free over and under itself together."""


class NameList(QListWidget):
    """Names to tick, each in as many lines as it needs: what tells two apart is often their end."""

    def __init__(self) -> None:
        super().__init__()
        self.setItemDelegate(TickDelegate(self))
        self.setWordWrap(True)
        self.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the names where the list ends."""
        super().resizeEvent(event)
        self.fit_names()

    def fit_names(self) -> None:
        """Give each name the height of its lines."""
        style = self.style()
        beside = style.pixelMetric(QStyle.PixelMetric.PM_IndicatorWidth, None, self) + BESIDE_PX
        page = QRect(0, 0, max(self.viewport().width() - beside, 1), 0)
        metrics, wrap = self.fontMetrics(), Qt.TextFlag.TextWordWrap
        for k in range(self.count()):
            item = self.item(k)
            high = metrics.boundingRect(page, wrap, item.text()).height()
            item.setSizeHint(QSize(0, high + NAME_PAD_PX))


class PartChoice(QWidget):
    """`changed`: other parts are to be used."""

    changed = Signal()

    def __init__(
        self, library: Library, layout: Callable[[], Layout], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._library, self._layout = library, layout
        self._ticked: set[str] = set()
        self.choice = combo("Parts to use", USUAL_TIP)
        for key, text in CHOICES:
            self.choice.addItem(text, key)
        self.words = SearchField()
        self.words.setPlaceholderText("Filter, for example: 2x120 slim")
        self.words.setClearButtonEnabled(True)
        self.words.setAccessibleName("Filter parts to use")
        self.words.setToolTip("List the parts that match these words; ticks stay as they are")
        UndoPasses(self.words, self.words)
        self.list = NameList()
        self.list.setAccessibleName("Parts to use, ticked")
        self.list.setToolTip("Tick the parts to use; Space ticks the marked one")
        self.tick, self.untick = QPushButton("Tick listed"), QPushButton("Untick listed")
        self.tick.setToolTip("Tick all parts that the filter lists")
        self.untick.setToolTip("Untick all parts that the filter lists")
        self._told = muted()
        self.ticks = QWidget()
        ticks = QVBoxLayout(self.ticks)
        ticks.setContentsMargins(0, 0, 0, 0)
        ticks.setSpacing(5)
        buttons = QHBoxLayout()
        buttons.setSpacing(6)
        buttons.addWidget(self.tick)
        buttons.addWidget(self.untick)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(5)
        column.addWidget(self.choice)
        ticks.addWidget(self.words)
        ticks.addWidget(self.list)
        ticks.addLayout(buttons)
        column.addWidget(self.ticks)
        column.addWidget(self._told)
        self.list.setFixedHeight(ROWS_SEEN * (self.fontMetrics().height() + NAME_PAD_PX))
        self.choice.activated.connect(self._on_choice)
        self.words.textChanged.connect(self._list)
        self.words.leave_wanted.connect(self.list.setFocus)
        self.list.itemChanged.connect(self._on_item)
        self.tick.clicked.connect(lambda: self._tick_listed(True))
        self.untick.clicked.connect(lambda: self._tick_listed(False))
        self._on_choice()

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts to use."""
        return tuple(part for part in self._known() if part.id in self._ticked)

    @property
    def pumps(self) -> tuple[Part, ...]:
        """All pumps that there are, ticked or not."""
        return tuple(part for part in self._known() if isinstance(part, Pump | PumpReservoir))

    def refresh(self) -> None:
        """Follow the layout where its parts are the choice."""
        if self.choice.currentData() == "layout":
            self._on_choice()

    def _known(self) -> list[Part]:
        """Return what can be ticked: the library's parts, and those that only the layout has."""
        own = {part.id: part for part in self._layout().parts.values()}
        every = {**self._library.parts, **own}
        order = list(KIND_GROUPS)
        kinds = Exchanger | Fan | Pump | PumpReservoir
        found = [part for part in every.values() if isinstance(part, kinds)]
        return sorted(found, key=lambda part: order.index(part.kind))

    def _on_choice(self) -> None:
        key = self.choice.currentData()
        known = self._known()
        used = {
            item.part
            for stack in self._layout().stacks
            for layer in (*stack.inner, *stack.outer)
            for item in layer.items
        }
        if key != "chosen":
            used |= {free.part for free in self._layout().free}
            self._ticked = {
                part.id
                for part in known
                if key == "all" or (usual(part) if key == "usual" else part.id in used)
            }
        self.ticks.setVisible(key == "chosen")
        self._list()
        self._tell()
        self.changed.emit()

    def _list(self) -> None:
        answers = {part.id for part in self._library.search(self.words.text())}
        words = self.words.text().casefold().split()
        with QSignalBlocker(self.list):
            self.list.clear()
            for part in self._known():
                name = part.name.casefold()
                if part.id not in answers and not all(word in name for word in words):
                    continue
                item = QListWidgetItem(part.name)
                item.setToolTip(part.name)
                item.setData(Qt.ItemDataRole.UserRole, part.id)
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
                ticked = part.id in self._ticked
                item.setCheckState(Qt.CheckState.Checked if ticked else Qt.CheckState.Unchecked)
                self.list.addItem(item)
        self.list.fit_names()

    def _on_item(self, item: QListWidgetItem) -> None:
        part_id = item.data(Qt.ItemDataRole.UserRole)
        self._set(part_id, item.checkState() is Qt.CheckState.Checked)
        self._on_ticked()

    def _tick_listed(self, ticked: bool) -> None:
        for k in range(self.list.count()):
            self._set(self.list.item(k).data(Qt.ItemDataRole.UserRole), ticked)
        self._list()
        self._on_ticked()

    def _set(self, part_id: str, ticked: bool) -> None:
        if ticked:
            self._ticked.add(part_id)
        else:
            self._ticked.discard(part_id)

    def _on_ticked(self) -> None:
        self._tell()
        self.changed.emit()

    def _tell(self) -> None:
        parts = self.parts
        words = [part.kind if part.kind in ("exchanger", "fan") else "pump" for part in parts]
        counts = [(words.count(word), word) for word in ("exchanger", "fan", "pump")]
        told = [f"{count} {word}{'' if count == 1 else 's'}" for count, word in counts]
        self._told.setText(", ".join(told))
