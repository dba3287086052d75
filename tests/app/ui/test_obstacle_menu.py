"""A right click on an obstacle offers its states, each as one step."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QApplication, QMenu


def menu_over(window, me, world: tuple[float, float, float]) -> QMenu:
    at = me.at(world)
    port = window.board.viewport()
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, port.mapToGlobal(at))
    window.board.contextMenuEvent(event)
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, QMenu)
    return menu


def test_the_states_of_an_obstacle_are_offered_where_it_is_clicked(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    # Over the exchanger on the floor, in the side view.
    menu = menu_over(window, me, (350.0, 180.0, 70.0))
    assert window.session.selected == "drive-cage"
    texts = [action.text() for action in menu.actions()]
    states = ["in place", "moved to the rear", "taken out"]
    assert texts[:4] == ["Where drive cage is:", *states]
    by_text = {action.text(): action for action in menu.actions()}
    assert [by_text[text].isChecked() for text in states] == [True, False, False]
    by_text["moved to the rear"].trigger()
    assert window.session.document.layout.states == {"drive-cage": "rear"}
    assert window.session.document.undo_name == "drive cage: moved to the rear"
    menu.close()
    window.session.undo()
    assert not window.session.document.layout.states


@pytest.mark.parametrize("owner", ["supply", "E1"])
def test_what_has_no_states_is_offered_none(open_window, hand, owner: str) -> None:
    window = open_window()
    window.session.select(owner)
    window.board.menu_wanted.emit(window.mapToGlobal(window.rect().center()))
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, QMenu)
    assert not any("Where" in action.text() for action in menu.actions())
    menu.close()
