"""What is read and hit in a window as small as half a small screen: 512 x 320 points."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from colour_contrast import contrast
from PySide6.QtCore import QPoint, QRect, QSize
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QScrollArea, QWidget

from app.ui.combo import CalmCombo
from app.ui.cut_entry import cut_entry
from app.ui.export.dialog import ExportDialog
from app.ui.export.job import Progress
from app.ui.help_dialog import HelpDialog
from app.ui.new_dialog import NewDialog
from app.ui.notice import Choice
from app.ui.numbers import LengthField
from app.ui.widgets import FRAME_PX, wrapping
from catalog.store import load_library
from geometry.finding import Verdict
from geometry.layout import Layout

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from app.ui.window import MainWindow


@pytest.fixture(params=[(512, 320), (790, 500)])
def small(open_window, request: pytest.FixtureRequest) -> MainWindow:
    """A window of so many points."""
    window = open_window()
    window.setMinimumSize(QSize(300, 200))
    window.resize(*request.param)
    window._share_width()
    QApplication.processEvents()
    assert window.size() == QSize(*request.param)
    return window


def within(widget: QWidget, outer: QWidget) -> bool:
    """Whether all of a widget is seen in another one."""
    at = widget.mapTo(outer, QPoint(0, 0))
    return outer.rect().contains(QRect(at, widget.size()))


@pytest.mark.parametrize(
    "size", [(512, 320), (790, 500), (800, 500), (1024, 640), (1280, 800), (1480, 920)]
)
def test_the_board_begins_with_half_of_the_window(open_window, size: tuple[int, int]) -> None:
    window = open_window()
    window.setMinimumSize(QSize(300, 200))
    window.resize(*size)
    window._share_width()
    QApplication.processEvents()
    assert window.size() == QSize(*size)
    assert window.pane.width() >= window.width() // 2


def test_nothing_of_a_narrow_panel_is_cut_off(open_window) -> None:
    window = open_window()
    window.setMinimumSize(QSize(300, 200))
    window.resize(800, 500)
    window._share_width()
    window.session.select("E1")
    QApplication.processEvents()
    for panel in (window.stack, window.part, window.enclosure):
        window.tabs.setCurrentWidget(panel)
        QApplication.processEvents()
        area = panel.findChild(QScrollArea)
        assert area.widget().minimumSizeHint().width() <= area.viewport().width()
    for box in (window.parts.kind, window.parts.frame):
        assert cut_entry(box) == box.currentText()


def test_all_counts_stand_in_the_status_line(small: MainWindow) -> None:
    line = small.statusBar()
    assert line.width() == small.width()
    counts = [*line.counts.values(), line._not_run]
    assert all(within(one, small) for one in counts)
    labels = [one.label for one in line.counts.values()]
    assert all(label.width() >= label.sizeHint().width() for label in labels)
    assert line.settings.toolTip().startswith("margin 2.0 mm, snap on, arrow keys: side view.")


def test_panels_end_where_the_window_ends(small: MainWindow) -> None:
    assert within(small.right, small)
    assert small.parts.isHidden() == (small.width() < 700)
    assert small.actions_by_name["parts_panel"].isChecked() != small.parts.isHidden()
    for k in range(small.tabs.count()):
        tab = small.tabs.tabBar().tabRect(k)
        assert tab.right() <= small.tabs.tabBar().width()


def test_a_window_that_opens_low_shows_its_stack_again_once_it_is_higher(
    open_window, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    """The stack panel takes its place while the findings are open as a tab."""
    monkeypatch.setattr("app.ui.window.room_on_screen", lambda _: QSize(512, 320))
    window = open_window(size=(512, 320))
    tabs = window.tabs
    assert tabs.tabText(tabs.currentIndex()) == "Findings"
    window.resize(800, 900)
    qtbot.waitUntil(lambda: tabs.tabText(0) == "Stack")
    assert tabs.currentWidget() is window.stack
    assert window.findings.isVisible()


def test_a_notice_has_room_for_its_words_and_its_button(small: MainWindow) -> None:
    small.notice.tell("Saved: field-recorder-bench-box-clearance.png", "Open folder", list)
    QApplication.processEvents()
    button, text = small.notice._button, small.notice._text
    assert within(button, small.notice)
    assert button.width() >= button.sizeHint().width()
    assert text.height() >= text.heightForWidth(text.width())
    assert not button.geometry().intersects(text.geometry())


def test_an_offer_has_room_for_both_of_its_buttons(small: MainWindow) -> None:
    choices = Choice("Recover", list), Choice("Discard", list)
    small.notice.offer("bench: changes that were not saved are kept.", *choices)
    QApplication.processEvents()
    for button in (small.notice._button, small.notice._other_button):
        assert within(button, small.notice)
        assert button.width() >= button.sizeHint().width()


def test_the_strip_of_an_export_has_room_for_its_words(small: MainWindow) -> None:
    small.strip.show_progress(Progress(3, 8, "sheet 1 of 2: painted"))
    QApplication.processEvents()
    text = small.strip._text
    assert text.height() >= text.heightForWidth(text.width())
    assert within(small.strip.stop, small)
    assert small.strip.stop.width() >= small.strip.stop.sizeHint().width()


class _SmallScreen:
    """Stands in for a screen."""

    def availableGeometry(self) -> QRect:  # noqa: N802 - Qt's name
        return QRect(0, 0, 512, 320)


def test_dialogs_are_never_larger_than_the_screen(
    open_window, shipped, tmp_path: Path, qtbot, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = open_window()
    monkeypatch.setattr(QWidget, "screen", lambda _: _SmallScreen())
    for dialog in (
        ExportDialog(tmp_path / "sheet.png"),
        NewDialog(tuple(shipped.enclosures.values()), window.skin),
        HelpDialog("Keys", "<p>" + "words " * 900),
    ):
        qtbot.addWidget(dialog)
        dialog.show()
        QApplication.processEvents()
        assert dialog.width() <= 512 - FRAME_PX.width()
        assert dialog.height() <= 320 - FRAME_PX.height()
        buttons = dialog.findChildren(QPushButton)
        assert within(buttons[-1], dialog)


def test_a_field_too_narrow_for_its_entry_says_so(qtbot) -> None:
    field = CalmCombo()
    qtbot.addWidget(field)
    field.addItem("open, Compression fitting for tube 10/13")
    field.resize(600, 24)
    assert cut_entry(field) == field.currentText()
    field.resize(120, 24)
    assert cut_entry(field).endswith("…")
    assert field.currentText().startswith(cut_entry(field)[:-1])


def test_fields_for_lengths_are_high_enough_to_be_hit(open_window, qtbot) -> None:
    # WCAG 2.2, 2.5.8: 24 by 24.
    field = LengthField(open_window().skin, "Margin")
    qtbot.addWidget(field)
    assert field.minimumSizeHint().height() <= 24 <= field.minimumHeight()


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_border_of_a_field_for_lengths_is_seen(open_window, qtbot, theme: str) -> None:
    # WCAG 2.2, 1.4.11: 3 to 1 against what is round it.
    window = open_window(theme=theme)
    window.tabs.setCurrentWidget(window.enclosure)
    field = window.enclosure.margin
    QApplication.processEvents()
    painted = field.grab().toImage()
    edge = painted.pixelColor(painted.width() // 2, 0).name()
    assert contrast(edge, window.skin.chrome.panel) >= 3.0


def test_a_figure_and_its_unit_stay_in_one_line(qtbot) -> None:
    label = wrapping("Clearance: 30.0 mm to access-side wall (2.0 mm required)")
    qtbot.addWidget(label)
    assert label.text() == "Clearance: 30.0 mm to access-side wall (2.0 mm required)"
    assert "30.0\N{NO-BREAK SPACE}mm to" in QLabel.text(label)
    assert "2.0\N{NO-BREAK SPACE}mm required)" in QLabel.text(label)


def test_nothing_clear_has_no_green_tick(open_window) -> None:
    """An empty enclosure has no part that could be clear."""
    window = open_window(Layout(name="empty", enclosure=load_library().enclosure("small-cube")))
    line = window.statusBar()
    tick = line.counts[Verdict.CLEAR]
    green = window.skin.verdict_colour(Verdict.CLEAR)
    assert tick.label.text() in ("0 parts clear", "0? parts clear")
    assert tick.mark.colour != green
    tick.set_count(1, open_yet=False)
    assert tick.mark.colour == green
