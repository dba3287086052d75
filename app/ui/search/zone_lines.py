"""What a row holds, on one line or each zone on its own: none of them is cut."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QSize, Qt
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QTreeView

from app.ui.search.row_model import NAMED
from app.ui.search.rows import BETWEEN_ZONES

PAD_PX = 8
"""What a cell keeps free over and under its text together."""

SIDES_PX = 20
"""What it keeps free beside it, both sides together: the padding of the style sheet, the frame."""

LINE_BREAK = "\u2028"


def zone_lines(text: str, fits: Callable[[str], bool]) -> list[str]:
    """Return a text of zones in lines that fit: one for all or one for each, more where it must be.

    A word that does not fit stands alone.

    >>> zone_lines("floor: fan 1  |  roof: fan 2  |  rear: a long one", lambda s: len(s) < 29)
    ['floor: fan 1', 'roof: fan 2', 'rear: a long one']
    """
    if fits(text):
        return [text]
    lines: list[str] = []
    for zone in text.split(BETWEEN_ZONES):
        lines += [zone] if fits(zone) else _filled(zone.split(), fits)
    return lines


def told_lines(plain: str, named: str, fits: Callable[[str], bool]) -> list[str]:
    """Return the lines with the names of zones, or without where the names need two lines more.

    >>> told_lines("fan  |  fan 2", "rear: fan  |  floor: fan 2", lambda s: len(s) < 15)
    ['rear: fan', 'floor: fan 2']
    """
    with_names, without = zone_lines(named, fits), zone_lines(plain, fits)
    return with_names if len(with_names) <= len(without) + 1 else without


def _filled(words: list[str], fits: Callable[[str], bool]) -> list[str]:
    lines: list[str] = []
    for word in words:
        longer = f"{lines[-1]} {word}" if lines else ""
        if lines and fits(longer):
            lines[-1] = longer
        else:
            lines.append(word)
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

    def is_cut(self, index: QModelIndex | QPersistentModelIndex) -> bool:
        """Whether a row that has one line only does not end in it."""
        if not self.single:
            return False
        option = QStyleOptionViewItem()
        self.initStyleOption(option, index)
        return option.fontMetrics.horizontalAdvance(option.text) > self._room(index)

    def _room(self, index: QModelIndex | QPersistentModelIndex) -> int:
        return self._view.columnWidth(index.column()) - 2 * self._view.indentation() - SIDES_PX

    def _lines(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> list[str]:
        plain: str = index.data(Qt.ItemDataRole.DisplayRole)
        named: str = index.data(NAMED)
        room = self._room(index)

        def fits(line: str) -> bool:
            return option.fontMetrics.horizontalAdvance(line) <= room

        if self.single:
            return [named if fits(named) else plain]
        return told_lines(plain, named, fits)
