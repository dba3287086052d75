"""What was not saved when the program was ended is offered at the next start, and stops nobody."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from app.document.unsaved import last_unsaved

if TYPE_CHECKING:
    from pathlib import Path

    from app.ui.window import MainWindow


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


def test_it_is_let_go_of_once_it_is_discarded(next_window: MainWindow) -> None:
    next_window.notice._button.click()
    next_window.close()
    assert last_unsaved() is None


def test_it_is_kept_where_the_offer_is_closed(
    next_window: MainWindow, open_window: Callable[..., MainWindow]
) -> None:
    next_window.notice.dismiss()
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


def test_nothing_is_offered_where_nothing_was_kept(open_window: Callable[..., MainWindow]) -> None:
    window = open_window()
    window.recovery.offer()
    assert window.notice.text == ""
