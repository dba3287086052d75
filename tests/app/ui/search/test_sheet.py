"""What fits goes on the clearance sheet, asked for in the window."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import small_rooms as make
from search_hand import answer_of, choose_parts

from app.ui.export.dialog import ExportDialog
from app.ui.search.worker import SearchOrder, tellings
from geometry.layout import Layout
from geometry.search.wishes import Wishes, wishes_from

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytestqt.qtbot import QtBot

    from app.ui.window import MainWindow

FAN = make.fan(25.0)
PARTS = (FAN, make.exchanger(1, 30.0))


def one_zone() -> Layout:
    """A zone for one fan on the front wall."""
    zones = (make.zone("front-zone", "front", (200.0, 20.0, 20.0), "+z", "+y", make.row(1)),)
    return make.layout(make.room((200.0, 180.0, 200.0), zones=zones), PARTS, [])


@pytest.fixture
def searched(open_window: Callable[..., MainWindow], monkeypatch: pytest.MonkeyPatch) -> MainWindow:
    """A window in which a search has ended, whose words were worked out in this process."""
    window = open_window(one_zone())
    window.fits.open()
    assert window.fits.dock is not None
    panel = window.fits.dock.panel
    wishes = wishes_from(PARTS, Wishes(slide_steps=1, zones=("front-zone",)))
    order = SearchOrder(one_zone(), wishes, ("area", "leftover"), 20.0)
    monkeypatch.setattr(panel.setup, "order", lambda: order)
    monkeypatch.setattr(panel.job, "start", lambda _: None)
    choose_parts(panel.setup.parts, "all")
    panel.search()
    for one in tellings(order):
        panel.job.told.emit(one)
    panel.job.finished.emit()
    return window


def test_without_a_search_there_is_nothing_to_add(open_window: Callable[..., MainWindow]) -> None:
    window = open_window(one_zone())
    window.files.export()
    dialog = window.findChild(ExportDialog)
    assert not dialog.with_fits.isEnabled()
    assert not dialog.with_fits.isChecked()
    assert "Search what fits first" in dialog.with_fits.toolTip()


def test_the_button_under_the_rows_exports_the_sheet_with_the_answer(
    searched: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    panel = searched.fits.dock.panel
    panel.results.sheet.click()
    dialog = searched.findChild(ExportDialog)
    assert dialog.with_fits.isChecked()
    out = tmp_path / "sheet.png"
    dialog.file.setText(str(out))
    dialog.dpi.setCurrentIndex(dialog.dpi.findData(150))
    dialog.accept()
    qtbot.waitUntil(lambda: "Clearance sheet saved" in searched.notice.text, timeout=60_000)
    with_answer = sorted(path.name for path in tmp_path.glob("sheet*.png"))
    assert len(with_answer) >= 2
    assert with_answer[-1] in searched.notice.text


def test_the_menu_offers_the_answer_but_does_not_add_it_unasked(searched: MainWindow) -> None:
    searched.files.export()
    dialog = searched.findChild(ExportDialog)
    assert dialog.with_fits.isEnabled()
    assert not dialog.with_fits.isChecked()


def test_the_answer_for_the_sheet_is_what_the_panel_shows(searched: MainWindow) -> None:
    panel = searched.fits.dock.panel
    fits = searched.fits.fits()
    assert fits is not None
    assert fits.rows == panel.rows
    assert fits.answer is answer_of(panel)
    assert fits.layout == one_zone()
    panel.forget()
    assert searched.fits.fits() is None
