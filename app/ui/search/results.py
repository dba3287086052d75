"""The answer of a search: count, rows, comparison, exclusions, largest."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPoint, Qt, Signal
from PySide6.QtGui import QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QMenu,
    QPushButton,
    QTabWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.ui.actions import key_text
from app.ui.search.compare import CompareView
from app.ui.search.excludes import ExclusionMatrix, LargestTable
from app.ui.search.filter import FilterBar
from app.ui.search.finer_exclusions import ExclusionViews
from app.ui.search.found_so_far import Found
from app.ui.search.near_misses import NOT_ASKED, WAS_NOT_ASKED, NearView
from app.ui.search.row_model import RowModel
from app.ui.search.rows import RowFilter
from app.ui.search.table import RowTable
from app.ui.skin import Skin
from app.ui.widgets import wrapping
from geometry.search.near.largest import with_slid_in
from geometry.search.near.summary import NearFound
from geometry.search.summary import RowSummary, Summary

BEGIN = (
    "Nothing has been searched yet. Search lists what can be put into the ticked zones, counts all "
    "of it, and shows the best. Nothing is changed until you apply a row."
)
SEARCHING = "Searching. The first rows come once every zone has been looked through."
STOPPED = "The search was stopped before it had found a row. Give it more time, or fewer parts."

LOW_PX = 300
"""Lower than this a row has one line, and the filter is folded."""


class SearchResults(QWidget):
    """`looked_at` and `apply_wanted` carry a row; `layout_wanted` one to be written as a file.

    `csv_wanted` and `copy_wanted` carry the rows that are listed, or those that are selected.
    `buttons` act on the rows; who holds this widget puts them where there is room.
    """

    looked_at = Signal(object)
    apply_wanted = Signal(object)
    layout_wanted = Signal(object)
    csv_wanted = Signal(object)
    sheet_wanted = Signal()
    copy_wanted = Signal(object)
    left = Signal()

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._rows: tuple[RowSummary, ...] = ()
        self._answer: Summary | None = None
        self._running, self._of_last, self._stopped = False, False, False
        self.count = wrapping()
        self.refused = wrapping()
        self.refused.setObjectName("empty")
        self.filter = FilterBar(skin)
        self.filter_button = QToolButton()
        self.filter_button.setObjectName("bordered")
        self.filter_button.setText("Filter")
        self.filter_button.setToolTip("Show or hide what filters the rows")
        self.filter_button.setCheckable(True)
        self.model = RowModel(skin, self)
        self.table = RowTable(self.model)
        self.empty = wrapping()
        self.empty.setObjectName("empty")
        self.compare = CompareView(skin)
        self.matrix = ExclusionMatrix(skin)
        self.excludes = ExclusionViews(self.matrix)
        self.largest = LargestTable(skin)
        self.near = NearView(skin)
        self.apply = _button(
            "&Apply",
            "Apply the row, or the near miss with its change, to the layout as one edit (Enter)",
        )
        self.compare_button = _button("Co&mpare", "Show the two selected rows side by side")
        self.csv = _button("CSV…", "Save the listed rows as a table, lengths in mm")
        self.sheet = _button(
            "&On sheet…",
            "Export the clearance sheet with the answer of this search on sheets of its own",
        )
        copying = key_text(QKeySequence.StandardKey.Copy)
        self.copy = _button("Cop&y", f"Copy the selected rows, or all that are listed ({copying})")
        self.tabs = QTabWidget()
        self.tabs.tabBar().setExpanding(False)
        self.tabs.setCornerWidget(_inset(self.filter_button))
        self._build()
        self.filter.changed.connect(self._arrange)
        self.filter_button.toggled.connect(self._on_filter_button)
        self.tabs.currentChanged.connect(self._on_tab)
        self.near.tree.picked.connect(self._show_apply)
        self.table.picked.connect(self._on_picked)
        self.table.looked_at.connect(self.looked_at)
        self.table.apply_wanted.connect(self.apply_wanted)
        self.table.left.connect(self.left)
        self.table.menu_wanted.connect(self._open_menu)
        self.table.copy_wanted.connect(self._copy)
        self.apply.clicked.connect(self._apply)
        self.compare_button.clicked.connect(self._compare)
        self.csv.clicked.connect(lambda: self.csv_wanted.emit(self.model.listed))
        self.sheet.clicked.connect(self.sheet_wanted)
        self.copy.clicked.connect(self._copy)
        skin.changed.connect(self._dress)
        self.show_found(None, running=False)

    def _build(self) -> None:
        rows = QWidget()
        column = self._rows_column = QVBoxLayout(rows)
        column.setSpacing(6)
        column.addWidget(self.filter)
        column.addWidget(self.table, 1)
        column.addWidget(self.empty, 1, Qt.AlignmentFlag.AlignTop)
        self.buttons = QWidget()
        line = QHBoxLayout(self.buttons)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(6)
        for button in (self.apply, self.compare_button, self.copy, self.csv, self.sheet):
            line.addWidget(button)
        for widget, text, tip in (
            (rows, "Combinations", "The best of what fits, by pattern"),
            (self.compare, "Compare", "One row in full, or two side by side"),
            (self.excludes, "What excludes what", "Options of two zones that do not go together"),
            (self.largest, "Largest", "What at most still goes into each zone"),
            (self.near, "Near misses", "What is refused, and what makes it fit"),
        ):
            self.tabs.setTabToolTip(self.tabs.addTab(widget, text), tip)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        over = QHBoxLayout()
        over.setContentsMargins(12, 2, 12, 2)
        over.addWidget(self.count, 1)
        column.addLayout(over)
        column.addWidget(self.refused)
        column.addWidget(self.tabs, 1)

    # showing

    def show_found(
        self,
        found: Found | None,
        *,
        running: bool,
        of_last: bool = False,
        near_ticked: bool = True,
    ) -> None:
        """Show what a search has found so far; None before the first one.

        `of_last`: it is what the search before the one at hand found. `near_ticked` tells whether
        the next one looks for near misses.
        """
        answer = found.answer if found is not None else None
        self._rows = found.rows if found is not None else ()
        self._answer, self._running, self._of_last = answer, running, of_last
        self.filter.set_rows(self._rows)
        self.model.show_rows(self._rows, answer.wanted if answer is not None else ())
        self.count.setText(self._count_text())
        self.count.setVisible(bool(self.count.text()))
        stopped = self._stopped = found is not None and not running and not found.answered
        told = answer if answer is not None and (answer.done or not running) else None
        names = {zone.zone: zone.name for zone in told.zones} if told is not None else {}
        self.matrix.show_exclusions(
            told.exclusions if told is not None else (),
            told.excluded_share if told is not None else 0.0,
            names,
            stopped=stopped,
        )
        self.excludes.show_finer(told.finer if told is not None else (), names)
        slid = found.near.slid if found is not None and found.near is not None else ()
        self.largest.show_largest(
            with_slid_in(told.largest, slid) if told is not None else (),
            done=told is not None and told.done,
            stopped=stopped,
        )
        self._on_picked()
        self._show_empty()
        near = found.near if found is not None else None
        missing = found is not None and not running and found.near_missing
        not_asked = "" if near_ticked else NOT_ASKED
        if found is not None:
            not_asked = "" if found.order.near else WAS_NOT_ASKED
        self.show_near(near, running=running, stopped=missing, not_asked=not_asked)

    def show_refused(self, reason: str) -> None:
        """Say over what was found why the search that was asked for last could not begin."""
        self.refused.setText(reason)
        self.refused.setVisible(bool(reason))
        if reason and self._answer is None:
            self.empty.setText("")

    def show_near(
        self,
        near: NearFound | None,
        *,
        running: bool,
        stopped: bool = False,
        not_asked: str = "",
    ) -> None:
        """Show the near misses; None where they were not looked for, or not yet.

        `stopped`: the search was, before all of them were looked for. `not_asked` says that they
        are not asked for, where that is so.
        """
        self.near.show_near(near, running, stopped, not_asked)
        count = len(near.found) if near is not None else 0
        none = near is not None and near.done and not count
        told = " (none)" if none else f" ({count})" if count else ""
        self.tabs.setTabText(self.tabs.indexOf(self.near), f"Near misses{told}")

    def _count_text(self) -> str:
        answer = self._answer
        if answer is None:
            return ""
        count = f"{answer.count[:1].upper()}{answer.count[1:]}."
        lines = [count if not self._running or answer.done else ""]
        if not self._running and not answer.proven:
            lines.append("The trade-offs were cut short: there may be better ones.")
        if answer.refused:
            lines.append(f"{answer.refused} more were left out: the full check did not agree.")
        if answer.no_pump and not self._running:
            lines.append(f"{answer.no_pump[:1].upper()}{answer.no_pump[1:]}.")
        told = " ".join(line for line in lines if line)
        return f"Of the last search: {told}" if self._of_last else told

    def unmark(self) -> None:
        """Let go of the rows that are selected: those that come have other numbers."""
        self.table.clearSelection()
        self.table.setCurrentIndex(QModelIndex())

    def _show_empty(self) -> None:
        listed = bool(self.model.listed)
        listing = (self.table, self.compare_button, self.csv, self.copy, self.sheet)
        for widget in listing:
            widget.setVisible(listed)
        self._show_filter()
        self._show_apply()
        self.empty.setVisible(not listed)
        self.empty.setText("" if listed else self._empty_text())

    def _empty_text(self) -> str:
        if self._rows:
            return "No row passes the filter. Clear it to list all rows again."
        if self._running and not (self._answer is not None and self._answer.done):
            return SEARCHING
        if self._stopped:
            return STOPPED
        if self._answer is None:
            return BEGIN
        lines = [
            "Nothing fits, not even with all searched zones empty."
            if self._answer.notes
            else "Nothing fits."
        ]
        lines += [
            f"What is in the way: {note.removeprefix('note: ')}." for note in self._answer.notes
        ]
        lines += [
            f"{zone.name}: none of {zone.listed:,} options stands alone there."
            for zone in self._answer.zones
            if zone.listed and not zone.fit_alone
        ]
        if not self._answer.notes:
            lines.append("Allow what is tight, tick other parts, or leave the pump out.")
        return "\n".join(lines)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give all the height to rows where there is little of it."""
        super().resizeEvent(event)
        self.table.set_low(self._is_low)
        above, below = (1, 0) if self._is_low else (6, 6)
        self._rows_column.setContentsMargins(10, above, 10, below)
        self._show_filter()

    @property
    def _is_low(self) -> bool:
        return self.height() < LOW_PX

    def _show_filter(self) -> None:
        """Keep the filter behind its button where height is short, unless it holds rows back."""
        used = self.filter.wanted != RowFilter()
        wanted = not self._is_low or self.filter_button.isChecked() or used
        self.filter.setVisible(wanted and bool(self._rows))
        of_rows = self.tabs.currentIndex() == 0
        self.filter_button.setVisible(self._is_low and of_rows and bool(self._rows) and not used)

    def _arrange(self) -> None:
        self.model.arrange(self.filter.wanted, self.model.sorting)
        self._on_picked()
        self._show_empty()

    def _dress(self) -> None:
        self.table.dress()
        self._arrange()

    # doing

    def _on_picked(self) -> None:
        picked = self.table.selected
        self._show_apply()
        self.compare_button.setEnabled(len(picked) == 2)
        self.compare.show_rows(picked)

    def _on_filter_button(self, on: bool) -> None:
        self._show_filter()
        if on:
            self.filter.words.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def _on_near(self) -> bool:
        return self.tabs.currentWidget() is self.near

    def _on_tab(self) -> None:
        self._show_filter()
        self._show_apply()

    def _show_apply(self) -> None:
        """Let the button act on what is marked in the tab that is seen."""
        change = self.near.tree.current[1]
        one = change is not None if self._on_near else len(self.table.selected) == 1
        self.apply.setVisible(bool(self.model.listed) or self._on_near)
        self.apply.setEnabled(one)

    def _apply(self) -> None:
        picked = self.table.selected
        if self._on_near:
            self.near.tree.apply_current()
        elif len(picked) == 1:
            self.apply_wanted.emit(picked[0])

    def _compare(self) -> None:
        self.tabs.setCurrentWidget(self.compare)

    def _copy(self) -> None:
        self.copy_wanted.emit(self.table.selected or self.model.listed)

    def menu(self) -> QMenu | None:
        """Return the menu of the row with the keyboard's mark; None where there is none."""
        row = self.table.current
        if row is None:
            return None
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addAction("&Preview on the board", lambda: self.looked_at.emit(row))
        menu.addAction("&Apply", lambda: self.apply_wanted.emit(row))
        two = menu.addAction("&Compare the two selected rows", self._compare)
        two.setEnabled(len(self.table.selected) == 2)
        menu.addAction("&Read all of it", self._compare).setEnabled(len(self.table.selected) == 1)
        menu.addSeparator()
        menu.addAction("&Write as layout file…", lambda: self.layout_wanted.emit(row))
        menu.addAction("Cop&y", self._copy)
        return menu

    def _open_menu(self, at: QPoint) -> None:
        menu = self.menu()
        if menu is not None:
            menu.popup(at)


def _button(text: str, tip: str) -> QPushButton:
    button = QPushButton(text)
    button.setToolTip(tip)
    return button


def _inset(button: QToolButton) -> QWidget:
    """Return a button for the corner beside tabs, off the edge of the panel and the line below."""
    corner = QWidget()
    line = QHBoxLayout(corner)
    line.setContentsMargins(6, 0, 10, 3)
    line.addWidget(button)
    return corner
