"""Anything in any order: no command, click, drag or drop breaks the window, and undo goes back."""

from __future__ import annotations

import random

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.ui.actions import SPECS
from geometry.layout_file import layout_text, parse_layout

ASKING = {"new", "open", "demo", "save", "save_as", "export", "quit", "about", "keys_help",
          "check_help"}  # fmt: skip
COMMANDS = sorted(spec.name for spec in SPECS if spec.name not in ASKING)
MICRO = 0xB5
"""Qt warns of one of the two names of this key, whichever is used."""
KEYS = [
    key for key in Qt.Key if Qt.Key.Key_Space <= key <= Qt.Key.Key_PageDown and key.value != MICRO
]
FEW, MANY = 40, 150


@pytest.mark.parametrize(
    ("seed", "steps"),
    [(1, FEW), *(pytest.param(s, MANY, marks=pytest.mark.nightly) for s in range(2, 12))],
)
def test_any_order_of_commands_keeps_the_window_and_is_undone(
    open_window, hand, shipped, seed: int, steps: int
) -> None:
    window = open_window()
    me = hand(window)
    chance = random.Random(seed)
    start = window.session.document.layout
    parts = sorted(shipped.parts)

    def spot() -> QPoint:
        port = window.board.viewport().rect()
        return QPoint(chance.randrange(port.width()), chance.randrange(port.height()))

    def drop_in() -> None:
        window.parts.search.clear()
        me.take_from_panel(chance.choice(parts))
        for _ in range(3):
            me.carry_to(spot())
        if chance.random() < 0.3:
            me.carry_off()
        else:
            me.drop(spot())

    def select() -> None:
        placed = sorted(window.session.checked.scene.placed)
        window.session.select(chance.choice([*placed, None]))

    def command() -> None:
        window.actions_by_name[chance.choice(COMMANDS)].trigger()

    def key() -> None:
        QTest.keyClick(window.board, chance.choice(KEYS))

    deeds = (
        (5, command),
        (2, select),
        (1, lambda: me.click(spot())),
        (2, lambda: me.drag(spot(), spot())),
        (2, drop_in),
        (1, key),
    )
    weights = [weight for weight, _ in deeds]
    for _ in range(steps):
        ((_, deed),) = chance.choices(deeds, weights)
        deed()
        QApplication.processEvents()
    window.board.cancel_gesture()
    layout = window.session.document.layout
    assert parse_layout(layout_text(layout).encode(), "any.json") == layout
    while window.session.document.can_undo:
        window.session.undo()
    assert window.session.document.layout == start
    assert window.session.checked.scene.layout is window.session.document.layout
