"""Every control says what it is: a name for those who hear it, a tip for those who see it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QColor
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QCheckBox,
    QComboBox,
    QLineEdit,
    QListWidget,
    QPushButton,
    QScrollArea,
    QTabBar,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.ui.actions import SPECS
from app.ui.export.dialog import ExportDialog
from app.ui.new_dialog import NewDialog
from app.ui.style import DARK, LIGHT, style_sheet

INNER = (QAbstractSpinBox, QComboBox, QLineEdit, QTabBar)
"""What holds controls of its own that Qt has made."""


def controls(root: QWidget) -> list[QWidget]:
    """Return what is typed, chosen or pressed in, but for what Qt puts into these."""
    kinds = (QAbstractButton, QComboBox, QLineEdit, QAbstractSpinBox)
    return [
        one
        for kind in kinds
        for one in root.findChildren(kind)
        if not isinstance(one.parentWidget(), INNER)
    ]


def unsaid(root: QWidget) -> list[str]:
    """Return the controls without words, and those without a tip whose words are not on them."""
    out = []
    for one in controls(root):
        text = one.text() if isinstance(one, QAbstractButton) else ""
        if not (one.accessibleName() or text):
            out.append(f"no name: {one!r}")
        if not (one.toolTip() or text):
            out.append(f"no tip: {one.accessibleName()}")
    return out


def stops_unseen(root: QWidget) -> list[QScrollArea]:
    """Return scroll areas at which the keyboard stops without a mark that it is there."""
    areas = root.findChildren(QScrollArea)
    return [one for one in areas if one.focusPolicy() & Qt.FocusPolicy.TabFocus]


@pytest.mark.parametrize("selected", ["E1", "R1", None])
def test_every_control_of_the_panels_has_a_name_and_a_tip(open_window, selected) -> None:
    window = open_window()
    window.session.select(selected)
    QApplication.processEvents()
    for panel in (window.parts, window.right):
        assert unsaid(panel) == []
        assert stops_unseen(panel) == []


def test_every_control_of_the_dialogs_has_a_name_and_a_tip(open_window, shipped) -> None:
    window = open_window()
    export = ExportDialog(Path("clearance.png"), parent=window)
    new = NewDialog(tuple(shipped.enclosures.values()), window.skin, window)
    for dialog in (export, new):
        assert unsaid(dialog) == []
        assert stops_unseen(dialog) == []


def test_every_command_and_every_menu_in_a_menu_has_a_tip(open_window) -> None:
    window = open_window()
    inner = [a for menu in window._menus.values() for a in menu.actions() if a.menu() is not None]
    assert len(inner) == 4
    for action in (*inner, *(window.actions_by_name[spec.name] for spec in SPECS)):
        assert isinstance(action, QAction)
        assert action.toolTip() != action.text().replace("&", "").rstrip("…"), action.text()


def marked(widget: QWidget, colour: QColor) -> int:
    """Return how many pixels of a widget have a colour."""
    image = widget.grab().toImage()
    at = ((x, y) for x in range(image.width()) for y in range(image.height()))
    return sum(image.pixelColor(x, y) == colour for x, y in at)


def a_list() -> QListWidget:
    made = QListWidget()
    made.addItems(["first", "second"])
    made.setCurrentRow(0)
    return made


KINDS = {
    "button": lambda: QPushButton("Go"),
    "tool": QToolButton,
    "box": lambda: QCheckBox("Tick"),
    "field": QLineEdit,
    "list": a_list,
}


@pytest.mark.parametrize("chrome", [LIGHT, DARK], ids=lambda c: c.name)
@pytest.mark.parametrize("kind", KINDS)
def test_where_the_keyboard_is_has_a_border_in_the_accent(qtbot, chrome, kind: str) -> None:
    # A border, not the colour of letters alone: at least two rows of it across the widget's mark.
    window = QWidget()
    qtbot.addWidget(window)
    window.setStyleSheet(style_sheet(chrome))
    column = QVBoxLayout(window)
    other, widget = QPushButton("Other"), KINDS[kind]()
    for one in (other, widget):
        column.addWidget(one)
    window.show()
    other.setFocus()
    window.activateWindow()
    qtbot.waitUntil(other.hasFocus)
    accent = QColor(chrome.accent)
    before = marked(widget, accent)
    widget.setFocus(Qt.FocusReason.TabFocusReason)
    assert widget.hasFocus()
    assert marked(widget, accent) >= before + 2 * 9


@pytest.mark.parametrize("chrome", [LIGHT, DARK], ids=lambda c: c.name)
def test_the_chosen_row_of_a_list_is_filled_wherever_the_keyboard_is(qtbot, chrome) -> None:
    shown = a_list()
    qtbot.addWidget(shown)
    shown.setStyleSheet(style_sheet(chrome))
    shown.resize(200, 100)
    shown.show()
    row = shown.visualItemRect(shown.item(0))
    assert marked(shown, QColor(chrome.accent_fill)) > row.width() * row.height() / 2
