"""The table of what fits: rows under their patterns, to hover, choose, sort and apply."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, QItemSelectionModel, QModelIndex, QPoint, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetrics,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QPainter,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QStyleOptionViewItem, QTreeView, QWidget

from app.ui.search.row_model import Index, RowModel
from app.ui.search.row_tips import RowTips
from app.ui.search.rows import (
    ALIKE,
    BETWEEN_ZONES,
    COLUMNS,
    LEFT,
    LEFT_WORST,
    TEXT,
    WORST,
    Sorting,
    cell_text,
    marked_head,
    named_text,
)
from app.ui.search.shown_row import paint_shown
from app.ui.search.zone_lines import SIDES_PX, ZoneLines
from geometry.search.summary import RowSummary

LEAST_TEXT_LETTERS = 42
FIRST = ("area", "volume", "fans", "leftover")
"""The figures that are seen beside a row of a single line without scrolling."""

FOLDS = (ALIKE, "parts", "cables", "volume", WORST, LEFT, LEFT_WORST)
"""Which figures give way first where the table is too narrow for all; Compare and CSV have them."""

BESIDE = 1.4
"""What a column of figures keeps free beside them, in heights of a line."""

BOLD = 1.12
"""Heads that count are bold, and so wider (a bound for the letters in use)."""


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
        self._coming_to = False
        self._shown: RowSummary | None = None
        self._wide: dict[str, int] = {}
        """How wide each column of figures is."""
        self._lines = ZoneLines(self)
        self.setItemDelegateForColumn(COLUMNS.index(TEXT), self._lines)
        RowTips(self, self._is_told)
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
        # The style draws its mark over the text; the head itself has one.
        head.setSortIndicatorShown(False)
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

    def _is_told(self, index: Index) -> bool:
        """Whether a cell shows all of a pattern or a row, so that its tip would but lie over it."""
        if self._model.row_at(index) is not None:
            return COLUMNS[index.column()] == TEXT and not self._lines.is_cut(index)
        wide = QFontMetrics(index.data(Qt.ItemDataRole.FontRole) or self.font())
        text = index.sibling(index.row(), 0).data()
        return (
            wide.horizontalAdvance(text) + self.indentation() + SIDES_PX <= self.viewport().width()
        )

    def set_shown(self, row: RowSummary | None) -> None:
        """Mark the row that is previewed on the board; None where none is."""
        self._shown = row
        self.viewport().update()

    def drawRow(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw a row, over its mark where it is previewed."""
        if self._shown is not None and self._model.row_at(index) is self._shown:
            paint_shown(painter, option.rect)
        super().drawRow(painter, option, index)

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
        if self.hasFocus() and not self._coming_to:
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
        # Qt gives the mark to a first row by itself; that alone previews nothing.
        self._coming_to = True
        super().focusInEvent(event)
        self._coming_to = False
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
        for column in COLUMNS:
            if column != TEXT:
                told = {cell_text(row, column, unit) for row in self._model.listed}
                head = marked_head(column, unit, Sorting(column))
                lines = (*head.split("\n"), "00,000", *told)
                wide = max(metrics.horizontalAdvance(line) for line in lines)
                self._wide[column] = round(BOLD * wide + BESIDE * metrics.height())
        self._share_width()

    def _fold(self, least: int) -> dict[str, int]:
        """Hide figures that count least where text and all figures are too wide; return the rest.

        What counts for the trade-offs stays, and that by which the rows are sorted.
        """
        kept = {*self._model.wanted, self._model.sorting.column}
        shown = dict(self._wide)
        for column in FOLDS:
            if least + sum(shown.values()) > self.viewport().width() and column not in kept:
                shown.pop(column, None)
        for k, column in enumerate(COLUMNS):
            hidden = column != TEXT and column not in shown
            if self.isColumnHidden(k) is not hidden:
                self.setColumnHidden(k, hidden)
            if column in shown:
                self.header().resizeSection(k, shown[column])
        return shown

    def _share_width(self) -> None:
        head, metrics = self.header(), self.fontMetrics()
        least = LEAST_TEXT_LETTERS * metrics.averageCharWidth()
        room = self.viewport().width()
        # A line of a row or of a zone is whole, as far as the figures that come first have room.
        told = [named_text(row) for row in self._model.listed]
        if not self._lines.single:
            told = [zone for text in told for zone in text.split(BETWEEN_ZONES)]
        longest = max((metrics.horizontalAdvance(f"000:  {text}") for text in told), default=0)
        first = sum(self._wide.get(column, 0) for column in FIRST)
        beside = 2 * self.indentation() + SIDES_PX
        least = max(least, min(longest + beside, room - first))
        sizes = self._fold(least)
        head.resizeSection(COLUMNS.index(TEXT), max(least, room - sum(sizes.values())))
        self.scheduleDelayedItemsLayout()
