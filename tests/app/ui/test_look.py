"""How the window looks: nothing clipped at the least size, contrast, units, icons, rulers."""

from __future__ import annotations

import gc

import pytest
from colour_contrast import contrast
from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QFontMetrics, QIcon
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QPushButton, QWidget

from app.drawing.axes import AxisSpan
from app.ui import icons
from app.ui.icons import NAMES, icon
from app.ui.style import DARK, LIGHT
from app.ui.units import Unit, figure_text, length_text, tick_steps


@pytest.mark.parametrize("chrome", [LIGHT, DARK], ids=["light", "dark"])
def test_text_and_controls_meet_the_contrast_of_wcag_2_2(chrome) -> None:
    # WCAG 2.2: 4.5:1 for text (1.4.3), 3:1 for parts of controls (1.4.11).
    for ground in (chrome.panel, chrome.field, chrome.accent_fill):
        for ink in (chrome.text, chrome.muted, chrome.accent):
            assert contrast(ink, ground) >= 4.5, (ink, ground)
    for ground in (chrome.panel, chrome.field):
        for ink in (chrome.blocked, chrome.tight, chrome.clear):
            assert contrast(ink, ground) >= 4.5, (ink, ground)
        assert contrast(chrome.control, ground) >= 3.0
    assert contrast(chrome.on_accent, chrome.accent) >= 4.5
    for fill in (chrome.error_fill, chrome.done_fill):
        assert contrast(chrome.text, fill) >= 4.5


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("tab", range(4))
def test_nothing_is_clipped_at_the_least_size(open_window, theme: str, tab: int) -> None:
    window = open_window(size=(1024, 640), theme=theme)
    assert window.size() == QSize(1024, 640)
    window.session.select("E1")
    window.tabs.setCurrentIndex(tab)
    QApplication.processEvents()
    for panel in (window.parts, window.tabs.currentWidget(), window.findings, window.statusBar()):
        too_wide = [
            _named(widget)
            for widget in panel.findChildren(QWidget)
            if widget.isVisible() and isinstance(widget, QLabel | QAbstractButton)
            if _right_edge(widget, panel) > panel.width()
        ]
        assert too_wide == []
    for button in window.findChildren(QPushButton):
        if button.isVisible() and button.text():
            text = button.text().replace("&", "")
            assert QFontMetrics(button.font()).horizontalAdvance(text) <= button.width(), text


def _right_edge(widget: QWidget, panel: QWidget) -> int:
    return widget.mapTo(panel, widget.rect().topRight()).x()


def _named(widget: QWidget) -> str:
    text = getattr(widget, "text", lambda: "")()
    return f"{type(widget).__name__} {widget.objectName()} {text!r}"


def test_colours_follow_the_preference_while_running(open_window) -> None:
    window = open_window()
    assert window.skin.chrome is LIGHT
    window.preferences.theme = "dark"
    assert window.skin.chrome is DARK
    picture = window.grab().toImage()
    middle = picture.pixelColor(window.parts.mapTo(window, window.parts.rect().bottomLeft()))
    assert middle.lightnessF() < 0.4


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
def test_every_icon_is_drawn_in_the_colour_and_size_asked_for(qapp, ratio: float) -> None:
    for name in NAMES:
        made = icon(name, QColor("#ff0000"), QColor("#0000ff"))
        for mode, colour in ((QIcon.Mode.Normal, "#ff0000"), (QIcon.Mode.Disabled, "#0000ff")):
            image = made.pixmap(QSize(20, 20), ratio, mode).toImage()
            assert image.width() == image.height() == 20 * ratio
            inks = {
                image.pixelColor(x, y).name()
                for x in range(image.width())
                for y in range(image.height())
                if image.pixelColor(x, y).alpha() > 100
            }
            assert inks == {colour}, (name, mode)


def test_a_copy_of_an_icon_that_is_changed_paints_on_and_nothing_of_it_is_kept(qapp) -> None:
    made = icon("undo", QColor("#ff0000"), QColor("#0000ff"))
    drawn = made.pixmap(QSize(20, 20)).toImage()
    for _ in range(3):
        copy = QIcon(made)
        copy.setIsMask(True)
        gc.collect()
        assert copy.pixmap(QSize(20, 20)).toImage() == drawn
        del copy
    # One more clears those that Qt has deleted.
    copy = QIcon(made)
    copy.setIsMask(True)
    assert len(icons._cloned) == 1


def test_an_icon_without_height_or_width_paints_nothing_and_says_nothing(qapp, qtlog) -> None:
    made = icon("up", QColor("#ff0000"), QColor("#0000ff"))
    for size in (QSize(0, 0), QSize(0, 16), QSize(16, 0)):
        assert made.pixmap(size).isNull()
    assert [record.message for record in qtlog.records] == []


def test_an_icon_that_there_is_not_is_refused() -> None:
    with pytest.raises(KeyError, match="nonsense"):
        icon("nonsense", QColor("#ff0000"), QColor("#0000ff"))


def test_lengths_in_both_units() -> None:
    assert length_text(12.5, Unit.MM) == "12.5 mm"
    # 12.7 mm are half an inch exactly.
    assert length_text(12.7, Unit.INCH) == "0.500 in"
    assert figure_text(-0.04, Unit.MM) == "0.0"
    assert figure_text(-3.21, Unit.MM) == "−3.2"
    assert figure_text(3.0, Unit.MM, signed=True) == "+3.0"
    assert length_text(float("inf"), Unit.MM) == "open"


def test_ruler_labels_stand_apart_at_every_scale() -> None:
    for unit in Unit:
        for px_per_mm in (0.11, 0.3, 1.0, 2.7, 10.0, 55.0):
            steps = tick_steps(1 / px_per_mm, unit)
            assert steps.label_mm * px_per_mm >= 56.0


def test_ruler_steps_count_from_the_origin_in_the_axis_direction() -> None:
    # Down the page in the side view z grows upwards: zero at 100 on the board, sign -1.
    span = AxisSpan("z", 0.0, 200.0, 100.0, -1)
    assert list(span.lines(80.0, 130.0, 10.0)) == [
        (-3, 130.0),
        (-2, 120.0),
        (-1, 110.0),
        (0, 100.0),
        (1, 90.0),
        (2, 80.0),
    ]
