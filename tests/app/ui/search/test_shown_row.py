"""The row that is previewed on the board is marked where it is listed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QModelIndex, QPoint, QRect, Qt
from PySide6.QtGui import QColor, QGuiApplication, QPalette
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QTreeView

from geometry.search.near.summary import LetIn, NearFound, NearSummary

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow


def marked(view: QTreeView, index: QModelIndex) -> bool:
    """Say whether the left end of a row is of the accent colour, and that it is in sight."""
    row = view.visualRect(index)
    assert view.viewport().rect().contains(row.center())
    image = view.viewport().grab(QRect(0, row.center().y(), 1, 1)).toImage()
    accent = QGuiApplication.palette().color(
        QPalette.ColorGroup.Active, QPalette.ColorRole.Highlight
    )
    return _near(image.pixelColor(0, 0), accent)


def _near(one: QColor, other: QColor) -> bool:
    return max(abs(a - b) for a, b in zip(one.getRgb(), other.getRgb(), strict=True)) <= 1


def roomy(window: MainWindow) -> None:
    """Give the panel room for what is looked at."""
    assert window.fits.dock is not None
    window.resize(1480, 1000)
    window.resizeDocks([window.fits.dock], [500], Qt.Orientation.Vertical)


def test_the_row_under_the_pointer_is_marked_and_no_other(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    roomy(window)
    table, model = panel.results.table, panel.results.model
    first, second = (model.index_of(row.number) for row in panel.rows[:2])
    assert not marked(table, first)
    for here, other in ((first, second), (second, first)):
        at = table.visualRect(here).center()
        row = model.row_at(here)
        QTest.mouseMove(table.viewport(), at - QPoint(0, 3))
        QTest.mouseMove(table.viewport(), at)
        qtbot.waitUntil(lambda row=row: panel.preview.shown is row)  # type: ignore[misc]
        assert marked(table, here)
        assert not marked(table, other)
    panel.preview.end()
    assert not marked(table, second)


def test_the_near_miss_that_is_previewed_is_marked(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    roomy(window)
    before = window.session.document.layout
    change = LetIn("ask for less", cuts=False, layout=before)
    miss = NearSummary(
        "a thick core", "front-zone", "+432 cm3", {"volume": 432.0}, ("too deep",), 0.5,
        (change,), before,
    )  # fmt: skip
    panel.results.show_near(NearFound((miss,), cutting=False, done=True), running=False)
    panel.results.tabs.setCurrentWidget(panel.results.near)
    tree = panel.results.near.tree
    top = tree.topLevelItem(0)
    assert top is not None
    lines = [top, top.child(0), top.child(1)]
    for told, marks in (
        ((miss, change), [False, False, True]),
        ((miss, None), [True, True, False]),
    ):
        tree.looked_at.emit(*told)
        wanted = told[1] or miss
        qtbot.waitUntil(lambda wanted=wanted: panel.preview.shown is wanted)  # type: ignore[misc]
        assert [marked(tree, tree.indexFromItem(line)) for line in lines] == marks
