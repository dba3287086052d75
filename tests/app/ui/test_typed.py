"""What is being typed belongs to the layout before a command looks at it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.document.document import Document
from geometry.layout_file import read_layout


@pytest.fixture
def saved(open_window, tmp_path: Path):
    """A window on a saved layout, and its file."""
    window = open_window()
    path = tmp_path / "bench.json"
    window.session.document.save_as(path)
    window.activateWindow()
    return window, path


def type_into(window, field, text: str) -> None:
    for tab in range(window.tabs.count()):
        if window.tabs.widget(tab).isAncestorOf(field):
            window.tabs.setCurrentIndex(tab)
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QApplication.processEvents()


def test_a_number_that_is_being_typed_is_saved(saved, hand) -> None:
    window, path = saved
    type_into(window, window.enclosure.margin, "3.5")
    hand(window).key("Ctrl+S")
    assert read_layout(path).settings.margin_mm == 3.5
    assert not window.session.document.dirty


def test_a_name_that_is_being_typed_is_saved(saved, hand) -> None:
    window, path = saved
    type_into(window, window.enclosure.name, "Another name")
    hand(window).key("Ctrl+S")
    assert read_layout(path).name == "Another name"
    assert not window.session.document.dirty


def test_what_is_being_typed_is_asked_about_before_the_window_closes(saved, monkeypatch) -> None:
    window, _ = saved
    asked = []
    monkeypatch.setattr(
        window.files, "ask_about_changes", lambda *_: asked.append("asked") or "discard"
    )
    type_into(window, window.enclosure.margin, "3.5")
    window.close()
    assert asked == ["asked"]


def test_what_is_being_typed_is_kept_where_the_program_is_ended(saved, monkeypatch) -> None:
    window, _ = saved
    type_into(window, window.enclosure.margin, "3.5")
    kept = []
    monkeypatch.setattr(
        window.recovery, "keep", lambda: kept.append(window.session.layout.settings.margin_mm)
    )
    window.end()
    assert kept == [3.5]


def test_a_command_in_the_middle_of_nothing_typed_changes_nothing(saved, hand) -> None:
    window, _ = saved
    window.enclosure.margin.setFocus()
    document: Document = window.session.document
    hand(window).key("Ctrl+G")
    assert not document.can_undo
