"""The whole window by keyboard: no test here touches the mouse."""

from __future__ import annotations

import re
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLabel, QLineEdit

from app.ui.actions import CONTEXT_MENU, MENUS, SPECS, TOOLBAR
from geometry.layout import Layout


def empty_bench(shipped) -> Layout:
    return Layout(name="Empty bench box", enclosure=shipped.enclosure("bench-box"))


def test_a_cooled_box_is_planned_and_saved_without_a_mouse(
    open_window, hand, shipped, tmp_path: Path
) -> None:
    window = open_window(empty_bench(shipped))
    me = hand(window)
    # Find a part and place it on the front bracket.
    me.key("Ctrl+F")
    assert QApplication.focusWidget() is window.parts.search
    me.type("exchanger 2x120 30")
    me.key("Down")
    assert window.parts.list.hasFocus()
    window.parts.list.choose("exchanger-2x120-30")
    me.key("Return")
    assert window.board.hasFocus()
    assert window.session.trying
    while "front bracket" not in window.board.gesture.note:
        me.key("Right")
    assert "Enter drops" in window.notice.text
    me.key("Return")
    assert not window.session.trying
    layout = window.session.document.layout
    assert [stack.zone for stack in layout.stacks] == ["front-zone"]
    # Flip it, take it back, lock it, and try in vain to delete it.
    me.key("F")
    assert window.session.document.undo_name.startswith("Flip port end of Exchanger ")
    me.key("Ctrl+Z")
    me.key("L")
    me.key("Delete")
    assert len(window.session.document.layout.stacks) == 1
    me.key("L")
    # Slide it by 3 mm, duplicate it, delete the copy.
    for _ in range(3):
        me.key("Up")
    assert window.session.document.layout.stacks[0].slide_u_mm == 3.0
    me.key("Ctrl+D")
    assert len(window.session.document.layout.stacks[0].inner) == 2
    me.key("Delete")
    assert len(window.session.document.layout.stacks[0].inner) == 1
    # Save.
    window.files.dialogs.to_save = lambda _: tmp_path / "by-keys.json"
    me.key("Ctrl+S")
    assert (tmp_path / "by-keys.json").is_file()


def test_esc_leaves_placing_by_keys_without_a_trace(open_window, hand, shipped) -> None:
    window = open_window(empty_bench(shipped))
    me = hand(window)
    before = window.session.document.layout
    window.board.place_by_keys(shipped.part("fan-120-25"))
    me.key("Right")
    me.key("R")
    me.key("Escape")
    assert window.session.document.layout is before
    assert not window.session.trying
    assert window.notice.text == ""


def test_a_stacked_part_is_lifted_out_and_dropped_in_elsewhere(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    me.focus_board()
    window.session.select("P1")
    me.key("O")
    assert "P1" in [free.id for free in window.session.document.layout.free]
    me.key("I")
    assert window.session.trying
    me.key("Return")
    assert "P1" not in [free.id for free in window.session.document.layout.free]
    assert (
        window.session.document.undo_name == "Move Pump, compact body 60 x 60 x 40 on a 120 plate"
    )


def test_thickness_air_and_turns_by_key(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    me.focus_board()
    window.session.select("F1")
    me.key("A")
    assert window.session.checked.scene.placed["F1"].use.air == "against"
    me.key("N")
    assert window.session.checked.scene.placed["F1"].part.thickness_mm == 20
    me.key("K")
    assert window.session.checked.scene.placed["F1"].part.thickness_mm == 25
    me.key("R")
    assert window.session.checked.scene.placed["F1"].use.turn == 1
    window.session.select("E1")
    me.key("T")
    assert window.session.checked.scene.placed["E1"].use.turned_over


def test_findings_are_walked_and_mended_by_key(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    me.key("F8")
    assert window.session.selected in window.session.balloons[0].ids
    blocked = window.session.checked.report.blocked
    me.wait_for_remedies()
    me.key("Ctrl+F8")
    assert window.session.checked.report.blocked == blocked - 1
    me.key("Ctrl+Z")
    count = len(window.session.balloons)
    me.key("F8")
    assert window.views.finding == 1 % count
    me.key("Shift+F8")
    assert window.views.finding == 0


def test_f6_goes_through_the_panes(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    me.focus_board()
    me.key("F6")
    assert window.tabs.tabBar().hasFocus()
    me.key("F6")
    assert window.findings.cards[0].hasFocus()
    me.key("F6")
    assert window.parts.search.hasFocus()
    me.key("Shift+F6")
    assert window.findings.cards[0].hasFocus()


def test_tab_reaches_every_field_and_button_that_shows(open_window) -> None:
    window = open_window()
    kinds = (QAbstractButton, QComboBox, QLineEdit)
    for tab in range(window.tabs.count()):
        window.tabs.setCurrentIndex(tab)
        QApplication.processEvents()
        panel = window.tabs.widget(tab)
        wanted = {
            w
            for kind in kinds
            for w in panel.findChildren(kind)
            if w.isVisible() and w.isEnabled() and w.focusPolicy() & Qt.FocusPolicy.TabFocus
        }
        window.tabs.tabBar().setFocus()
        reached = set()
        for _ in range(120):
            QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
            reached.add(QApplication.focusWidget())
            if window.findings.isAncestorOf(QApplication.focusWidget()):
                break
        missing = {
            w.accessibleName() or w.objectName() or type(w).__name__ for w in wanted - reached
        }
        # Line edits inside spin boxes are reached as their spin box.
        assert {m for m in missing if m not in ("qt_spinbox_lineedit",)} == set(), missing


def test_no_key_is_given_twice_and_every_command_is_in_a_menu() -> None:
    keys = [QKeySequence(key).toString() for spec in SPECS for key in spec.keys]
    assert len(keys) == len(set(keys))
    in_menus = {name for names in MENUS.values() for name in names}
    assert {spec.name for spec in SPECS} <= in_menus
    assert set(CONTEXT_MENU) | set(TOOLBAR) <= {spec.name for spec in SPECS} | {"-"}
    for spec in SPECS:
        if spec.name in CONTEXT_MENU:
            assert spec.keys, f"{spec.name} has no key"


def test_mnemonics_of_a_menu_differ(open_window) -> None:
    window = open_window()
    texts = {spec.name: spec.text for spec in SPECS}
    for title, names in MENUS.items():
        letters = [
            re.search(r"&(\w)", texts[name]).group(1).lower()
            for name in names
            if name in texts and "&" in texts[name]
        ]
        doubled = {letter for letter in letters if letters.count(letter) > 1}
        assert not doubled, (title, doubled)
    assert window.menuBar().actions()


def test_no_letter_of_the_window_is_given_twice(open_window) -> None:
    window = open_window()
    window.actions_by_name["what_fits"].trigger()
    texts = [menu.text() for menu in window.menuBar().actions()]
    texts += [button.text() for button in window.findChildren(QAbstractButton)]
    texts += [label.text() for label in window.findChildren(QLabel) if label.buddy() is not None]
    texts.append("Begin ane&w")
    letters: dict[str, set[str]] = {}
    for text in texts:
        if letter := QKeySequence.mnemonic(text).toString():
            letters.setdefault(letter, set()).add(text)
    assert "&On sheet…" in letters["Alt+O"]
    doubled = {letter: words for letter, words in letters.items() if len(words) > 1}
    assert not doubled
