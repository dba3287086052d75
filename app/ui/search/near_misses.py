"""Near misses of a search: what would be more and is refused, and what change lets it in."""

from __future__ import annotations

from PySide6.QtCore import (
    QEvent,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QFocusEvent,
    QFont,
    QFontMetrics,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTreeView,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.ui.search.measure_units import in_unit_signs
from app.ui.search.panel_words import NOT_WORKED_OUT
from app.ui.search.rows import loss_lines
from app.ui.search.shown_row import paint_shown
from app.ui.search.zone_lines import PAD_PX, SIDES_PX
from app.ui.session import sentence
from app.ui.skin import Skin
from app.ui.units import Unit, length_text
from app.ui.widgets import hint, wrapping
from geometry.edits import CUT_CAUTION
from geometry.search.near.cuts import any_cut
from geometry.search.near.summary import LetIn, NearFound, NearSummary
from geometry.search.near.tries import MOST_IN_THE_WAY
from geometry.search.near.words import NO_CHANGE, letting_in_text, short_text
from geometry.search.words import short_figure

NOTHING_YET = "Near misses come at the end of a search."
NOT_ASKED = "Not looked for: “Look for near misses” is not ticked. Tick it, and search."
WAS_NOT_ASKED = (
    "Not looked for: “Look for near misses” was not ticked for this search. Tick it, and search "
    "again."
)
NONE = "There is no near miss"
LOOKED_FOR = (
    "Looked for was what would be more of what counts than every row, and is kept out by "
    f"{MOST_IN_THE_WAY} things at most."
)
IN_THE_WAY = "What stands in each other's way is told under What excludes what."
CAUTION = f"Changes marked CUTS THE ENCLOSURE cut it. Caution: {CUT_CAUTION}"
HEADS = ("What is refused, why, and what makes it fit", "Would gain", "Missing")
SHARE = 0.6
"""Of the width, for what is refused."""
LEAST_LETTERS = 36
ROLE = Qt.ItemDataRole.UserRole


class WrappedLines(QStyledItemDelegate):
    """Gives what stands under a near miss, over the whole width, as many lines as it needs."""

    def __init__(self, view: QTreeView) -> None:
        super().__init__(view)
        self._view = view

    def sizeHint(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Return how high the lines are."""
        hint = super().sizeHint(option, index)
        if index.parent().isValid() and index.column() == 0:
            self.initStyleOption(option, index)
            room = self._view.viewport().width() - 2 * self._view.indentation() - SIDES_PX
            page = QRect(0, 0, room, 0)
            wrap = Qt.TextFlag.TextWordWrap
            high = option.fontMetrics.boundingRect(page, wrap, option.text).height()
            hint.setHeight(high + PAD_PX)
        return hint


class NearTree(QTreeWidget):
    """`looked_at` carries the near miss and the change under the pointer or the keyboard, or None.

    `apply_wanted` carries both; `picked` tells that another line has the keyboard's mark.
    """

    looked_at = Signal(object, object)
    apply_wanted = Signal(object, object)
    picked = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Near misses")
        self.setWordWrap(True)
        self._shown: object | None = None
        self._wrapped = WrappedLines(self)
        self.setItemDelegate(self._wrapped)
        self.setHeaderLabels(HEADS)
        self.setMouseTracking(True)
        self.setExpandsOnDoubleClick(False)
        self.setIndentation(16)
        self.setAllColumnsShowFocus(True)
        self.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.header().setSectionResizeMode(0, QHeaderView.ResizeMode.Interactive)
        self.header().setStretchLastSection(True)
        self.headerItem().setToolTip(
            2, "How much is missing to the margin; at worst: only once every dimension is off"
        )
        self.itemEntered.connect(lambda item, _: self.looked_at.emit(*_told_by(item)))
        self.currentItemChanged.connect(self._on_current)

    def set_shown(self, told: object | None) -> None:
        """Mark the near miss or the change that is previewed on the board; None where none is."""
        self._shown = told
        self.viewport().update()

    def drawRow(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Draw a line, over its mark where it is previewed."""
        if self._shown is not None and index.sibling(index.row(), 0).data(ROLE) is self._shown:
            paint_shown(painter, option.rect)
        super().drawRow(painter, option, index)

    @property
    def current(self) -> tuple[NearSummary | None, LetIn | None]:
        """The near miss and the change with the keyboard's mark."""
        return _told_by(self.currentItem())

    def apply_current(self) -> None:
        """Ask for the change with the keyboard's mark to be applied; nothing where none has it."""
        miss, change = self.current
        if miss is not None and change is not None:
            self.apply_wanted.emit(miss, change)

    def _on_current(self, item: QTreeWidgetItem | None) -> None:
        self.picked.emit()
        if self.hasFocus():
            self.looked_at.emit(*_told_by(item))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width anew."""
        super().resizeEvent(event)
        self.share_width()

    def share_width(self) -> None:
        """Keep room beside what it is for what it would gain; the tip has what is cut short."""
        least = LEAST_LETTERS * self.fontMetrics().averageCharWidth()
        most = round(SHARE * self.viewport().width())
        self.setColumnWidth(0, max(least, min(most, self._wide())))
        self.scheduleDelayedItemsLayout()

    def _wide(self) -> int:
        """Return how wide the longest near miss is on one line; what is below them is wrapped."""
        metrics = QFontMetrics(_bold(self.font()))
        items = filter(None, map(self.topLevelItem, range(self.topLevelItemCount())))
        whats = (item.text(0) for item in items)
        longest = max(map(metrics.horizontalAdvance, whats), default=0)
        return longest + self.indentation() + SIDES_PX

    def leaveEvent(self, event: QEvent) -> None:
        """Look at nothing."""
        super().leaveEvent(event)
        self.looked_at.emit(None, None)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Look at nothing."""
        super().focusOutEvent(event)
        self.looked_at.emit(None, None)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Apply a change."""
        super().mouseDoubleClickEvent(event)
        item = self.itemAt(event.position().toPoint())
        if item is not None and event.button() is Qt.MouseButton.LeftButton:
            self.apply_current()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter applies a change, Esc leaves it."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.apply_current()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


class NearView(QWidget):
    """The near misses, each with the changes below it; those that cut are marked by a word."""

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._shown: tuple[NearFound | None, bool, bool, str] = (None, False, False, "")
        self._dressed_for: Unit | None = None
        self.hint = hint(NOTHING_YET)
        self.caution = wrapping(CAUTION)
        self.tree = NearTree()
        column = QVBoxLayout(self)
        column.setContentsMargins(10, 6, 10, 6)
        column.addWidget(self.hint)
        column.addWidget(self.tree, 1)
        column.addWidget(self.caution)
        skin.changed.connect(lambda: self.show_near(*self._shown))
        self.show_near(None, running=False)

    def show_near(
        self,
        near: NearFound | None,
        running: bool,
        stopped: bool = False,
        not_asked: str = "",
    ) -> None:
        """Show what was found; None where it was not looked for, `stopped` where it will not be.

        `not_asked` says that nobody asks for it, where that is so.
        """
        same = _key(near) == _key(self._shown[0]) and self._dressed_for is self._skin.unit
        self._shown = (near, running, stopped, not_asked)
        self._dressed_for = self._skin.unit
        missing = not_asked or (NOT_WORKED_OUT if stopped else "")
        self.hint.setText(missing if near is None and missing else _hint(near, running))
        self.tree.setVisible(near is not None and bool(near.found))
        self.caution.setVisible(near is not None and any_cut(near.found))
        if same:
            return  # what the pointer or the keyboard is on stays so
        self.tree.clear()
        items = [self._item(miss) for miss in (near.found if near is not None else ())]
        self.tree.addTopLevelItems(items)
        # A line takes the whole width only once it is in the tree.
        for item in items:
            for line in filter(None, map(item.child, range(item.childCount()))):
                line.setFirstColumnSpanned(True)
        self.tree.expandAll()
        self.tree.share_width()

    def _item(self, miss: NearSummary) -> QTreeWidgetItem:
        length = short_figure(miss.short_mm, lambda mm: length_text(mm, self._skin.unit))
        short = short_text(miss.short_mm, miss.at_worst, length)
        gain = in_unit_signs(miss.gain, self._skin.unit)
        item = QTreeWidgetItem([miss.what, gain, short])
        item.setData(0, ROLE, miss)
        item.setToolTip(0, "\n".join([miss.what, *loss_lines(miss.takes_out)]))
        item.setFont(0, _bold(item.font(0)))
        item.addChild(self._why(miss))
        for one in miss.relaxations:
            text = f"CUTS THE ENCLOSURE: {one.name}" if one.cuts else one.name
            child = QTreeWidgetItem([text])
            child.setData(0, ROLE, one)
            lines = (
                text,
                *loss_lines(one.takes_out),
                "Checked in full; Enter or a double click applies it",
            )
            child.setToolTip(0, "\n".join(lines))
            item.addChild(child)
        return item

    def _why(self, miss: NearSummary) -> QTreeWidgetItem:
        """Return the line that tells why a near miss is refused, over the whole width."""
        none = "" if miss.relaxations else f", and {NO_CHANGE[:1].lower()}{NO_CHANGE[1:]}"
        line = QTreeWidgetItem([f"Refused{none}: {'; '.join(miss.refused_for)}"])
        line.setData(0, ROLE, miss)
        line.setToolTip(0, "\n".join(miss.refused_for))
        return line


def _bold(font: QFont) -> QFont:
    made = QFont(font)
    made.setBold(True)
    return made


def _told_by(item: QTreeWidgetItem | None) -> tuple[NearSummary | None, LetIn | None]:
    """Return the near miss that a line is of, and the change that it tells; None without any."""
    if item is None:
        return None, None
    told: NearSummary | LetIn = item.data(0, ROLE)
    if isinstance(told, NearSummary):
        return told, None
    parent = item.parent()
    return (parent.data(0, ROLE) if parent is not None else None), told


def _key(near: NearFound | None) -> object:
    """Return what tells two lists of near misses apart: all that their items say or carry."""
    if near is None:
        return None
    return [vars(m) | {"relaxations": [vars(one) for one in m.relaxations]} for m in near.found]


def _hint(near: NearFound | None, running: bool) -> str:
    if near is None:
        return "Looking for near misses comes last." if running else NOTHING_YET
    how = "cutting allowed" if near.cutting else "no cutting"
    if running and not near.done:
        return f"Looking for near misses ({how}); those found so far are listed."
    extent = f" {sentence(near.extent)}" if near.extent else ""
    if not near.found:
        if not near.done:
            return f"None found so far ({how}).{extent}"
        return f"{NONE} ({how}). {LOOKED_FOR} {IN_THE_WAY}{extent}"
    mended = sum(bool(miss.relaxations) for miss in near.found)
    told = sentence(letting_in_text(mended, len(near.found)))
    return f"Each would beat every row but is refused ({how}). {told}{extent}"
