"""What would mend a finding, in the window: what is offered, in which words, a click away."""

from __future__ import annotations

from mend_hand import offers_of, two_pegs
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.ui.mending.offers import Offer, all_title, outcome_words
from geometry.checks.runner import check_layout
from geometry.edits import cut_lines
from geometry.finding import Verdict
from geometry.search.mending.mend import Mend


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


def test_that_a_slide_clears_and_what_of_it_is_for_the_worst_case_is_told_once(mending) -> None:
    of = two_pegs(317.0, 317.0)
    window, search = mending(of.but(settings=of.settings.but(judge="worst case")))
    card = window.findings.cards[0]
    search(card.goal)
    slide = next(o for o in offers_of(card) if o.name.startswith("Slide"))
    assert slide.gives.count("clears") == 1
    assert slide.gives.startswith("5.0 mm would do as drawn, ")
    assert slide.gives.endswith("mm more at worst; clears finding 1; finding 2 stays")
