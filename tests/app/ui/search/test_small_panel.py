"""The panel of what fits in a low or narrow window, and in a window of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from colour_contrast import contrast
from facing_fans import two_zones
from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QStyle, QWidget
from search_hand import choose_parts, text_on

from app.ui.search.columns import column_ends
from app.ui.search.dock import FRAME, LEAST_WINDOW, on_screen
from app.ui.search.preview import Offer
from app.ui.search.worker import Told

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.search.panel import SearchPanel
    from app.ui.window import MainWindow

DOUBLED = QSize(800, 470)
"""What a screen of 1600 by 1000 leaves at 200 %, without the window's frame and title."""


@pytest.fixture
def low(open_window: Callable[..., MainWindow]) -> tuple[MainWindow, SearchPanel]:
    """A window so low, with the panel opened in it for the first time."""
    window = open_window(two_zones())
    window.setMinimumSize(QSize(300, 200))
    window.resize(DOUBLED)
    window._share_width()
    QApplication.processEvents()
    assert window.size() == DOUBLED
    window.fits.open()
    assert window.fits.dock is not None
    QApplication.processEvents()
    return window, window.fits.dock.panel


def within(widget: QWidget, outer: QWidget) -> bool:
    """Whether all of a widget is seen in another one."""
    return outer.rect().contains(QRect(widget.mapTo(outer, QPoint(0, 0)), widget.size()))


def seen_rows(panel: SearchPanel) -> list[int]:
    """Return the numbers of the rows of which nothing is cut off above or below."""
    table, model = panel.results.table, panel.results.model
    room = table.viewport().rect()
    found = []
    for row in model.listed:
        rect = table.visualRect(model.index_of(row.number))
        if rect.isValid() and room.top() <= rect.top() and rect.bottom() <= room.bottom():
            found.append(row.number)
    return found


def show_many(panel: SearchPanel, told: list[Told], qtbot: QtBot) -> None:
    """List a row nine times under numbers of its own, four of them under a first pattern."""
    row = next(row for one in told for row in one.rows)
    many = [replace(row, number=k, pattern="one" if k < 5 else "another") for k in range(1, 10)]
    panel.job.told.emit(replace(told[0], rows=tuple(many)))
    panel.job.finished.emit()
    qtbot.waitUntil(panel.results.table.isVisible)
    QApplication.processEvents()


