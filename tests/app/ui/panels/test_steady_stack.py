"""The stack panel keeps its buttons where they are while what it says changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QWidget

from app.ui.units import Unit

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.ui.window import MainWindow

Open = Callable[..., "MainWindow"]


def tops(window: MainWindow) -> list[int]:
    """Return how far down in the panel stand what sets the fans, and the first layer."""
    body = window.stack.settings.parentWidget()
    shown: list[QWidget] = [window.stack.plan_buttons["push"], window.stack.fan, window.stack.rows]
    body.layout().activate()
    return [one.mapTo(body, QPoint(0, 0)).y() for one in shown]


@pytest.mark.parametrize("unit", Unit)
def test_buttons_stay_where_they_are_whatever_is_said(
    open_window: Open, qtbot: QtBot, unit: Unit
) -> None:
    window = open_window()
    window.preferences.unit = unit
    window.session.take_zone("front-zone")
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)
    qtbot.wait(20)
    stack = window.stack
    assert stack._standing.text()
    assert not stack.tolerance.isHidden()
    kept = tops(window)
    stack.set_plan("push")
    assert stack.tolerance.isHidden(), "it is worked out behind"
    qtbot.wait(20)
    assert tops(window) == kept
    for zone in ("floor-zone", "rear-zone"):
        window.session.take_zone(zone)
        qtbot.wait(20)
        assert tops(window) == kept
    assert not stack._standing.text(), "nothing stands out there, and nothing moved"


def test_what_is_cut_is_in_the_tip(open_window: Open, qtbot: QtBot) -> None:
    window = open_window()
    window.session.take_zone("front-zone")
    qtbot.wait(20)
    line = window.stack._standing
    (shown,) = line.shown_lines
    assert shown.endswith("…")
    assert line.text().startswith(shown[:-1])
    assert line.tip == line.text()
    line.setText("short")
    assert (line.shown_lines, line.tip) == (["short"], "")
    line.setToolTip("why")
    assert line.tip == "why"
