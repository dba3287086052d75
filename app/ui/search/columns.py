"""Sections of choices in as many columns as there is width for, in the order of reading."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

COLUMN_PX = 240
"""What a column is given at least."""

MOST = 3
GAP_PX = 20


def column_ends(heights: Sequence[int], count: int) -> tuple[int, ...]:
    """Return after which sections columns end, so that the tallest column is as low as can be.

    >>> column_ends([80, 70, 250, 250, 200], 3)
    (3, 4, 5)
    """
    many = len(heights)

    def tallest(ends: tuple[int, ...]) -> int:
        return max(sum(heights[a:b]) for a, b in pairwise((0, *ends)))

    inner = combinations(range(1, many), min(count, many) - 1)
    return min(((*ends, many) for ends in inner), key=tallest)


class SectionColumns(QWidget):
    """Lays its sections out anew where another number of columns has room."""

    def __init__(self, sections: Sequence[QWidget]) -> None:
        super().__init__()
        self._sections = tuple(sections)
        self._count = 0
        line = QHBoxLayout(self)
        line.setContentsMargins(12, 6, 12, 10)
        line.setSpacing(GAP_PX)
        self._columns = [QVBoxLayout() for _ in range(MOST)]
        for column in self._columns:
            column.setSpacing(8)
            line.addLayout(column)
        self._line = line
        self.fit_width(0)

    def fit_width(self, width_px: int) -> None:
        """Take as many columns as such a width has room for."""
        count = max(1, min(MOST, width_px // COLUMN_PX))
        if count == self._count:
            return
        self._count = count
        for column in self._columns:
            while column.count():
                column.takeAt(0)
        heights = [section.sizeHint().height() for section in self._sections]
        starts = (0, *column_ends(heights, count))
        for k, column in enumerate(self._columns):
            self._line.setStretch(k, 1 if k < count else 0)
            if k < count:
                for section in self._sections[starts[k] : starts[k + 1]]:
                    column.addWidget(section)
                column.addStretch(1)
        self._line.setSpacing(GAP_PX if count > 1 else 0)
