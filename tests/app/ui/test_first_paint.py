"""What the window does before it is first painted, counted: what its first picture needs."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QObject, QSettings, Qt
from PySide6.QtWidgets import QApplication
from ui_hand import marked_findings

from app.document.document import Document
from app.shipped_demo import shipped_demo
from app.ui.first_paint import A_MOMENT_MS
from app.ui.preferences import Preferences
from app.ui.start import make_app
from app.ui.window import USUAL_SIZE, MainWindow
from catalog.store import Library


class AtPaint(QObject):
    """Notes at the board's first paint what had been done by then."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self.window = window
        self.seen: dict[str, object] = {}
        window.board.viewport().installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        if event.type() is QEvent.Type.Paint and not self.seen:
            picture = self.window.board.picture
            self.seen = {
                "laid out": picture.laid_out,
                "groups built": picture.items.rebuilt,
                "groups shown": len(picture.items.shown_keys()),
                "library read": "_all_parts" in vars(self.window.library),
                "searching": self.window.session._search.running,
                "settled in": self.window.settled_in,
                "tip": self.window.actions_by_name["new"].statusTip(),
                "recent files read": "recent" in vars(self.window.files),
            }
        return False


@pytest.fixture
def window(qtbot, tmp_path: Path) -> MainWindow:
    make_app()
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    made = MainWindow(Document.new(shipped_demo()), Library(), Preferences(settings))
    qtbot.addWidget(made)
    # As it starts where there is room, not as small as the screen that tests have.
    made.resize(USUAL_SIZE)
    return made


def test_the_first_paint_shows_the_whole_board_laid_out_once(window, qtbot) -> None:
    at_paint = AtPaint(window)
    assert window.board.picture.laid_out == 0
    window.show()
    qtbot.waitUntil(lambda: bool(at_paint.seen))
    seen = at_paint.seen
    # For the usual reach of annotations, which in the demo is theirs.
    assert seen["laid out"] == 1
    assert seen["groups built"] == seen["groups shown"] > 90
    assert seen["library read"] is False
    assert seen["searching"] is False
    assert seen["settled in"] is False
    assert seen["tip"] == ""
    assert seen["recent files read"] is False
    qtbot.waitUntil(lambda: window.settled_in)
    assert "start a layout" in window.actions_by_name["new"].statusTip()


@pytest.mark.parametrize("wanted", ["by command", "by click on the balloon"])
def test_what_is_wanted_before_all_is_settled_in_is_done(window, wanted: str) -> None:
    window.show()
    assert not window.settled_in
    if wanted == "by command":
        window.actions_by_name["next_finding"].trigger()
    else:
        window.board.finding_chosen.emit(0)
    assert window.settled_in
    assert marked_findings(window) == [0]


def test_a_menu_that_is_opened_before_all_is_settled_in_is_filled(window, qtbot) -> None:
    window.show()
    menu = window._menus["&File"]
    assert menu.actions() == []
    at = window.menuBar().actionGeometry(menu.menuAction()).center()
    qtbot.mouseClick(window.menuBar(), Qt.MouseButton.LeftButton, pos=at)
    assert menu.isVisible()
    assert window.settled_in
    assert window.actions_by_name["new"] in menu.actions()
    assert menu.rect().contains(menu.actionGeometry(window.actions_by_name["quit"]))
    menu.close()
    assert not window._recent.isEnabled(), "nothing was open before"


def test_exact_numbers_are_there_before_all_is_settled_in(window) -> None:
    window.show()
    window.session.select("E1")
    window.board.details_wanted.emit()
    assert window.tabs.currentWidget() is window.part


def test_a_window_that_is_closed_before_all_is_settled_in_goes_quietly(window, qtbot) -> None:
    window.show()
    assert not window.settled_in
    assert window.close()
    qtbot.wait(4 * A_MOMENT_MS)
    assert not window.settled_in, "what waited was not done and will not be"
    assert window.close()


@pytest.mark.parametrize("broken", ["the panels on the right", "the library"])
def test_where_one_thing_fails_all_else_that_waited_is_done(window, qtbot, broken: str) -> None:
    def fail(*_: object) -> None:
        raise ValueError("on purpose")

    done: list[str] = []
    (window.parts if broken == "the library" else window.right).fill = fail
    window.do_later(lambda: done.append("last"))
    with qtbot.captureExceptions() as faults:
        window.show()
        qtbot.waitUntil(lambda: window.settled_in)
    assert str(faults[0][1]) == "on purpose"
    assert done == ["last"]
    assert window._menus["&File"].actions() != []
    assert "start a layout" in window.actions_by_name["new"].statusTip()
    assert window.close()


def test_the_keyboard_goes_on_from_field_to_list_to_board_to_panels(window, qtbot) -> None:
    window.show()
    qtbot.waitUntil(lambda: window.settled_in)
    ends = [window.parts.frame, window.parts.list, window.board, window.tabs.tabBar()]
    window.parts.frame.setFocus()
    reached = []
    for _ in ends:
        reached.append(QApplication.focusWidget())
        window.focusNextChild()
    assert reached == ends
    assert window.stack.isAncestorOf(QApplication.focusWidget())


def test_fields_outlive_what_lay_before_them_in_the_order_of_the_keyboard(window, qtbot) -> None:
    window.show()
    qtbot.waitUntil(lambda: window.settled_in)
    for field in (
        window.enclosure.margin,
        window.stack.settings.slide_u,
        window.stack.settings.slide_v,
    ):
        assert field.lineEdit().isUndoAvailable() is False


def test_what_waited_is_there_a_moment_later(window, qtbot) -> None:
    window.show()
    qtbot.waitUntil(lambda: window.settled_in)
    assert window.parts.list.model().rowCount() > len(window.library.parts)
    assert [window.tabs.widget(k) for k in range(4)] == [
        window.stack,
        window.part,
        window.enclosure,
        window.history,
    ]
    assert len(window.findings.cards) == len(window.session.balloons) == 2
    assert window.session.looking
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)


def test_fitting_again_changes_nothing_and_lays_nothing_out(window, qtbot) -> None:
    window.show()
    qtbot.waitUntil(lambda: window.settled_in)
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)
    window.pane.fit()
    picture = window.board.picture
    before = (picture.laid_out, window.board.px_per_mm, window.board.seen)
    window.pane.fit()
    assert (picture.laid_out, window.board.px_per_mm, window.board.seen) == before
