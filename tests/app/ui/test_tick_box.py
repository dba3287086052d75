"""Boxes to tick: yes, no and some of it are told apart at a glance, by shape and not by shade."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import (
    QApplication,
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyleOptionButton,
    QWidget,
)

from app.ui.style import DARK, LIGHT, palette, style_sheet
from app.ui.tick_box import TickBox, TickDelegate

STATES = (Qt.CheckState.Unchecked, Qt.CheckState.PartiallyChecked, Qt.CheckState.Checked)


@pytest.fixture(params=[LIGHT, DARK], ids=lambda c: c.name)
def chrome(request, qapp):
    before = qapp.palette(), qapp.styleSheet()
    qapp.setPalette(palette(request.param))
    qapp.setStyleSheet(style_sheet(request.param))
    yield request.param
    qapp.setPalette(before[0])
    qapp.setStyleSheet(before[1])


def inked(image: QImage, box: QRect, ink: str) -> list[tuple[int, int]]:
    """Return which places of a box, from its corner, are nearer to a colour than to its ground."""
    ground = image.pixelColor(box.left() + 2, box.top() + 2)
    return [
        (x - box.left(), y - box.top())
        for x in range(box.left() + 2, box.right() - 1)
        for y in range(box.top() + 2, box.bottom() - 1)
        if _far(image.pixelColor(x, y), QColor(ink)) < _far(image.pixelColor(x, y), ground)
    ]


def _far(one: QColor, other: QColor) -> int:
    pairs = zip(one.getRgb()[:3], other.getRgb()[:3], strict=True)
    return sum(abs(a - b) for a, b in pairs)


def height(places: list[tuple[int, int]]) -> int:
    """Return over how many rows places are spread."""
    return len({y for _, y in places})


@pytest.mark.parametrize("on", [True, False], ids=["on", "off"])
def test_a_box_holds_nothing_a_dash_or_a_tick(qtbot, chrome, on: bool) -> None:
    ink = chrome.on_accent if on else chrome.faint
    marks = []
    for state in STATES:
        box = TickBox("No cutting")
        qtbot.addWidget(box)
        box.setTristate(True)
        box.setCheckState(state)
        box.setEnabled(on)
        box.resize(box.sizeHint())
        option = QStyleOptionButton()
        box.initStyleOption(option)
        where = QStyle.SubElement.SE_CheckBoxIndicator
        place = box.style().subElementRect(where, option, box)
        marks.append(inked(box.grab().toImage(), place, ink))
    nothing, dash, tick = marks
    assert nothing == []
    assert 1 <= height(dash) <= 3
    assert height(tick) >= 5
    # A tick is bent: its lowest place is neither at its left end nor at its right.
    lowest = max(tick, key=lambda place: place[1])[0]
    assert min(x for x, _ in tick) + 2 <= lowest <= max(x for x, _ in tick) - 3


def test_rows_of_a_list_have_the_same_marks(qtbot, chrome) -> None:
    rows = QListWidget()
    qtbot.addWidget(rows)
    rows.setItemDelegate(TickDelegate(rows))
    for state in STATES:
        item = QListWidgetItem("part")
        item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
        item.setCheckState(state)
        rows.addItem(item)
    rows.resize(200, 160)
    rows.show()
    image = rows.viewport().grab().toImage()
    marks = []
    for k, state in enumerate(STATES):
        row = rows.visualItemRect(rows.item(k))
        # The box stands at the left of its row, as high as wide.
        side = 15
        top = row.center().y() - side // 2
        left = next(
            x for x in range(40)
            if _far(image.pixelColor(x, row.center().y()), QColor(chrome.panel)) > 30
        )  # fmt: skip
        box = QRect(left, top, side, side)
        marks.append([] if state is STATES[0] else inked(image, box, chrome.on_accent))
    assert height(marks[1]) <= 3 < 5 <= height(marks[2])


def test_the_keyboard_is_seen_at_a_ticked_box_too(qtbot, chrome) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    first, box = TickBox("one", window), TickBox("other", window)
    box.move(0, 40)
    box.setChecked(True)
    window.show()
    window.activateWindow()
    first.setFocus()
    qtbot.waitUntil(first.hasFocus)
    before = box.grab().toImage()
    box.setFocus(Qt.FocusReason.TabFocusReason)
    QApplication.processEvents()
    after = box.grab().toImage()
    top = [after.pixelColor(x, 0) for x in range(6, after.width() - 6)]
    assert all(_far(colour, QColor(chrome.accent)) < 30 for colour in top)
    assert all(before.pixelColor(x, 0) != top[x - 6] for x in range(6, after.width() - 6))
