"""The bar of a preview lies where it hides least of the board, whatever room the board has."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QRect, QRectF, Qt

from app.ui.search.preview import LOW_BOARD_PX, Offer, hidden_px2

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.search.preview import PreviewMark
    from app.ui.window import MainWindow

KEPT = ("wall:side", "wall:bottom", "title:side", "title:bottom", "overall:side", "overall:bottom")


def previewed(
    window: MainWindow, panel: SearchPanel, qtbot: QtBot, *, dock_px: int
) -> tuple[PreviewMark, list[QRect]]:
    """Preview the first row beside a dock so tall; return the bar, and what it should not hide."""
    assert window.fits.dock is not None
    window.resizeDocks([window.fits.dock], [dock_px], Qt.Orientation.Vertical)
    qtbot.wait(400)  # the board is fitted anew once its size rests
    row = panel.results.model.listed[0]
    panel.results.table.looked_at.emit(row)
    qtbot.waitUntil(lambda: panel.preview.shown is row, timeout=3_000)
    qtbot.wait(200)
    board = window.board
    rects = [board.picture.rect(key) for key in KEPT]
    kept = [board.mapFromScene(rect).boundingRect() for rect in rects if rect is not None]
    assert len(kept) == len(KEPT)
    assert board.rect().contains(panel.preview.mark.geometry())
    return panel.preview.mark, kept


def test_what_a_place_hides_by_hand() -> None:
    # 10 x 20 of the first and 30 x 5 of the second; the third is only touched.
    kept = [QRect(0, 0, 20, 20), QRect(10, 15, 30, 30), QRect(40, 0, 5, 5)]
    assert hidden_px2(QRect(10, 0, 30, 20), kept) == 10 * 20 + 30 * 5
    assert hidden_px2(QRect(20, 0, 20, 15), kept) == 0
    assert hidden_px2(QRect(20, 0, 20, 15), []) == 0


def test_in_a_roomy_board_it_lies_in_the_gap_between_the_views(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    window.resize(1480, 1100)
    mark, kept = previewed(window, panel, qtbot, dock_px=250)
    assert hidden_px2(mark.geometry(), kept) == 0
    side, bottom = kept[:2]
    assert side.bottom() < mark.geometry().top() < mark.geometry().bottom() < bottom.top()
    assert mark.width() == window.board.width()


@pytest.mark.parametrize("dock_px", [400, 480, 560])
def test_where_the_dock_is_tall_it_lies_beside_the_views(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot, dock_px: int
) -> None:
    mark, kept = previewed(*searched, qtbot, dock_px=dock_px)
    assert hidden_px2(mark.geometry(), kept) == 0


def test_where_no_place_is_free_it_hides_no_more_than_at_the_foot_or_the_head(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    window.resize(1480, 920)
    mark, _ = previewed(window, panel, qtbot, dock_px=400)
    x0, y0, x1, y1 = window.board.picture.frame.views[0].rect
    window.board.zoom_to(QRectF(x0, y0, x1 - x0, y1 - y0).adjusted(40.0, 40.0, -40.0, -40.0))
    kept = [
        window.board.mapFromScene(rect).boundingRect()
        for key in KEPT
        if (rect := window.board.picture.rect(key)) is not None
    ]
    wide, high = window.board.width(), window.board.height()
    assert window.board.rect().contains(mark.geometry())
    assert hidden_px2(mark.geometry(), kept) > 0
    for top in (0, high - 28):
        strip = QRect(0, top, wide, 28)
        assert hidden_px2(mark.geometry(), kept) <= hidden_px2(strip, kept)


def test_where_its_words_would_hide_views_it_says_less(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    window.resize(1000, 640)
    mark, kept = previewed(window, panel, qtbot, dock_px=290)
    assert window.board.height() >= LOW_BOARD_PX, "the board itself is not that low"
    row = panel.results.model.listed[0]
    long = "Row 1 of what fits; takes out " + " + ".join(["Exchanger 2 x 120, 30 mm"] * 9)
    panel.preview.end()
    panel.preview.want(Offer(row, long, lambda _: row.layout))
    qtbot.waitUntil(lambda: panel.preview.shown is row)
    assert mark.text.whole == long
    assert mark.text.text().startswith("Row 1 of what fits; takes out")
    views = sum(rect.width() * rect.height() for rect in kept[:2])
    assert hidden_px2(mark.geometry(), kept) < 0.1 * views
