"""The parts panel: search, filters by kind and size, and the list."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.ui.actions import with_keys
from app.ui.combo import CalmCombo
from app.ui.panels.part_texts import KIND_GROUPS, frame_sizes
from app.ui.skin import Skin
from app.ui.undo_keys import UndoPasses
from app.ui.widgets import heading
from catalog.store import Library


class SearchField(QLineEdit):
    """A search field from which Down or Enter goes on to the list."""

    leave_wanted = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go on to the list, or clear with Esc."""
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.leave_wanted.emit()
        elif event.key() == Qt.Key.Key_Escape and self.text():
            self.clear()
        else:
            super().keyPressEvent(event)


FILTERS_BESIDE_PX = 225
FILTERS_BELOW_PX = 185
"""In a lower panel filters would leave nothing of the list."""

LEAST_PARTS_PX = 135
"""So wide names of parts still stand in a line; their sizes go below."""


class PartsPanel(QWidget):
    """Choose a part here; it is placed on the board."""

    place_wanted = Signal(object)
    drag_started = Signal(object)
    drag_ended = Signal()

    def __init__(self, library: Library, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._library, self._skin = library, skin
        title = self._title = heading("Parts")
        self.search = SearchField()
        self.search.setPlaceholderText("Search, for example: 2x120 slim")
        self.search.setClearButtonEnabled(True)
        self.search.setAccessibleName("Search parts")
        self.search.setToolTip(
            with_keys("search", "Search by name, size or the trade's other words")
        )
        UndoPasses(self.search, self.search)
        title.setBuddy(self.search)
        self.kind = CalmCombo()
        self.kind.setAccessibleName("Kind of part")
        self.kind.setToolTip("Show one kind of part")
        self.frame = CalmCombo()
        self.frame.setAccessibleName("Frame size")
        self.frame.setToolTip("Show parts for one fan frame size (mm)")
        for box in (self.kind, self.frame):
            box.setSizeAdjustPolicy(
                CalmCombo.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
            box.setMinimumContentsLength(2)
        self._filters = filters = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        filters.setSpacing(6)
        filters.addWidget(self.kind, 3)
        filters.addWidget(self.frame, 2)
        self._empty = QLabel("No part matches this search. Clear it, or choose all kinds.")
        self._empty.setObjectName("empty")
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        top = QVBoxLayout()
        top.setContentsMargins(12, 8, 12, 6)
        top.setSpacing(6)
        top.addWidget(title)
        top.addWidget(self.search)
        top.addLayout(filters)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(top)
        column.addWidget(self._empty, 1)
        column.addStretch(1)
        self._column = column
        self._empty.hide()
        self.setMinimumWidth(LEAST_PARTS_PX)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the filters side by side where both can be read, else one under the other.

        Where the panel is low, only what filters keeps its room.
        """
        super().resizeEvent(event)
        way = QBoxLayout.Direction
        beside = event.size().width() >= FILTERS_BESIDE_PX
        self._filters.setDirection(way.LeftToRight if beside else way.TopToBottom)
        roomy = event.size().height() >= FILTERS_BELOW_PX
        self._title.setVisible(roomy)
        for box in (self.kind, self.frame):
            box.setVisible(roomy or box.currentData() is not None)

    def fill(self) -> None:
        """Show the library, once; reading it takes longer than showing the rest of the window."""
        from app.ui.panels.part_list import PartList

        self.list = PartList(self._skin)
        self._column.insertWidget(1, self.list, 1)
        self._column.takeAt(self._column.count() - 1)
        self.setTabOrder(self.frame, self.list)
        self.search.textChanged.connect(self._filter)
        self.search.leave_wanted.connect(self._go_to_list)
        self.kind.currentIndexChanged.connect(self._filter)
        self.frame.currentIndexChanged.connect(self._filter)
        self.list.place_wanted.connect(self.place_wanted)
        self.list.drag_started.connect(self.drag_started)
        self.list.drag_ended.connect(self.drag_ended)
        self._fill_filters()
        self._filter()

    def _fill_filters(self) -> None:
        parts = self._library.parts.values()
        kinds = {part.kind for part in parts}
        sizes = sorted({size for part in parts for size in frame_sizes(part)})
        for box, first, rest in (
            (self.kind, "All kinds", [(t, k) for k, t in KIND_GROUPS.items() if k in kinds]),
            (self.frame, "All sizes", [(f"{size:g} mm", size) for size in sizes]),
        ):
            with QSignalBlocker(box):
                box.addItem(first, None)
                for text, value in rest:
                    box.addItem(text, value)

    def focus_search(self) -> None:
        """Put the keyboard into the search field."""
        self.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.search.selectAll()

    def _go_to_list(self) -> None:
        if self.list.chosen is None:
            self.list.choose_first()
        self.list.setFocus(Qt.FocusReason.TabFocusReason)

    def _filter(self) -> None:
        kind, size = self.kind.currentData(), self.frame.currentData()
        kinds = None if kind is None else (kind,)
        shown = self._library.search(self.search.text(), kinds, size)
        self.list.set_parts(shown)
        self._empty.setVisible(not shown)
        self.list.setVisible(bool(shown))
