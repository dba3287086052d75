"""The search for the smallest change, in the window: begun, stopped, void, without an answer."""

from __future__ import annotations

from mend_hand import two_pegs
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton

from app.ui.mending.offers import MendState
from geometry.edits import add_free, set_locked


def test_an_edit_makes_what_was_found_void(mending) -> None:
    window, search = mending(two_pegs(317.0, 317.0))
    search(None)
    assert window.findings.all_mends.buttons
    window.findings.all_mends.buttons[0].click()
    window.session.undo()
    assert not window.findings.all_mends.buttons
    assert window.findings.all_mends.note.text() == ""


def test_a_stopped_search_says_so_and_can_be_begun_again(mending, qtbot) -> None:
    window, search = mending(two_pegs(317.0, 317.0))
    window.mends.search(None)
    assert window.findings.all_mends._find.text() == "Stop"
    window.findings.all_mends._find.click()
    assert not window.mends.searching
    assert window.findings.all_mends.note.text().startswith("Stopped: ")
    search(None)
    assert window.findings.all_mends.buttons


def test_what_was_searched_for_stays_in_sight_and_gets_the_focus(mending, qtbot) -> None:
    window, _ = mending(two_pegs(317.0, 317.0))
    for mends in (window.findings.cards[0].mends, window.findings.all_mends):
        window.resize(1280, 640)
        mends._find.setFocus()
        window.findings._scroll.ensureWidgetVisible(mends._find)
        mends._find.click()
        qtbot.waitUntil(lambda: not window.mends.searching, timeout=60_000)
        QTest.qWait(50)
        first = mends.buttons[0]
        assert window.focusWidget() is first
        assert not window.session.previewing
        port = window.findings._scroll.viewport()
        top = first.mapTo(port, first.rect().topLeft()).y()
        assert 0 <= top <= port.height() - first.height()


def test_a_search_that_finds_nothing_leaves_the_focus_at_its_finding(mending, qtbot) -> None:
    window, _ = mending(two_pegs(317.0, 317.0))
    mends = window.findings.cards[0].mends
    mends._find.setFocus()
    mends.show_mends((), MendState(running=True), ready=True, fresh=True)
    mends.show_mends((), MendState(), ready=True, fresh=False)
    assert window.focusWidget() is window.findings.cards[0]


def test_that_a_lock_leaves_nothing_to_change_is_said(mending) -> None:
    window, search = mending(set_locked(two_pegs(317.0), "S0", locked=True))
    search(None)
    said = window.findings.all_mends.note.text() or window.findings.cards[0].mends.note.text()
    assert said.startswith("No change and no pair that was tried clears it")
    assert said.endswith(" Locked, and so not changed: the stack on z0.")


def test_what_only_a_layout_on_trial_is_at_fault_in_is_not_searched(
    mending, qtbot, shipped
) -> None:
    window, _ = mending(two_pegs(317.0))
    session, known = window.session, len(window.findings.cards)
    tried, fan_id = add_free(session.layout, shipped.part("fan-80-25"), (60.0, 60.0, 10.0))
    session.try_layout(tried, fan_id)
    qtbot.waitUntil(lambda: len(window.findings.cards) > known, timeout=5_000)
    goals = {card.goal for card in window.findings.cards if fan_id in card.goal[1]}
    assert goals
    for goal in goals:
        window.mends.search(goal)
        qtbot.wait(50)
        assert not window.mends.searching
    window.actions_by_name["mend"].trigger()
    assert window.notice.text.startswith("Drop the part being moved first")
    session.end_trial()


class PlantedError(Exception):
    """A fault of the program."""


def test_a_search_that_breaks_is_not_shown_as_running(mending, qtbot, monkeypatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise PlantedError

    window, _ = mending(two_pegs(317.0))
    monkeypatch.setattr("geometry.search.mending.mend.mends", fail)
    card = window.findings.cards[0]
    buttons = card.mends.findChildren(QPushButton)
    with qtbot.captureExceptions() as raised:
        window.mends.search(card.goal)
        assert "Stop" in [button.text() for button in buttons]
        qtbot.waitUntil(lambda: bool(raised), timeout=5_000)
    assert [kind for kind, _, _ in raised] == [PlantedError]
    assert "Stop" not in [button.text() for button in buttons]
    assert card.mends.note.text()
