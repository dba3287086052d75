"""The keys of the window's commands do what the menu says, whatever field has the keyboard."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QLineEdit

CONTROL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


class GreedyField(QLineEdit):
    """Takes every key for itself, as fields of text take some on some systems."""

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)


def takes(field: QLineEdit, key: Qt.Key, modifiers: Qt.KeyboardModifier) -> bool:
    """Whether a field takes a key that a command of the window has too."""
    event = QKeyEvent(QEvent.Type.ShortcutOverride, key, modifiers)
    event.ignore()
    QApplication.sendEvent(field, event)
    return event.isAccepted()


@pytest.fixture
def field(open_window, qtbot) -> QLineEdit:
    window = open_window()
    field = GreedyField(window.parts)
    field.show()
    field.setFocus()
    qtbot.waitUntil(field.hasFocus)
    return field


@pytest.mark.parametrize(
    ("key", "modifiers"),
    [
        (Qt.Key.Key_E, CONTROL),
        (Qt.Key.Key_F, CONTROL),
        (Qt.Key.Key_N, CONTROL),
        (Qt.Key.Key_E, CONTROL | SHIFT),
        (Qt.Key.Key_D, CONTROL | SHIFT),
    ],
)
def test_a_command_of_the_window_goes_before_a_field_of_text(field, key, modifiers) -> None:
    assert not takes(field, key, modifiers)


@pytest.mark.parametrize(
    ("key", "modifiers"),
    [
        (Qt.Key.Key_C, CONTROL),
        (Qt.Key.Key_V, CONTROL),
        (Qt.Key.Key_Z, CONTROL),
        (Qt.Key.Key_Home, Qt.KeyboardModifier.NoModifier),
        (Qt.Key.Key_R, Qt.KeyboardModifier.NoModifier),
    ],
)
def test_what_edits_text_stays_with_the_field(field, key, modifiers) -> None:
    assert takes(field, key, modifiers)


def test_a_field_that_had_the_keyboard_before_fields_are_watched_is_watched_too(
    open_window, qtbot
) -> None:
    window = open_window()
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    app.focusChanged.disconnect(window._window_keys._follow)
    field = GreedyField(window.parts)
    field.show()
    field.setFocus()
    qtbot.waitUntil(field.hasFocus)
    assert takes(field, Qt.Key.Key_E, CONTROL)
    window._watch_fields()
    assert not takes(field, Qt.Key.Key_E, CONTROL)
