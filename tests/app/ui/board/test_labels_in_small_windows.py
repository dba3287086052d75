"""No label of a fitted board covers another one or is cut off, however small the window is."""

from __future__ import annotations

from itertools import combinations

import pytest
from PySide6.QtCore import QPointF, QSize
from PySide6.QtWidgets import QApplication

from app.drawing.fontmetrics import text_width_mm
from app.drawing.primitives import Bounds, Text
from app.drawing.silhouettes import inside, overlaps
from app.drawing.verdict_words import note_text
from app.ui.board.hits import tip_at
from app.ui.window import MainWindow

ACROSS = {"left": 0.0, "middle": -0.5, "right": -1.0}
UP = {"top": 0.0, "middle": -0.5, "base": -1.0}


def box_of(text: Text) -> Bounds:
    """The rectangle from the base line to the top of capitals of a text, level or upright."""
    wide, tall = text_width_mm(text.text, text.height_mm, bold=text.bold), text.height_mm
    along, across = ACROSS[text.across] * wide, UP[text.up] * tall
    x, y = text.at
    if text.angle_deg == 0.0:
        return (x + along, y + across, x + along + wide, y + across + tall)
    return (x + across, y - along - wide, x + across + tall, y - along)


def test_a_tip_tells_what_there_is_no_room_for(open_window, qtbot) -> None:
    window = open_window()
    window.setMinimumSize(QSize(300, 200))
    window.resize(790, 500)
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)
    qtbot.wait(100)
    picture, checked = window.board.picture, window.session.checked
    assert "finding:1" in picture.items.shown_keys()
    assert not [text for key, text, _ in labels(window) if key == "finding:1" and text != "1"]
    finding = window.session.balloons[0]
    ring = picture.items.rect("finding:1")
    spots = [
        ring.topLeft() + QPointF(ring.width() * x / 20, ring.height() * y / 20)
        for x in range(21)
        for y in range(21)
    ]
    tips = {tip_at(picture.items, checked, spot, window.board.owners_at(spot)) for spot in spots}
    note = f"1: {finding.title}\n{note_text(finding)}, in mm"
    assert any(tip.startswith(note) for tip in tips)
    at = picture.items.rect("solid:side:F1").center()
    assert "leftover depth 1.5 tight, in mm" in tip_at(picture.items, checked, at, ["F1"])


def labels(window: MainWindow) -> list[tuple[str, str, Bounds]]:
    return [
        (group.key, one.text, box_of(one))
        for group in window.board.picture.drawing.groups
        for one in group.primitives
        if isinstance(one, Text)
    ]


@pytest.mark.parametrize("with_fits", [False, True], ids=["", "what fits"])
@pytest.mark.parametrize("size", [(1024, 640), (800, 500), (512, 320)], ids=str)
def test_labels_keep_off_each_other_and_within_what_is_seen(
    open_window, qtbot, size: tuple[int, int], with_fits: bool
) -> None:
    window = open_window()
    window.setMinimumSize(QSize(300, 200))
    window.resize(*size)
    if size[0] < 700:
        window._share_width()
    if with_fits:
        window.fits.open()
    qtbot.waitUntil(lambda: not window.session.looking, timeout=20_000)
    QApplication.processEvents()
    qtbot.wait(100)
    for selected in (None, "F1"):
        window.session.select(selected)
        seen = window.board.seen
        port = (seen.left(), seen.top(), seen.right(), seen.bottom())
        shown = labels(window)
        assert [key for key, _, _ in shown if key.startswith("overall:")]
        assert {text for key, text, _ in shown if key.startswith("finding:")} >= {"1", "2"}
        for (key, text, box), (other_key, other_text, other) in combinations(shown, 2):
            assert not overlaps(box, other), (key, text, other_key, other_text)
        for key, text, box in shown:
            assert inside(box, port), (key, text)
