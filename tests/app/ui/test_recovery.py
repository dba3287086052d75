"""What was not saved when the program was ended is offered at the next start, and stops nobody."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from kept_unsaved import last_unsaved

from app.document.document import Document
from app.document.unsaved import all_unsaved, unsaved_folder

if TYPE_CHECKING:
    from pathlib import Path

    from app.ui.window import MainWindow


def kept_names() -> list[str]:
    return sorted(one.layout.name for one in all_unsaved())


@pytest.fixture
def window_with_file(open_window: Callable[..., MainWindow], tmp_path: Path) -> MainWindow:
    """The same with a layout that has a file."""
    ended = open_window()
    ended.session.document.save_as(tmp_path / "bench.json")
    ended.session.apply("Rename", lambda layout: layout.but(name="Half done"))
    ended.end()
    window = open_window()
    window.recovery.offer()
    return window


@pytest.fixture
def next_window(open_window: Callable[..., MainWindow]) -> MainWindow:
    """A window that is opened after another one was ended with changes."""
    ended = open_window()
    ended.session.apply("Rename", lambda layout: layout.but(name="Half done"))
    ended.files.ask_about_changes = pytest.fail
    ended.end()
    assert ended.isHidden()
    window = open_window()
    window.recovery.offer()
    return window


def test_it_is_offered_in_the_notice_and_taken_over_by_its_button(next_window: MainWindow) -> None:
    notice, document = next_window.notice, next_window.session.document
    assert notice.text.startswith("Half done: changes that were not saved")
    assert next_window.session.document is document, "nothing is taken over unasked"
    next_window.session.apply("Rename", lambda layout: layout.but(name="Going on"))
    assert notice.text, "going on does not take the offer away"
    next_window.session.undo()
    notice._button.click()
    assert next_window.session.document.layout.name == "Half done"
    assert next_window.isWindowModified()
    assert last_unsaved() is not None, "kept on until it is saved"


def test_it_is_let_go_of_once_it_is_saved(next_window: MainWindow, tmp_path: Path) -> None:
    next_window.notice._button.click()
    next_window.session.document.save_as(tmp_path / "done.json")
    assert last_unsaved() is None


def test_undo_takes_nothing_away_that_redo_brings_back(
    window_with_file: MainWindow, open_window: Callable[..., MainWindow]
) -> None:
    window = window_with_file
    window.notice._button.click()
    window.session.undo()
    assert not window.session.document.dirty
    assert last_unsaved() is not None
    window.session.redo()
    assert window.session.document.dirty
    assert last_unsaved() is not None
    window.session.undo()
    window.session.document.save()
    assert last_unsaved() is not None, "saved was what the file had anyway"
    window.close()
    again = open_window()
    assert again.recovery.offer()


def test_it_is_let_go_of_once_saved_with_what_came_after_it(window_with_file: MainWindow) -> None:
    window_with_file.notice._button.click()
    window_with_file.session.undo()
    window_with_file.session.redo()
    window_with_file.session.apply("Rename", lambda layout: layout.but(name="More done"))
    window_with_file.session.document.save()
    assert last_unsaved() is None


def test_it_is_kept_where_other_work_is_saved_or_ended_in_its_place(
    window_with_file: MainWindow,
) -> None:
    window = window_with_file
    window.notice._button.click()
    window.session.undo()
    window.session.apply("Rename", lambda layout: layout.but(name="Another way"))
    window.session.document.save()
    assert kept_names() == ["Half done"]
    window.session.apply("Rename", lambda layout: layout.but(name="Another way on"))
    window.end()
    assert kept_names() == ["Another way on", "Half done"]


def test_another_document_discards_it_only_where_the_user_was_asked(
    window_with_file: MainWindow,
) -> None:
    window = window_with_file
    window.notice._button.click()
    window.session.undo()
    window.files.open_demo()
    assert kept_names() == ["Half done"], "nothing was asked: undo had left nothing to save"
    window.actions_by_name["kept_work"].trigger()
    window.notice._button.click()
    window.files.ask_about_changes = lambda *_: "discard"
    window.files.open_demo()
    assert kept_names() == []


def test_it_is_let_go_of_once_it_is_discarded(next_window: MainWindow) -> None:
    next_window.notice._button.click()
    next_window.close()
    assert last_unsaved() is None


def test_it_is_kept_where_the_offer_is_closed(
    next_window: MainWindow, open_window: Callable[..., MainWindow]
) -> None:
    next_window.notice._close.click()
    assert next_window.notice.text == ""
    next_window.close()
    again = open_window()
    again.recovery.offer()
    assert again.notice.text.startswith("Half done: changes that were not saved")


def test_it_is_kept_where_the_user_stays_with_changes_at_hand(next_window: MainWindow) -> None:
    next_window.session.apply("Rename", lambda layout: layout.but(name="Going on"))
    next_window.files.ask_about_changes = lambda *_: "stay"
    next_window.notice._button.click()
    assert next_window.session.document.layout.name == "Going on"
    assert last_unsaved() is not None


def test_ended_again_it_is_kept_once(next_window: MainWindow) -> None:
    first = last_unsaved()
    assert first is not None
    next_window.notice._button.click()
    next_window.session.apply("Rename", lambda layout: layout.but(name="More done"))
    next_window.end()
    found = last_unsaved()
    assert found is not None
    assert found.layout.name == "More done"
    assert len(list(first.kept_in.parent.iterdir())) == 1


def test_it_stays_beside_what_another_window_leaves(next_window: MainWindow) -> None:
    next_window.session.apply("Rename", lambda layout: layout.but(name="Other work"))
    next_window.end()
    assert kept_names() == ["Half done", "Other work"]


def test_it_is_discarded_by_its_other_button_and_that_can_be_undone(
    next_window: MainWindow,
) -> None:
    notice = next_window.notice
    assert notice._other_button.text() == "Discard"
    notice._other_button.click()
    assert kept_names() == []
    assert notice.text == "Half done: the unsaved changes were discarded."
    assert notice._other_button.isHidden()
    notice._button.click()
    assert kept_names() == ["Half done"]
    assert notice.text.startswith("Half done: changes that were not saved")


def test_what_cannot_be_discarded_is_told(
    next_window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.unlink", refuse)
    next_window.notice._other_button.click()
    assert next_window.notice.text.endswith("cannot be deleted: Permission denied.")
    assert kept_names() == ["Half done"]


def test_older_work_is_told_of_and_offered_after_the_latest(
    next_window: MainWindow, open_window: Callable[..., MainWindow]
) -> None:
    next_window.session.apply("Rename", lambda layout: layout.but(name="Other work"))
    next_window.end()
    window = open_window()
    window.recovery.offer()
    assert window.notice.text.startswith("Other work: ")
    assert window.notice.text.endswith("Older unsaved work is kept as well.")
    window.notice._other_button.click()
    window.notice.dismiss()
    assert window.notice.text.startswith("Half done: ")
    assert "Older" not in window.notice.text


def test_an_error_is_told_first_and_the_offer_comes_after_it(
    next_window: MainWindow, open_window: Callable[..., MainWindow], tmp_path: Path
) -> None:
    window = open_window()
    bad = tmp_path / "bad.json"
    bad.write_text("{nonsense")
    window.open_path(bad)
    window.recovery.offer()
    assert "bad.json" in window.notice.text
    window.notice.error_too("Left out of the library: a part.")
    assert window.notice.text.endswith("\nLeft out of the library: a part.")
    window.notice._close.click()
    assert window.notice.text.startswith("Half done: changes that were not saved")
    window.notice._close.click()
    assert window.notice.text == ""


def test_no_other_message_takes_the_offer_away(next_window: MainWindow) -> None:
    notice = next_window.notice
    notice.error_too("Left out of the library: a part.")
    assert notice.text == "Left out of the library: a part."
    notice.pass_by()
    assert notice.text.startswith("Half done: ")
    next_window.files.open_demo()
    assert notice.text.startswith("Half done: ")
    next_window.board.hinted.emit("Drop it into a zone.")
    assert notice.text == "Drop it into a zone."
    next_window.board.hinted.emit("")
    assert notice.text.startswith("Half done: ")
    notice.tell("Saved.", "Open folder", list)
    notice._button.click()
    assert notice.text.startswith("Half done: ")
    assert not notice._other_button.isHidden()


def test_the_file_menu_offers_it_again_as_long_as_it_is_kept(next_window: MainWindow) -> None:
    notice, entry = next_window.notice, next_window.actions_by_name["kept_work"]
    notice._close.click()

    def enabled() -> bool:
        next_window._menus["&File"].aboutToShow.emit()
        return entry.isEnabled()

    assert enabled()
    notice.error("Something else failed.")
    entry.trigger()
    assert notice.text.startswith("Half done: changes that were not saved")
    notice._button.click()
    assert not enabled(), "it is on the board now"
    next_window.session.document.save_as(unsaved_folder().parent / "done.json")
    assert not enabled()
    next_window.recovery.offer_again()
    assert notice.text == "There is no unsaved work to recover."


def test_what_is_kept_and_cannot_be_read_is_told_where_it_is_asked_for(
    open_window: Callable[..., MainWindow],
) -> None:
    unsaved_folder().mkdir(parents=True)
    (unsaved_folder() / "half.json").write_text("{")
    window = open_window()
    assert not window.recovery.offer()
    window.actions_by_name["kept_work"].trigger()
    assert window.notice.text == f"What is kept in {unsaved_folder()} cannot be read."


def test_a_file_that_was_changed_since_is_told_and_not_overwritten_unasked(
    window_with_file: MainWindow, tmp_path: Path
) -> None:
    window, path = window_with_file, tmp_path / "bench.json"
    newer = Document.open(path)
    newer.apply("Rename", lambda layout: layout.but(name="Newer"))
    newer.save()
    window.recovery.offer()
    assert "Its file has been changed since" in window.notice.text
    window.notice._button.click()
    assert not window.files.save()
    assert Document.open(path).layout.name == "Newer"
    assert last_unsaved() is not None
    assert window.notice._button.text() == "Overwrite it"
    window.notice._button.click()
    assert Document.open(path).layout.name == "Half done"
    assert last_unsaved() is None


def test_what_its_file_has_already_is_let_go_of(
    window_with_file: MainWindow, tmp_path: Path
) -> None:
    newer = Document.open(tmp_path / "bench.json")
    newer.apply("Rename", lambda layout: layout.but(name="Half done"))
    newer.save()
    window_with_file.notice._button.click()
    assert window_with_file.notice.text == "bench: its file already holds these changes."
    assert kept_names() == []


def test_the_end_of_the_session_keeps_it_and_the_window_closes_unasked(
    open_window: Callable[..., MainWindow],
) -> None:
    window = open_window()
    window.session.apply("Rename", lambda layout: layout.but(name="Half done"))
    window.files.may_close = pytest.fail
    window.recovery.keep_for_session_end()
    window.recovery.keep_for_session_end()
    assert kept_names() == ["Half done"]
    window.close()
    assert window.isHidden()
    assert kept_names() == ["Half done"]


def test_a_session_that_goes_on_after_all_asks_again_and_keeps_what_came_later(
    open_window: Callable[..., MainWindow],
) -> None:
    window = open_window()
    window.session.apply("Rename", lambda layout: layout.but(name="Half done"))
    window.recovery.keep_for_session_end()
    window.session.apply("Rename", lambda layout: layout.but(name="More done"))
    window.files.ask_about_changes = lambda *_: "stay"
    window.close()
    assert window.isVisible()
    window.recovery.keep_for_session_end()
    assert kept_names() == ["More done"]
    window.session.apply("Rename", lambda layout: layout.but(name="All done"))
    window.files.ask_about_changes = lambda *_: "discard"
    window.close()
    assert kept_names() == []


def test_what_cannot_be_kept_at_the_end_of_the_session_is_asked_about(
    open_window: Callable[..., MainWindow], capsys: pytest.CaptureFixture[str]
) -> None:
    unsaved_folder().parent.mkdir(parents=True, exist_ok=True)
    unsaved_folder().write_text("in the way")
    window = open_window()
    window.session.apply("Rename", lambda layout: layout.but(name="Half done"))
    window.recovery.keep_for_session_end()
    assert "what was not saved is lost" in capsys.readouterr().err
    window.files.ask_about_changes = lambda *_: "stay"
    window.close()
    assert window.isVisible()


def test_nothing_is_offered_where_nothing_was_kept(open_window: Callable[..., MainWindow]) -> None:
    window = open_window()
    window.recovery.offer()
    assert window.notice.text == ""
