"""What excludes what of two zones by thickness and fans, beside the matrix of all zones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QLayout,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.ui.combo import combo
from app.ui.search.excludes import PAD_PX, ExclusionMatrix
from app.ui.widgets import group_label, hint, tip_lines
from geometry.search.exclusion_words import NEVER, PUMP_RULE, often_text
from geometry.search.finer_exclusions import Choice, FinerExclusions

ALL_ZONES = "All zones, by pattern"
FREELY = "in all ways"
HINT = (
    "How often what stands in a row and in a column does not go together, by the thickness of "
    "exchangers and the places of fans. Empty: they go together in all ways. Left out is what "
    "excludes nothing, or nothing but a second pump."
)
EXCLUDE_NOTHING = "These two zones exclude nothing: whatever fits alone fits together."
EXCLUDE_PUMPS = f"These two zones exclude nothing but a second pump: {PUMP_RULE}."

Index = QModelIndex | QPersistentModelIndex
Pair = tuple[tuple[str, str], Choice, Choice]
"""Two zones, and a choice of the first and of the second."""


def often_words(finer: FinerExclusions, row: int, column: int) -> str:
    """Say how often two choices do not go together; empty where they do in all ways."""
    often = often_text(int(finer.excluded[row, column]), finer.pairs(row, column))
    return PUMP_RULE if often and finer.by_rule(row, column) else often


def _informative(finer: FinerExclusions) -> tuple[list[int], list[int]]:
    """Return which choices of either zone exclude more than a second pump, those with one last."""
    pumps = [np.array([one.pump for one in of], dtype=bool) for of in finer.choices]
    told = (finer.excluded > 0) & ~np.outer(*pumps)
    rows, columns = (
        sorted(np.flatnonzero(told.any(axis=1 - side)).tolist(), key=pumps[side].__getitem__)
        for side in (0, 1)
    )
    return rows, columns


class FinerModel(QAbstractTableModel):
    """The choices of one zone as rows, those of another as columns; those with a pump last.

    What excludes nothing, or nothing but a second pump, is left out.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._finer: FinerExclusions | None = None
        self._names = ("", "")
        self._rows: list[int] = []
        self._columns: list[int] = []

    def show(self, finer: FinerExclusions | None, names: tuple[str, str] = ("", "")) -> None:
        """Show what was counted of two zones of some names, that in rows first."""
        self.beginResetModel()
        self._finer, self._names = finer, names
        self._rows, self._columns = ([], []) if finer is None else _informative(finer)
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many choices of the first zone exclude something."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many choices of the second zone exclude something."""
        return 0 if parent.isValid() else len(self._columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return what a cell tells."""
        if self._finer is None:
            return None
        place = self._rows[index.row()], self._columns[index.column()]
        text = often_words(self._finer, *place)
        if role == Qt.ItemDataRole.DisplayRole:
            return text
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignCenter
        if role == Qt.ItemDataRole.FontRole and text.startswith(NEVER):
            font = QFont()
            font.setBold(True)
            return font
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip_lines(self.sentence(*place))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return self.sentence(*place)
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the words of a choice, a line for each part of them at the top."""
        if self._finer is None or role != Qt.ItemDataRole.DisplayRole:
            return None
        across = orientation == Qt.Orientation.Horizontal
        of = self._columns if across else self._rows
        words = self._finer.choices[int(across)][of[section]].words
        return words.replace(", ", ",\n", 1) if across else words

    def sentence(self, row: int, column: int) -> str:
        """Tell two choices in a sentence."""
        assert self._finer is not None
        mine, theirs = (
            f"{name}: {choices[k].words}"
            for name, choices, k in zip(
                self._names, self._finer.choices, (row, column), strict=True
            )
        )
        excluded, pairs = int(self._finer.excluded[row, column]), self._finer.pairs(row, column)
        if not excluded:
            often = f"go together {FREELY} that were listed"
        elif excluded == pairs:
            why = f" ({PUMP_RULE})" if self._finer.by_rule(row, column) else ""
            often = f"never go together{why}, in none of {pairs:,} ways"
        else:
            often = f"do not go together in {excluded:,} of {pairs:,} ways"
        return f"{mine} with {theirs} {often}."

    def sentence_at(self, index: Index) -> str:
        """Tell what a cell tells in a sentence; empty outside of the table."""
        if not index.isValid():
            return ""
        return self.sentence(self._rows[index.row()], self._columns[index.column()])

    def pair_at(self, index: Index) -> Pair | None:
        """Return what stands in the row and in the column of a cell; None outside of the table."""
        if self._finer is None or not index.isValid():
            return None
        (mine, theirs), zones = self._finer.choices, self._finer.zones
        return zones, mine[self._rows[index.row()]], theirs[self._columns[index.column()]]

    def index_of(self, pair: Pair | None) -> QModelIndex:
        """Return the cell of two choices; one outside of the table where it has none."""
        if self._finer is None or pair is None or pair[0] != self._finer.zones:
            return QModelIndex()
        mine, theirs = self._finer.choices
        rows, columns = [mine[k] for k in self._rows], [theirs[k] for k in self._columns]
        if pair[1] not in rows or pair[2] not in columns:
            return QModelIndex()
        return self.index(rows.index(pair[1]), columns.index(pair[2]))


class AxisNames(QWidget):
    """Says in the corner of a table which zone stands in its rows and which in its columns."""

    def __init__(self, table: QTableView) -> None:
        corner = table.findChild(QAbstractButton)
        super().__init__(corner)
        assert isinstance(corner, QAbstractButton)
        self._head = table.verticalHeader()
        self.columns, self.rows = group_label(""), group_label("")
        self.columns.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
        self.rows.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom)
        for holder, content in ((corner, [self]), (self, [self.columns, self.rows])):
            column = QVBoxLayout(holder)
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(0)
            # The table gives the corner its size, however much that is.
            column.setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
            for one in content:
                column.addWidget(one)
        self.setContentsMargins(8, 3, 8, 3)

    def show_names(self, rows: str, columns: str) -> None:
        """Show the names of two zones, and give the heads of rows room for them."""
        self.rows.setText(f"{rows} ↓")
        self.columns.setText(f"{columns} →")
        wide = max(label.sizeHint().width() for label in (self.rows, self.columns))
        self._head.setMinimumWidth(wide + PAD_PX // 2)


class ExclusionViews(QWidget):
    """The matrix of all zones, or more finely that of two zones, as one chooses."""

    def __init__(self, matrix: ExclusionMatrix, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._finer: Sequence[FinerExclusions] = ()
        self._names: Mapping[str, str] = {}
        self.choice = combo("Which zones", "All zones, or two more finely: by thickness and fans")
        self.model = FinerModel(self)
        self.table = QTableView()
        self.table.setAccessibleName("What excludes what by thickness and fans")
        self.table.setModel(self.model)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setTabKeyNavigation(False)
        self.table.setCornerButtonEnabled(False)
        self.axes = AxisNames(self.table)
        self.sentence = hint(HINT)
        self._views = QStackedWidget()
        finely = QWidget()
        column = QVBoxLayout(finely)
        column.setContentsMargins(10, 6, 10, 6)
        column.addWidget(self.table, 1)
        column.addWidget(self.sentence)
        self._views.addWidget(matrix)
        self._views.addWidget(finely)
        line = QVBoxLayout()
        line.setContentsMargins(10, 6, 10, 0)
        line.addWidget(self.choice)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(line)
        column.addWidget(self._views, 1)
        self.choice.currentIndexChanged.connect(self._choose)
        self.table.selectionModel().currentChanged.connect(
            lambda now, _: self.sentence.setText(self.model.sentence_at(now) or HINT)
        )
        self.show_finer((), {})

    def show_finer(self, finer: Sequence[FinerExclusions], names: Mapping[str, str]) -> None:
        """Offer what a search has counted of two zones each; `names` are those of the zones.

        The zones that are chosen, the marked cell and the place that is scrolled to are kept.
        """
        if finer is self._finer and self.choice.count():
            return
        chosen, marked = self.choice.currentText(), self.model.pair_at(self.table.currentIndex())
        bars = self.table.horizontalScrollBar(), self.table.verticalScrollBar()
        scrolled = [bar.value() for bar in bars]
        self._finer, self._names = finer, names
        self.choice.blockSignals(True)
        self.choice.clear()
        self.choice.addItem(ALL_ZONES)
        for one in finer:
            mine, theirs = self._names_of(one)
            self.choice.addItem(f"{mine} with {theirs}, by thickness and fans")
        self.choice.setCurrentIndex(max(self.choice.findText(chosen), 0))
        self.choice.blockSignals(False)
        self.choice.setVisible(bool(finer))
        self._choose(self.choice.currentIndex())
        if chosen != self.choice.currentText():
            return
        self.table.setCurrentIndex(self.model.index_of(marked))
        # Until it is laid out anew the table can be scrolled no further than an empty one.
        self.table.doItemsLayout()
        for bar, value in zip(bars, scrolled, strict=True):
            bar.setValue(value)

    def _names_of(self, finer: FinerExclusions) -> tuple[str, str]:
        mine, theirs = (self._names.get(zone, zone) for zone in finer.zones)
        return mine, theirs

    def _choose(self, at: int) -> None:
        self.model.show(None)
        if at > 0:
            mine, theirs = self._names_of(self._finer[at - 1])
            self.model.show(self._finer[at - 1], (mine, theirs))
            self.axes.show_names(mine, theirs)
            self.table.setAccessibleDescription(f"In rows {mine}, in columns {theirs}")
        columns = self.model.columnCount()
        self.table.setVisible(columns > 0)
        none = EXCLUDE_PUMPS if at > 0 and self._finer[at - 1].excluded.any() else EXCLUDE_NOTHING
        self.sentence.setText(HINT if columns else none)
        self._views.setCurrentIndex(int(at > 0))
        if columns:
            self.table.horizontalHeader().setDefaultSectionSize(
                max(map(self._wide, range(columns)))
            )

    def _wide(self, column: int) -> int:
        words = str(self.model.headerData(column, Qt.Orientation.Horizontal))
        metrics = self.table.fontMetrics()
        return max(metrics.horizontalAdvance(line) for line in words.split("\n")) + PAD_PX
