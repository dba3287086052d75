"""The table of what fits: rows under their patterns, to hover, choose, sort and apply."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractItemModel,
    QEvent,
    QItemSelectionModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QPoint,
    Qt,
    Signal,
)
from PySide6.QtGui import QFocusEvent, QFont, QKeyEvent, QKeySequence, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QTreeView, QWidget

from app.ui.search.row_tips import RowTips
from app.ui.search.rows import (
    COLUMNS,
    LEFT,
    LEFT_WORST,
    TEXT,
    WORST,
    RowFilter,
    RowGroup,
    Sorting,
    arranged,
    cell_text,
    folded,
    head_text,
    head_tip,
    left_lines,
    row_tip,
    short_tip,
    worst_tip,
)
from app.ui.search.zone_lines import ZoneLines
from app.ui.skin import Skin
from app.ui.units import Unit
from geometry.search.summary import RowSummary

Index = QModelIndex | QPersistentModelIndex
Role = Qt.ItemDataRole
NO_INDEX = QModelIndex()
LEAST_TEXT_LETTERS = 42
FIRST = ("area", "volume", "fans", "leftover")
"""The figures that are seen beside a row of a single line without scrolling."""

BESIDE = 1.4
"""What a column of figures keeps free beside them, in heights of a line."""

BOLD = 1.12
"""Heads that count are bold, and so wider (a bound for the letters in use)."""


class RowModel(QAbstractItemModel):
    """Two levels: patterns, and below each its rows. An index holds the place of its pattern + 1
    where it is a row, and 0 where it is a pattern itself."""

    def __init__(self, skin: Skin, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._rows: tuple[RowSummary, ...] = ()
        self._groups: tuple[RowGroup, ...] = ()
        self._filter, self._sorting = RowFilter(), Sorting()
        self._wanted: tuple[str, ...] = ()

    @property
    def unit(self) -> Unit:
        """The unit of lengths."""
        return self._skin.unit

    @property
    def groups(self) -> tuple[RowGroup, ...]:
        """What is listed."""
        return self._groups

    @property
    def rows(self) -> tuple[RowSummary, ...]:
        """All rows, listed or not, in the order of finding."""
        return self._rows

    @property
    def listed(self) -> tuple[RowSummary, ...]:
        """The rows that are listed, in the order of the table."""
        return tuple(row for group in self._groups for row in group.rows)

    def show_rows(self, rows: Sequence[RowSummary], wanted: Sequence[str]) -> None:
        """List other rows; `wanted` are the measures that counted."""
        self._rows, self._wanted = tuple(rows), tuple(wanted)
        self.arrange(self._filter, self._sorting)

    def arrange(self, wanted: RowFilter, sorting: Sorting) -> None:
        """Filter and sort anew."""
        self.beginResetModel()
        self._filter, self._sorting = wanted, sorting
        self._groups = arranged(self._rows, wanted, sorting)
        self.endResetModel()

    @property
    def sorting(self) -> Sorting:
        """By what the rows are sorted."""
        return self._sorting

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column; -1 brings the order of finding back."""
        key = COLUMNS[column] if column >= 0 else None
        self.arrange(self._filter, Sorting(key, order is Qt.SortOrder.DescendingOrder))

    def row_at(self, index: Index) -> RowSummary | None:
        """Return the row at an index; None where a pattern or nothing is."""
        if not index.isValid() or not index.internalId():
            return None
        return self._groups[index.internalId() - 1].rows[index.row()]

    def index_of(self, number: int) -> QModelIndex:
        """Return the index of a row by its number; an invalid one where it is not listed."""
        for g, group in enumerate(self._groups):
            for k, row in enumerate(group.rows):
                if row.number == number:
                    return self.createIndex(k, 0, g + 1)
        return QModelIndex()

    # what Qt asks

    def index(self, row: int, column: int, parent: Index = NO_INDEX) -> QModelIndex:
        """Return an index."""
        if not self.hasIndex(row, column, parent):
            return QModelIndex()
        return self.createIndex(row, column, parent.row() + 1 if parent.isValid() else 0)

    def parent(self, index: Index = NO_INDEX) -> QModelIndex:  # type: ignore[override]
        """Return the pattern of a row."""
        if not index.isValid() or not index.internalId():
            return QModelIndex()
        return self.createIndex(index.internalId() - 1, 0, 0)

    def rowCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many patterns there are, or rows of one."""
        if not parent.isValid():
            return len(self._groups)
        if parent.internalId() or parent.column():
            return 0
        return len(self._groups[parent.row()].rows)

    def columnCount(self, _parent: Index = NO_INDEX) -> int:
        """Return the number of columns."""
        return len(COLUMNS)

    def data(self, index: Index, role: int = Role.DisplayRole) -> Any:
        """Return what a cell shows."""
        if not index.isValid():
            return None
        column = COLUMNS[index.column()]
        row = self.row_at(index)
        if row is None:
            return self._group_data(self._groups[index.row()], column, role)
        if role == Role.DisplayRole:
            text = cell_text(row, column, self._skin.unit)
            return f"{row.number}:  {text}" if column == TEXT else text
        if role == Role.ToolTipRole:
            return self._tip(row, column)
        if role == Role.AccessibleDescriptionRole and column == TEXT:
            return row_tip(row, self._skin.unit)
        if role == Role.AccessibleTextRole and column == TEXT:
            return f"Row {row.number}: {cell_text(row, column, self._skin.unit)}"
        if role == Role.TextAlignmentRole and column != TEXT:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None

    def _tip(self, row: RowSummary, column: str) -> str | None:
        """Return what is not seen of a row, or what stands behind one of its figures."""
        if column == TEXT:
            return short_tip(row)
        if column in (LEFT, LEFT_WORST):
            return folded(left_lines(row, self._skin.unit))
        return worst_tip(row) if column == WORST else None

    def _group_data(self, group: RowGroup, column: str, role: int) -> Any:
        if role == Role.DisplayRole and column == TEXT:
            rows = "1 row" if len(group.rows) == 1 else f"{len(group.rows)} rows"
            return f"{group.pattern}   –   {rows}, {group.alike:,} like it fit"
        if role == Role.ToolTipRole:
            return f"{group.pattern}\n{group.alike:,} combinations of this pattern fit (exact)"
        if role == Role.FontRole:
            font = QFont()
            font.setBold(True)
            return font
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Role.DisplayRole
    ) -> Any:
        """Return the head of a column; those that count for the trade-offs are bold."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        column = COLUMNS[section]
        if role == Role.DisplayRole:
            return head_text(column, self._skin.unit)
        if role == Role.ToolTipRole:
            return head_tip(column, self._skin.unit, self._wanted)
        if role == Role.FontRole:
            font = QFont()
            font.setBold(column in self._wanted)
            return font
        if role == Role.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if column == TEXT else Qt.AlignmentFlag.AlignRight
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None


