"""Files in the window: the guard, bad input as a notice, recent files, conflicts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox

from app.ui.file_commands import FileCommands
from app.ui.new_dialog import NewDialog
from geometry.layout_file import layout_text, write_layout


def change(window) -> None:
    window.session.select("E1")
    window.actions_by_name["flip"].trigger()
    assert window.isWindowModified()


def answer_with(button: QMessageBox.StandardButton) -> list[str]:
    """Press a button of the next question, and keep what it asked."""
    asked: list[str] = []

    def press() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        asked.append(box.text())
        box.button(button).click()

    QTimer.singleShot(50, press)
    return asked


@pytest.fixture
def guarded(open_window):
    """A window that asks its question for real."""
    window = open_window()
    del window.files.ask_about_changes
    assert window.files.ask_about_changes.__func__ is FileCommands.ask_about_changes
    return window


def test_closing_with_changes_asks_and_cancel_stays(guarded) -> None:
    change(guarded)
    asked = answer_with(QMessageBox.StandardButton.Cancel)
    assert not guarded.close()
    assert "changes that are not saved" in asked[0]
    assert guarded.isVisible()


def test_closing_while_a_search_runs_asks_and_may_go_on(open_window) -> None:
    window = open_window()
    del window.files.ask_about_search
    searching = True
    window.files.searching = lambda: searching
    asked = answer_with(QMessageBox.StandardButton.Cancel)
    assert not window.close()
    assert asked == ["A search is running. Closing stops it and discards its results."]
    assert window.isVisible()
    answer_with(QMessageBox.StandardButton.Close)
    assert window.close()


def test_changes_and_a_search_are_one_question(guarded) -> None:
    change(guarded)
    guarded.files.searching = lambda: True
    more: list[str] = []

    def look() -> None:
        more.append(QApplication.activeModalWidget().informativeText())

    QTimer.singleShot(20, look)
    answer_with(QMessageBox.StandardButton.Discard)
    assert guarded.close()
    assert more == [
        "A search is running. Closing stops it and discards its results. Save them before going on?"
    ]


def test_a_search_that_was_begun_counts_as_running_until_it_ends(open_window, qtbot) -> None:
    window = open_window()
    assert not window.files.asks_at_close
    window.actions_by_name["what_fits"].trigger()
    assert not window.files.asks_at_close
    panel = window.fits.dock.panel
    panel.start.click()
    assert window.files.asks_at_close
    panel.stop.click()
    qtbot.waitUntil(lambda: not window.files.asks_at_close, timeout=20_000)


def test_closing_with_changes_can_save_them(guarded, tmp_path: Path) -> None:
    change(guarded)
    path = tmp_path / "saved.json"
    guarded.files.dialogs.to_save = lambda _: path
    wanted = layout_text(guarded.session.document.layout)
    answer_with(QMessageBox.StandardButton.Save)
    assert guarded.close()
    assert path.read_text(encoding="utf-8") == wanted


def test_closing_without_changes_asks_nothing(guarded) -> None:
    assert guarded.close()


def test_open_asks_about_changes_before_a_file_is_chosen_and_only_once(
    open_window, tmp_path: Path
) -> None:
    window = open_window()
    path = tmp_path / "other.json"
    write_layout(path, window.session.document.layout.but(name="Another"))
    change(window)
    done: list[str] = []
    answers = ["stay", "discard", "discard"]
    files = [None, path]

    def ask() -> str:
        done.append("asked")
        return answers.pop(0)

    def choose(_: Path) -> Path | None:
        done.append("chose")
        return files.pop(0)

    window.files.ask_about_changes = ask
    window.files.dialogs.to_open = choose
    window.actions_by_name["open"].trigger()
    assert done == ["asked"]
    window.actions_by_name["open"].trigger()
    assert done[1:] == ["asked", "chose"]
    # Nothing was chosen: the changes are still there.
    assert window.isWindowModified()
    window.actions_by_name["open"].trigger()
    assert done[3:] == ["asked", "chose"]
    assert window.session.document.path == path
    assert not window.isWindowModified()


def test_new_starts_an_empty_layout_in_the_chosen_enclosure(open_window, hand, shipped) -> None:
    window = open_window()
    hand(window).key("Ctrl+N")
    dialog = window.findChild(NewDialog)
    names = [dialog.list.item(k).text() for k in range(dialog.list.count())]
    assert names == [enclosure.name for enclosure in shipped.enclosures.values()]
    dialog.list.setCurrentRow(names.index(shipped.enclosure("small-cube").name))
    dialog.name.setText("Cube for the field kit")
    dialog.accept()
    layout = window.session.document.layout
    assert layout.name == "Cube for the field kit"
    assert layout.enclosure.id == "small-cube"
    assert layout.stacks == ()
    assert layout.free == ()
    assert not window.isWindowModified()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "bad.json"),
        ('{"format": "gapwright-layout", "version": 99}', "version"),
        ('{"format": "gapwright-layout", "version": 1, "nmae": "x"}', "nmae"),
    ],
)
def test_a_bad_file_is_a_notice_and_the_open_layout_stays(
    open_window, tmp_path: Path, text: str, words: str
) -> None:
    window = open_window()
    before = window.session.document
    path = tmp_path / "bad.json"
    path.write_text(text, encoding="utf-8")
    assert not window.open_path(path)
    assert "bad.json" in window.notice.text
    assert words in window.notice.text
    assert "Traceback" not in window.notice.text
    assert window.session.document is before
    assert QApplication.activeModalWidget() is None


def test_a_missing_recent_file_is_told_and_forgotten(open_window, tmp_path: Path) -> None:
    window = open_window()
    path = tmp_path / "gone.json"
    write_layout(path, window.session.document.layout)
    assert window.open_path(path)
    window._recent.fill()
    (action,) = window._recent.actions()
    assert action.text() == "&1 gone.json"
    path.unlink()
    action.trigger()
    assert "gone.json" in window.notice.text
    assert window.files.recent.paths == ()


def test_a_file_changed_by_somebody_else_is_not_overwritten_unasked(
    open_window, hand, tmp_path: Path
) -> None:
    window = open_window()
    path = tmp_path / "shared.json"
    write_layout(path, window.session.document.layout)
    assert window.open_path(path)
    theirs = json.loads(path.read_text(encoding="utf-8")) | {"name": "Theirs"}
    path.write_text(json.dumps(theirs), encoding="utf-8")
    change(window)
    hand(window).key("Ctrl+S")
    assert json.loads(path.read_text(encoding="utf-8"))["name"] == "Theirs"
    assert "was changed by another program" in window.notice.text
    window.notice._button.click()
    assert json.loads(path.read_text(encoding="utf-8"))["name"] != "Theirs"
    assert not window.isWindowModified()


def test_a_folder_that_cannot_be_written_is_a_notice(open_window, hand, tmp_path: Path) -> None:
    window = open_window()
    change(window)
    window.files.dialogs.to_save = lambda _: tmp_path / "no" / "such" / "folder" / "x.json"
    hand(window).key("Ctrl+S")
    assert "x.json" in window.notice.text
    assert window.isWindowModified()


@pytest.fixture
def with_odd_part(qtbot, own_home: Path):
    """A window, not yet shown, on the demo with a part of the user's own that cannot be read."""
    from PySide6.QtCore import QSettings

    from app.demo import demo_layout
    from app.document.document import Document
    from app.ui.preferences import Preferences
    from app.ui.window import MainWindow
    from catalog.store import load_library

    folder = own_home / "mine"
    (folder / "parts").mkdir(parents=True)
    (folder / "parts" / "odd-fan.json").write_text('{"kind": "fan"}', encoding="utf-8")
    library = load_library(folder)
    settings = QSettings(str(own_home / "s.ini"), QSettings.Format.IniFormat)
    window = MainWindow(Document.new(demo_layout(library)), library, Preferences(settings))
    qtbot.addWidget(window)
    return window


def test_a_bad_part_of_the_users_own_is_reported_by_name(qtbot, with_odd_part) -> None:
    with_odd_part.show()
    qtbot.waitUntil(lambda: "odd-fan.json" in with_odd_part.notice.text)


def test_a_bad_part_does_not_hide_that_the_wanted_file_could_not_be_opened(
    qtbot, with_odd_part, tmp_path: Path
) -> None:
    window = with_odd_part
    assert not window.open_path(tmp_path / "gone.json")
    window.show()
    qtbot.waitUntil(lambda: window.settled_in)
    assert "gone.json" in window.notice.text
    assert "odd-fan.json" in window.notice.text
