"""Tabs of what fits: a line under them and none over them, and what is empty says so at its top."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QApplication, QLabel, QTabWidget

from app.ui.style import LIGHT

if TYPE_CHECKING:
    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow

TOP_PX = 40
"""So far under the tabs a text still reads as the top of what they show."""


def test_what_is_empty_says_so_at_the_top_of_every_tab(
    opened: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = opened
    window.fits.dock.resize(window.width(), 420)
    tabs = panel.results.tabs
    for k in range(tabs.count()):
        tabs.setCurrentIndex(k)
        QApplication.processEvents()
        page = tabs.currentWidget()
        (label,) = (one for one in page.findChildren(QLabel) if one.isVisible() and one.text())
        text = label.style().itemTextRect(
            label.fontMetrics(), label.contentsRect(), int(label.alignment()), True, label.text()
        )
        top = label.mapTo(page, QPoint(0, text.top())).y()
        assert top <= TOP_PX, (tabs.tabText(k), top)


def test_the_line_of_tabs_runs_under_them_and_none_over_them(
    opened: tuple[MainWindow, SearchPanel],
) -> None:
    window, panel = opened
    for tabs in (panel.results.tabs, window.tabs):
        QApplication.processEvents()
        image = tabs.grab().toImage()
        assert isinstance(tabs, QTabWidget)
        bar, right = tabs.tabBar().geometry(), tabs.width() - 2
        x = (bar.right() + right) // 2
        column = [image.pixelColor(x, y).name() for y in range(bar.bottom() + 3)]
        assert column.count(QColor(LIGHT.border).name()) == 1
        assert column.index(QColor(LIGHT.border).name()) >= bar.bottom() - 3
