"""The rows of what fits as a model for Qt: patterns, and below each its rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractItemModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
)
from PySide6.QtGui import QFont

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
    head_tip,
    is_beside,
    left_lines,
    marked_head,
    named_text,
    row_tip,
    short_tip,
    worst_lines,
    worst_tip,
)
from app.ui.skin import Skin
from app.ui.units import Unit
from geometry.search.summary import RowSummary

Index = QModelIndex | QPersistentModelIndex
Role = Qt.ItemDataRole
NO_INDEX = QModelIndex()
NAMED = int(Role.UserRole)
"""The role of what a row holds with the names of its zones."""


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
    def wanted(self) -> tuple[str, ...]:
        """The measures that count."""
        return self._wanted

    @property
    def unit(self) -> Unit:
        """The unit of lengths."""
        return self._skin.unit

    @property
    def groups(self) -> tuple[RowGroup, ...]:
        """What is listed."""
        return self._groups

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
        if role == NAMED and column == TEXT:
            return f"{row.number}:  {named_text(row)}"
        if role == Role.ToolTipRole:
            return self._tip(row, column)
        if role == Role.AccessibleDescriptionRole and column == TEXT:
            return row_tip(row, self._skin.unit)
        if role == Role.AccessibleTextRole and column == TEXT:
            return f"Row {row.number}: {named_text(row)}"
        if role == Role.TextAlignmentRole and column != TEXT:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None

    def _tip(self, row: RowSummary, column: str) -> str | None:
        """Return what is not seen of a row, or what stands behind one of its figures."""
        if column == TEXT:
            return short_tip(row)
        if column in (LEFT, LEFT_WORST):
            clear = worst_lines(row) if is_beside(row) and not row.tight else []
            return folded([*left_lines(row, self._skin.unit, 1), *clear])
        return worst_tip(row) if column == WORST else None

    def _group_data(self, group: RowGroup, column: str, role: int) -> Any:
        if role == Role.DisplayRole and column == TEXT:
            shown = f"{len(group.rows):,} shown; {group.alike}"
            return f"{group.pattern}   –   {shown}"
        if role == Role.ToolTipRole:
            return f"{group.pattern}\n{group.alike}"
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
            return marked_head(column, self._skin.unit, self._sorting)
        if role == Role.ToolTipRole:
            return head_tip(column, self._skin.unit, self._wanted, self._sorting)
        if role == Role.FontRole:
            font = QFont()
            font.setBold(column in self._wanted)
            return font
        if role == Role.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if column == TEXT else Qt.AlignmentFlag.AlignRight
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None