def test_five_rows_are_seen_in_a_window_as_low_as_a_doubled_scale_makes_it(
    low: tuple[MainWindow, SearchPanel],
    told: list[Told],
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    window, panel = low
    assert not panel.split.beside
    assert panel.setup.isVisible()
    columns = panel.setup.columns
    sections = [one for one in columns.children() if isinstance(one, QWidget)]
    assert len({one.x() for one in sections}) == 3
    assert not panel.results.isVisible()
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.start.click()
    assert panel.setup.isHidden(), "what is found takes the place of what was chosen"
    show_many(panel, told, qtbot)
    assert len(seen_rows(panel)) >= 5
    assert window.size() == DOUBLED
    assert window.board.viewport().height() > 0
    panel.setup_button.click()
    assert panel.setup.isVisible()
    assert not panel.results.isVisible()


def test_buttons_of_a_narrow_panel_are_not_cut(
    low: tuple[MainWindow, SearchPanel],
    told: list[Told],
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _, panel = low
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.start.click()
    show_many(panel, told, qtbot)
    buttons = [b for b in panel.bar.findChildren(QAbstractButton) if b.isVisible()]
    assert panel.results.apply in buttons
    for button in buttons:
        assert button.width() >= button.minimumSizeHint().width(), button.text()
        assert within(button, panel.bar), button.text()


def test_choices_stand_beside_the_rows_where_there_is_room(
    searched: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = searched
    assert panel.split.beside
    assert panel.setup.isVisible()
    assert panel.results.isVisible()
    assert panel.results.filter.isVisible()
    assert panel.results.filter_button.isHidden()
    panel.setup_button.click()
    assert panel.setup.isHidden()
    assert panel.results.isVisible()


def test_the_filter_of_a_low_panel_is_behind_its_button_until_it_holds_rows_back(
    low: tuple[MainWindow, SearchPanel],
    told: list[Told],
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _, panel = low
    results = panel.results
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    panel.start.click()
    show_many(panel, told, qtbot)
    assert results.filter.isHidden()
    results.tabs.setCurrentWidget(results.largest)
    assert results.filter_button.isHidden(), "it is for the rows"
    results.tabs.setCurrentIndex(0)
    results.filter_button.click()
    assert results.filter.isVisible()
    results.filter.words.setText("another")
    assert results.filter_button.isHidden(), "what holds rows back stays in sight"
    assert results.filter.isVisible()
    results.filter.reset()
    results.filter_button.click()
    assert results.filter.isHidden()


def test_what_is_previewed_or_done_is_seen_on_a_low_board_beside_the_words(
    low: tuple[MainWindow, SearchPanel], told: list[Told], qtbot: QtBot
) -> None:
    window, panel = low
    row = next(row for one in told for row in one.rows)
    long = "Row 1 of what fits; takes out " + " + ".join(["Exchanger 2 x 120, 30 mm"] * 9)
    panel.preview.want(Offer(row, long, lambda _: row.layout))
    qtbot.waitUntil(lambda: panel.preview.shown is row)
    mark = panel.preview.mark
    assert mark.height() < 0.5 * window.board.height()
    assert text_on(mark) == long
    assert mark.text.text().startswith("Row 1 of what fits; takes out")
    assert mark.text.text().endswith(" …")
    panel.preview.end()
    window.notice.brief(long)
    assert window.notice.height() <= 0.5 * window.middle.height()
    assert window.notice.text == long
    assert window.notice._text.toolTip() == long
    window.notice.brief("Saved.")
    assert (window.notice._text.text(), window.notice._text.toolTip()) == ("Saved.", "")


def test_where_the_middle_is_low_tabs_stand_alone_and_keys_pass_by_what_is_hidden(
    low: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = low
    assert window.findings.isHidden()
    assert window.parts.kind.isHidden()
    reached = set()
    for _ in range(8):
        window.actions_by_name["next_pane"].trigger()
        focus = QApplication.focusWidget()
        reached |= {
            name
            for name, pane in (("parts", window.parts), ("board", window.board), ("fits", panel))
            if pane is focus or pane.isAncestorOf(focus) or window.fits.dock.isAncestorOf(focus)
        }
    assert reached == {"parts", "board", "fits"}
    window.fits.dock.leave()
    qtbot.waitUntil(window.findings.isVisible)
    assert window.parts.kind.isVisible()


def test_findings_are_read_in_a_window_of_1000_by_640_while_what_fits_is_open(
    open_window: Callable[..., MainWindow], qtbot: QtBot
) -> None:
    window = open_window(size=(1000, 640))
    window.tabs.setCurrentWidget(window.enclosure)
    count = window.tabs.count()
    assert window.findings.isVisible()
    window.fits.open()
    assert window.fits.dock is not None
    qtbot.waitUntil(lambda: window.tabs.count() == count + 1)
    assert window.tabs.tabText(window.tabs.currentIndex()) == "Findings"
    assert window.findings.isVisible()
    qtbot.waitUntil(lambda: window.findings.height() >= 0.75 * window.right.height())
    window.tabs.setCurrentWidget(window.stack)
    assert window.stack.isVisible()
    assert window.findings.isHidden()
    qtbot.waitUntil(lambda: window.stack.height() >= 0.75 * window.right.height())
    window.views.go_to_finding(0)
    assert window.findings.isVisible(), "a finding that is gone to is read"
    window.fits.dock.leave()
    qtbot.waitUntil(lambda: window.tabs.count() == count)
    assert window.tabs.currentWidget() is window.enclosure
    assert window.enclosure.isVisible()
    assert window.findings.isVisible()


def lines_high(listed: QWidget, name: str) -> int:
    """How high a name is beside a box to tick in a list of this width."""
    box = listed.style().pixelMetric(QStyle.PixelMetric.PM_IndicatorWidth, None, listed)
    page = QRect(0, 0, listed.contentsRect().width() - box, 0)
    wrap = Qt.TextFlag.TextWordWrap
    return listed.fontMetrics().boundingRect(page, wrap, name).height()


def test_a_name_in_the_list_of_parts_ends_where_the_list_does(
    opened: tuple[MainWindow, SearchPanel],
) -> None:
    _, panel = opened
    choice = panel.setup.parts
    choose_parts(choice, "chosen")
    QApplication.processEvents()
    count = choice.list.count()
    assert count > 9
    for k in range(count):
        item = choice.list.item(k)
        rect = choice.list.visualItemRect(item)
        assert rect.width() <= choice.list.viewport().width()
        assert item.toolTip() == item.text()
        assert rect.height() >= lines_high(choice.list, item.text()), "no end of a name is cut"
    heights = {choice.list.visualItemRect(choice.list.item(k)).height() for k in range(count)}
    assert len(heights) > 1, "a long name takes several lines"


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_fields_for_counts_are_high_enough_to_be_hit_and_their_border_is_seen(
    open_window: Callable[..., MainWindow], theme: str
) -> None:
    window = open_window(two_zones(), theme=theme)
    window.fits.open()
    assert window.fits.dock is not None
    field = window.fits.dock.panel.setup.seconds
    QApplication.processEvents()
    # WCAG 2.2, 2.5.8: 24 by 24; 1.4.11: 3 to 1 against what is round it.
    assert field.height() >= 24
    painted = field.grab().toImage()
    edge = painted.pixelColor(painted.width() // 2, 0).name()
    assert contrast(edge, window.skin.chrome.panel) >= 3.0


@pytest.mark.parametrize(
    ("heights", "count", "ends"),
    [
        ([80, 70, 250, 250, 200], 1, (5,)),
        ([80, 70, 250, 250, 200], 2, (3, 5)),
        ([80, 70, 250, 250, 200], 3, (3, 4, 5)),
        ([10, 10], 3, (1, 2)),
    ],
)
def test_columns_are_about_as_high_as_each_other(
    heights: list[int], count: int, ends: tuple[int, ...]
) -> None:
    assert column_ends(heights, count) == ends


# a window of its own


def test_put_out_it_is_a_window_with_a_title_that_goes_back_when_it_is_closed(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    dock = window.fits.dock
    assert dock is not None
    dock._out.click()
    qtbot.waitUntil(dock.isVisible)
    kind = dock.windowFlags() & Qt.WindowType.WindowType_Mask
    assert kind == Qt.WindowType.Window
    assert not dock.windowFlags() & Qt.WindowType.FramelessWindowHint
    assert dock.windowTitle() == "What fits"
    assert dock.minimumWidth() >= LEAST_WINDOW.width()
    assert dock.minimumHeight() >= LEAST_WINDOW.height()
    assert panel.rows
    dock.close()
    assert not dock.isFloating()
    qtbot.waitUntil(dock.isVisible)
    assert dock.windowTitle() == "What fits"
    qtbot.waitUntil(lambda: dock.minimumHeight() < LEAST_WINDOW.height())
    assert panel.rows


@pytest.mark.parametrize(
    ("place", "screen"),
    [
        (QRect(-220, 22, 1180, 720), QRect(0, 0, 960, 540)),
        (QRect(740, 360, 1180, 720), QRect(0, 0, 1920, 1080)),
        (QRect(1900, -50, 640, 380), QRect(1920, 0, 1280, 1024)),
    ],
)
def test_no_part_of_the_window_of_its_own_is_off_the_screen(place: QRect, screen: QRect) -> None:
    kept = on_screen(place, screen)
    assert screen.contains(kept.marginsAdded(FRAME))
    assert kept.size() == place.size().boundedTo(screen.marginsRemoved(FRAME).size())
    assert on_screen(kept, screen) == kept


def test_it_is_a_window_again_where_it_was_one_when_the_program_was_left(
    open_window: Callable[..., MainWindow], qtbot: QtBot
) -> None:
    window = open_window(two_zones())
    window.fits.open()
    assert window.fits.dock is not None
    window.fits.dock.setFloating(True)
    window.fits.dock.resize(560, 400)
    QApplication.processEvents()
    window.close()
    again = open_window(two_zones())
    again.fits.open()
    dock = again.fits.dock
    assert dock is not None
    qtbot.waitUntil(dock.isVisible)
    assert dock.isFloating()
    assert dock.windowFlags() & Qt.WindowType.WindowType_Mask == Qt.WindowType.Window
    assert dock.windowTitle() == "What fits"
    assert dock.size() == QSize(560, 400)


def test_keys_of_the_window_work_in_the_one_of_its_own(
    searched: tuple[MainWindow, SearchPanel], qtbot: QtBot
) -> None:
    window, panel = searched
    dock = window.fits.dock
    assert dock is not None
    dock.setFloating(True)
    qtbot.waitUntil(dock.isActiveWindow)
    qtbot.waitUntil(panel.results.table.hasFocus)
    panel.apply(panel.rows[0])
    assert window.session.document.can_undo
    QTest.keyClick(panel.results.table, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: not window.session.document.can_undo)
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    QTest.keyClick(panel.results.table, Qt.Key.Key_F, both)
    qtbot.waitUntil(window.board.hasFocus)
    assert dock.isVisible(), "a window of its own stays beside the board"
    QTest.keyClick(window.board, Qt.Key.Key_F, both)
    qtbot.waitUntil(panel.results.table.hasFocus)
