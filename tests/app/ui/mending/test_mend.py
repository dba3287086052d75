"""What would mend a finding, in the window: one list, searched behind, previewed, a click away."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QCursor, QEnterEvent, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton
from search_hand import text_on
from small_rooms import block, exchanger, fan, fan_layer, layout, one, room, row, stack, zone

from app.ui.mending.offer_button import PREVIEW_MS, OfferButton
from app.ui.mending.offers import MendState, Offer, all_title, outcome_words
from app.ui.search.preview import PreviewMark
from geometry.checks.runner import check_layout
from geometry.edits import add_free, cut_lines
from geometry.finding import Verdict
from geometry.layout import Layout
from geometry.search.mending.mend import Mend


def two_pegs(*pegs_mm: float, spare: bool = False) -> Layout:
    """Two-fan exchangers on the floor, each with its port end against a peg that ends there.

    Core A lies at x = 50 to 290 with its port end to 320, on slots of 8 mm; B the same, 200 mm
    further inward. A `spare` zone is left empty where B would be.
    """
    core, blower = exchanger(2, 30), fan(25)
    zones = [
        zone(f"z{k}", "floor", (50, 40 + 200 * k, 0), "+x", "+y", row(2, slot_u_mm=8.0))
        for k in range(len(pegs_mm) + spare)
    ]
    pegs = [
        block(f"peg-{k}", (mm, 90 + 200 * k, 0), (mm + 20, 110 + 200 * k, 200))
        for k, mm in enumerate(pegs_mm)
    ]
    stacks = [
        stack(f"S{k}", f"z{k}", fan_layer(f"A{k}", blower, ("c1", "c2")), one(f"E{k}", core))
        for k in range(len(pegs_mm))
    ]
    deep_mm = max(400, 200 * len(pegs_mm))
    made = layout(room((500, deep_mm, 300), zones, pegs), [core, blower], stacks)
    return made.but(settings=made.settings.but(judge="nominal"))


@pytest.fixture
def mending(open_window, hand, qtbot):
    """A window on a layout, its remedies found; and a way to wait for a search to end."""

    def opened(shown: Layout):
        window = open_window(shown)
        hand(window).wait_for_remedies()

        def search(goal) -> None:
            window.mends.search(goal)
            qtbot.waitUntil(lambda: not window.mends.searching, timeout=60_000)

        return window, search

    return opened


def enter(button: OfferButton, on_screen: QPoint | None = None) -> None:
    at = QPointF(5, 5)
    where = at if on_screen is None else QPointF(on_screen)
    QApplication.sendEvent(button, QEnterEvent(at, at, where))
    QTest.qWait(PREVIEW_MS + 50)


def leave(button: OfferButton) -> None:
    QApplication.sendEvent(button, QEvent(QEvent.Type.Leave))


def offers_of(card) -> list[Offer]:
    return [button.offer for button in card.mends.buttons]


def test_quick_remedies_come_first_and_no_change_is_listed_twice(mending) -> None:
    window, search = mending(two_pegs(317.0, spare=True))
    card = window.findings.cards[0]
    quick = offers_of(card)
    assert [o.name for o in quick] == [
        "Flip port end of Exchanger 2 x 120, 30 (E0)",
        "Slide the stack on z0 5.0 mm to the rear (along -x)",
    ]
    search(card.goal)
    both = offers_of(card)
    assert [o.name for o in both[: len(quick)]] == [o.name for o in quick]
    assert len(both) > len(quick)
    layouts = [o.layout for o in both]
    assert all(a != b for k, a in enumerate(layouts) for b in layouts[:k])
    slides = [o for o in both if o.name.startswith("Slide")]
    assert len(slides) == 1


def test_changes_that_were_tried_stand_over_the_advice_and_that_says_otherwise(
    mending, qtbot
) -> None:
    window, _ = mending(two_pegs(317.0, spare=True))
    card = window.findings.cards[0]
    assert offers_of(card)
    # Its parts are laid out with the next turn of the window.
    QApplication.processEvents()
    qtbot.waitUntil(lambda: 0 < card.mends.y() < card._advice.y())
    assert card._advice.text().startswith("Otherwise: Move Exchanger 2 x 120, 30 (E0) 5.0 mm")


def test_advice_stands_first_where_only_a_cut_helps(mending, qtbot) -> None:
    window, _ = mending(two_pegs(317.0, spare=True))
    card = window.findings.cards[0]
    cut = Offer(
        ("Cut peg-0 at its side to the rear by 5.0 mm",), window.session.layout, "", cuts=True
    )
    card.show_mends(card.goal, (cut,), None, ready=True, fresh=True)
    qtbot.waitUntil(lambda: 0 < card._advice.y() < card.mends.y())
    assert not card._advice.text().startswith("Otherwise")


def test_every_offer_clears_the_finding_it_stands_under(mending) -> None:
    window, search = mending(two_pegs(317.0, spare=True))
    card = window.findings.cards[0]
    search(card.goal)
    for offer in offers_of(card):
        report = check_layout(offer.layout, remedies=False).report
        assert not report.blocked, offer.name
        assert not report.tight, offer.name
        assert offer.gives.endswith("clears all"), offer.text


def test_all_findings_are_mended_by_one_click_that_undo_takes_back(mending) -> None:
    window, search = mending(two_pegs(317.0, 317.0))
    before = window.session.document.layout
    assert len(window.findings.cards) == 2
    search(None)
    assert window.findings.all_mends.title.text() == "Changes that clear all findings"
    button = window.findings.all_mends.buttons[0]
    assert len(button.offer.steps) == 2
    button.click()
    report = window.session.settled.report
    assert (report.blocked, report.tight) == (0, 0)
    assert window.session.document.history_names == (button.offer.name,)
    window.session.undo()
    assert window.session.document.layout is before


def test_changes_that_clear_only_some_are_not_headed_as_if_they_cleared_all(mending) -> None:
    window, search = mending(two_pegs(317.0, 317.0, 317.0))
    assert len(window.findings.cards) == 3
    search(None)
    offered = [button.offer.gives for button in window.findings.all_mends.buttons]
    assert offered
    assert not any(gives == "clears all" for gives in offered)
    told = "No one or two changes tried clear all; these clear some"
    assert window.findings.all_mends.title.text() == told


def test_the_head_of_changes_for_all_says_whether_they_clear_all() -> None:
    whole, part = (Mend(("a",), 1.0, two_pegs(317.0), clears, 0) for clears in ((1, 2), (2,)))
    assert all_title((whole, part), 2, done=True) == "Changes that clear all findings"
    assert all_title((part,), 2, done=False) == "Changes that clear some findings"
    assert all_title((part,), 2, done=True).startswith("No one or two changes tried clear all")


def test_resting_on_a_change_shows_it_on_the_board_and_leaves_no_trace(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    before = window.session.document.layout
    card = window.findings.cards[0]
    titles = [f.title for f in window.session.balloons]
    button = card.mends.buttons[0]
    enter(button)
    assert window.session.layout is button.offer.layout
    assert window.session.previewing
    assert window.findings.cards[0].mends.buttons[0] is button
    mark = window.findChild(PreviewMark)
    assert text_on(mark).startswith(button.offer.name)
    assert "Nothing is changed yet" in text_on(mark)
    covered = window.board.mapToScene(mark.geometry()).boundingRect()
    items = window.board.picture.items
    for key in ("title:side", "title:bottom", "overall:side", "overall:bottom"):
        assert not covered.intersects(items.rect(key)), key
    leave(button)
    assert text_on(mark) == ""
    assert window.session.layout is before
    assert [f.title for f in window.session.balloons] == titles
    assert not window.session.document.can_undo


def test_a_change_is_applied_while_it_is_previewed(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    button = window.findings.cards[0].mends.buttons[0]
    wanted = button.offer.layout
    enter(button)
    button.click()
    assert not window.session.trying
    assert window.session.document.layout is wanted
    assert window.session.layout is wanted


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


def test_the_list_stands_still_under_the_pointer(mending) -> None:
    window, search = mending(two_pegs(317.0, spare=True))
    card = window.findings.cards[0]
    count = len(card.mends.buttons)
    enter(card.mends.buttons[0])
    search(card.goal)
    assert len(card.mends.buttons) == count
    leave(card.mends.buttons[0])
    assert len(card.mends.buttons) > count


def test_cuts_are_offered_only_where_cutting_is_allowed_and_are_marked(mending) -> None:
    window, search = mending(two_pegs(317.0))
    card = window.findings.cards[0]
    assert window.findings.no_cutting.isChecked()
    search(card.goal)
    assert not any(o.cuts for o in offers_of(card))
    window.findings.no_cutting.click()
    search(card.goal)
    cuts = [b for b in card.mends.buttons if b.offer.cuts]
    assert cuts
    assert card.mends._caution.isVisible()
    assert "irreversible" in card.mends._caution.text()
    for button in cuts:
        assert button._cut.isVisible()
        assert button.accessibleName().startswith("Cuts the enclosure")
        assert cut_lines(button.offer.layout.enclosure)
    cuts[0].click()
    assert cut_lines(window.session.document.layout.enclosure)
    window.session.undo()
    assert not cut_lines(window.session.document.layout.enclosure)


def test_the_first_offer_is_applied_with_the_key(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    name = window.findings.cards[0].mends.buttons[0].offer.name
    window.actions_by_name["remedy"].trigger()
    assert window.session.document.undo_name == name
    assert not [f for f in window.session.balloons if f.verdict is Verdict.BLOCKED]


def test_undo_by_key_takes_a_clicked_change_back(mending, hand) -> None:
    window, _ = mending(two_pegs(317.0))
    before = window.session.document.layout
    button = window.findings.cards[0].mends.buttons[0]
    button.setFocus()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert window.session.document.layout is not before
    hand(window).key("Ctrl+Z")
    assert window.session.document.layout is before


def test_undo_is_a_fields_own_only_while_something_is_typed_in_it(mending, hand) -> None:
    window, _ = mending(two_pegs(317.0))
    me = hand(window)
    before = window.session.document.layout
    fields = (window.parts.search, window.enclosure.name, window.enclosure.margin)
    for field in fields:
        window.actions_by_name["remedy"].trigger()
        field.setFocus()
        me.key("Ctrl+Z")
        assert window.session.document.layout is before
        me.wait_for_remedies()
    window.actions_by_name["remedy"].trigger()
    changed = window.session.document.layout
    window.parts.search.setFocus()
    me.type("slim")
    me.key("Ctrl+Z")
    assert window.parts.search.text() == ""
    assert window.session.document.layout is changed


def test_what_stays_is_named_by_its_number() -> None:
    assert outcome_words((1, 2, 3), 3) == "clears all"
    assert outcome_words((2,), 3) == "clears finding 2; findings 1 and 3 stay"
    assert outcome_words((1, 2, 4), 4) == "clears findings 1, 2 and 4; finding 3 stays"


def test_the_mark_goes_whoever_ends_the_preview(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    session, button = window.session, window.findings.cards[0].mends.buttons[0]
    enter(button)
    mark = window.findChild(PreviewMark)
    assert text_on(mark)
    session.try_layout(session.document.layout)  # as when a part is dragged on the board
    session.end_trial()
    assert not session.previewing
    assert text_on(mark) == ""


def test_a_change_that_is_hidden_under_the_pointer_is_shown_no_more(mending) -> None:
    window, _ = mending(two_pegs(317.0))
    button = window.findings.cards[0].mends.buttons[0]
    enter(button)
    assert window.session.previewing
    button.hide()
    assert not button.in_use
    assert not window.session.previewing
    assert text_on(window.findChild(PreviewMark)) == ""


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


def test_a_change_that_comes_under_a_still_pointer_waits_until_it_moves(mending, hand) -> None:
    window, _ = mending(two_pegs(317.0, 317.0))
    button = window.findings.cards[0].mends.buttons[0]
    at = button.mapToGlobal(QPoint(20, 8))
    QCursor.setPos(at)
    enter(button, at)
    assert window.session.previewing
    button.click()
    hand(window).wait_for_remedies()
    next_one = window.findings.cards[0].mends.buttons[0]
    enter(next_one, at)
    assert not window.session.previewing
    still = QPointF(at)
    for to, shown in ((still, False), (still + QPointF(1, 0), True)):
        moved = QMouseEvent(
            QEvent.Type.MouseMove, QPointF(20, 8), to, Qt.MouseButton.NoButton,
            Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
        )  # fmt: skip
        QApplication.sendEvent(next_one, moved)
        QTest.qWait(PREVIEW_MS + 50)
        assert window.session.previewing is shown


def test_that_a_slide_clears_and_what_of_it_is_for_the_worst_case_is_told_once(mending) -> None:
    of = two_pegs(317.0, 317.0)
    window, search = mending(of.but(settings=of.settings.but(judge="worst case")))
    card = window.findings.cards[0]
    search(card.goal)
    slide = next(o for o in offers_of(card) if o.name.startswith("Slide"))
    assert slide.gives.count("clears") == 1
    assert slide.gives.startswith("5.0 mm would do as drawn, ")
    assert slide.gives.endswith("mm more at worst; clears finding 1; finding 2 stays")


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
