"""What a row holds, over as many lines as its column needs: whole zones, none of them cut."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QSize, Qt
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QTreeView

from app.ui.search.rows import BETWEEN_ZONES

PAD_PX = 8
"""What a cell keeps free beside its text, both sides together."""

LINE_BREAK = "\u2028"


def zone_lines(text: str, fits: Callable[[str], bool]) -> list[str]:
    """Return a text of zones in lines that fit, broken between zones, within one where it must be.

    A word that does not fit stands alone.

    >>> zone_lines("floor: fan 1  |  roof: fan 2  |  rear: a long one", lambda s: len(s) < 29)
    ['floor: fan 1  |  roof: fan 2', 'rear: a long one']
    """
    lines: list[str] = []
    for line in _filled(text.split(BETWEEN_ZONES), BETWEEN_ZONES, fits):
        lines += [line] if fits(line) else _filled(line.split(), " ", fits)
    return lines


def _filled(pieces: Iterable[str], between: str, fits: Callable[[str], bool]) -> list[str]:
    lines: list[str] = []
    for piece in pieces:
        longer = f"{lines[-1]}{between}{piece}" if lines else ""
        if lines and fits(longer):
            lines[-1] = longer
        else:
            lines.append(piece)
    return lines


class ZoneLines(QStyledItemDelegate):
    """Draws the first column of a tree: what stands below a pattern, zone by zone."""

    def __init__(self, view: QTreeView) -> None:
        super().__init__(view)
        self._view = view
        self.single = False
        """Whether a row has one line only, cut with an ellipsis where its column ends."""

    def initStyleOption(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Break the text of a row where its column ends."""
        super().initStyleOption(option, index)
        if index.parent().isValid():
            option.text = LINE_BREAK.join(self._lines(option, index))

    def sizeHint(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Return how high the lines of a row are."""
        hint = super().sizeHint(option, index)
        if index.parent().isValid():
            metrics = option.fontMetrics
            more = (len(self._lines(option, index)) - 1) * metrics.lineSpacing()
            hint.setHeight(metrics.height() + more + PAD_PX)
        return hint

    def _lines(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> list[str]:
        text: str = index.data(Qt.ItemDataRole.DisplayRole)
        if self.single:
            return [text]
        room = self._view.columnWidth(index.column()) - 2 * self._view.indentation() - PAD_PX
        return zone_lines(text, lambda line: option.fontMetrics.horizontalAdvance(line) <= room)
