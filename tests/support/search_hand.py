"""A hand at the panel of what fits: chooses parts in it, and reads off what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from multiprocessing import active_children
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt

if TYPE_CHECKING:
    from app.ui.search.compare import CompareView
    from app.ui.search.panel import SearchPanel
    from app.ui.search.part_choice import PartChoice
    from app.ui.search.preview import PreviewMark
    from geometry.search.summary import Summary


def choose_parts(choice: PartChoice, key: str, ids: Sequence[str] = ()) -> None:
    """Take a ready choice; with "chosen" tick the parts with some ids and no others."""
    choice.choice.setCurrentIndex(choice.choice.findData(key))
    choice.choice.activated.emit(choice.choice.currentIndex())
    if key != "chosen":
        return
    choice.untick.click()
    for k in range(choice.list.count()):
        item = choice.list.item(k)
        if item.data(Qt.ItemDataRole.UserRole) in ids:
            item.setCheckState(Qt.CheckState.Checked)


def answer_of(panel: SearchPanel) -> Summary:
    """Return the answer so far, which there is."""
    fits = panel.fits()
    assert fits is not None
    return fits.answer


def searching() -> tuple[int, ...]:
    """Return the numbers of the processes that search."""
    return tuple(child.pid for child in active_children() if child.pid is not None)


def lines_of(compare: CompareView) -> list[tuple[str, ...]]:
    """Return the texts of the table of compared rows, line by line."""
    table = compare.table
    items = [
        [table.item(row, column) for column in range(table.columnCount())]
        for row in range(table.rowCount())
    ]
    return [tuple(item.text() if item is not None else "" for item in line) for line in items]


def text_on(mark: PreviewMark) -> str:
    """Return what the mark of a preview says; empty when it is not shown."""
    return "" if mark.isHidden() else mark.text.whole