class RowTable(QTreeView):
    """`looked_at` carries the row under the pointer or the keyboard, None when neither is there.

    `apply_wanted` carries a row; `picked` tells that other rows are selected; `menu_wanted` where
    on the screen a menu shall open; `copy_wanted`, `left`: Ctrl+C or Esc was pressed.
    """

    looked_at = Signal(object)
    apply_wanted = Signal(object)
    picked = Signal()
    menu_wanted = Signal(QPoint)
    copy_wanted = Signal()
    left = Signal()

    def __init__(self, model: RowModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.setModel(model)
        self.setAccessibleName("Combinations that fit")
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self._lines = ZoneLines(self)
        self.setItemDelegateForColumn(COLUMNS.index(TEXT), self._lines)
        RowTips(self)
        self.setAllColumnsShowFocus(True)
        self.setMouseTracking(True)
        self.setExpandsOnDoubleClick(False)
        self.setIndentation(14)
        self.setSortingEnabled(True)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.customContextMenuRequested.connect(self._on_menu)
        self.entered.connect(self._on_entered)
        head = self.header()
        head.setSortIndicatorClearable(True)
        head.setSortIndicator(-1, Qt.SortOrder.DescendingOrder)
        head.setStretchLastSection(False)
        head.setSectionsMovable(False)
        head.setMinimumSectionSize(40)
        model.modelAboutToBeReset.connect(self._remember)
        model.modelReset.connect(self._restore)
        self._kept: tuple[int | None, tuple[int, ...], frozenset[str]] = (None, (), frozenset())
        self.dress()

    def set_low(self, low: bool) -> None:
        """Give each row one line where the table is low, so that more of them are seen."""
        if low is not self._lines.single:
            self._lines.single = low
            self.dress()

    # what is chosen

    @property
    def current(self) -> RowSummary | None:
        """The row with the keyboard's mark."""
        return self._model.row_at(self.currentIndex())

    @property
    def selected(self) -> tuple[RowSummary, ...]:
        """The selected rows, in the order of the table."""
        numbers = {row.number for row in map(self._model.row_at, self._picked()) if row is not None}
        return tuple(row for row in self._model.listed if row.number in numbers)

    def select_rows(self, *numbers: int) -> None:
        """Select rows by number; the first gets the keyboard's mark."""
        whole = QItemSelectionModel.SelectionFlag.Select | QItemSelectionModel.SelectionFlag.Rows
        marks = self.selectionModel()
        indexes = [self._model.index_of(number) for number in numbers]
        marks.clearSelection()
        for index in indexes:
            marks.select(index, whole)
        if indexes:
            marks.setCurrentIndex(indexes[0], QItemSelectionModel.SelectionFlag.NoUpdate)
            self.scrollTo(indexes[0])

    def _picked(self) -> list[QModelIndex]:
        return self.selectionModel().selectedRows(0)

    def selectionChanged(self, selected: Any, deselected: Any) -> None:
        """Tell that other rows are selected."""
        super().selectionChanged(selected, deselected)
        self.picked.emit()

    def currentChanged(self, current: Index, previous: Index) -> None:
        """Show the row that the keyboard has come to."""
        super().currentChanged(current, previous)
        if self.hasFocus():
            self.looked_at.emit(self._model.row_at(current))

    # pointer and keys

    def _on_entered(self, index: QModelIndex) -> None:
        self.looked_at.emit(self._model.row_at(index))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Look at nothing where no row is under the pointer."""
        super().mouseMoveEvent(event)
        if not self.indexAt(event.position().toPoint()).isValid():
            self.looked_at.emit(None)

    def leaveEvent(self, event: QEvent) -> None:
        """Go back to the row that the keyboard is on, or to none."""
        super().leaveEvent(event)
        self.looked_at.emit(None)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Look at nothing when the keyboard goes elsewhere (a menu is not)."""
        super().focusOutEvent(event)
        if event.reason() is not Qt.FocusReason.PopupFocusReason:
            self.looked_at.emit(None)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the row that the keyboard is on when it is come to by keys."""
        super().focusInEvent(event)
        if event.reason() in (
            Qt.FocusReason.TabFocusReason,
            Qt.FocusReason.BacktabFocusReason,
            Qt.FocusReason.ShortcutFocusReason,
        ):
            self.looked_at.emit(self.current)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Apply a row."""
        super().mouseDoubleClickEvent(event)
        row = self._model.row_at(self.indexAt(event.position().toPoint()))
        if row is not None and event.button() is Qt.MouseButton.LeftButton:
            self.apply_wanted.emit(row)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter applies the row, Esc leaves it; the rest is the table's own."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.current is not None:
            self.apply_wanted.emit(self.current)
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif event.matches(QKeySequence.StandardKey.Copy):
            self.copy_wanted.emit()
        else:
            super().keyPressEvent(event)

    def _on_menu(self, at: QPoint) -> None:
        if self.currentIndex().isValid():
            self.menu_wanted.emit(self.viewport().mapToGlobal(at))

    # keeping its place

    def _remember(self) -> None:
        current = self.current
        closed = frozenset(
            group.pattern
            for g, group in enumerate(self._model.groups)
            if not self.isExpanded(self._model.index(g, 0))
        )
        self._kept = (
            current.number if current is not None else None,
            tuple(row.number for row in self.selected),
            closed,
        )

    def _restore(self) -> None:
        current, selected, closed = self._kept
        for g, group in enumerate(self._model.groups):
            self.setFirstColumnSpanned(g, QModelIndex(), True)
            self.setExpanded(self._model.index(g, 0), group.pattern not in closed)
        here = [n for n in selected if self._model.index_of(n).isValid()]
        self.select_rows(*here)
        self.dress()
        if current is not None:
            index = self._model.index_of(current)
            self.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.NoUpdate)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the text what the figures leave; where that is little, the table scrolls."""
        super().resizeEvent(event)
        self._share_width()

    def dress(self) -> None:
        """Fit the columns to their figures, to the unit and to the letters of the moment."""
        metrics, unit = self.fontMetrics(), self._model.unit
        for k, column in enumerate(COLUMNS):
            if column != TEXT:
                told = {cell_text(row, column, unit) for row in self._model.listed}
                lines = (*head_text(column, unit).split("\n"), "00,000", *told)
                wide = max(metrics.horizontalAdvance(line) for line in lines)
                self.header().resizeSection(k, round(BOLD * wide + BESIDE * metrics.height()))
        self._share_width()

    def _share_width(self) -> None:
        head, metrics = self.header(), self.fontMetrics()
        sizes = {c: head.sectionSize(k) for k, c in enumerate(COLUMNS) if c != TEXT}
        least = LEAST_TEXT_LETTERS * metrics.averageCharWidth()
        room = self.viewport().width()
        if self._lines.single:
            # A single line is seen whole, as far as the figures that come first have room.
            told = [cell_text(row, TEXT, self._model.unit) for row in self._model.listed]
            longest = max((metrics.horizontalAdvance(f"000:  {text}") for text in told), default=0)
            first = sum(sizes[column] for column in FIRST)
            least = max(least, min(longest + 3 * self.indentation(), room - first))
        head.resizeSection(COLUMNS.index(TEXT), max(least, room - sum(sizes.values())))
        self.scheduleDelayedItemsLayout()
