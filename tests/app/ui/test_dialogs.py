"""Dialogs and empty panels: what Enter does, and where things stand with nothing to show."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QHeaderView,
    QLineEdit,
    QMessageBox,
    QPushButton,
    QTreeView,
)

import app.ui.export.dialog
from app.ui.export.dialog import ExportDialog
from app.ui.file_dialog import file_dialog
from app.ui.new_dialog import NewDialog
from app.ui.preferences import Preferences
from app.ui.skin import Skin


@pytest.mark.parametrize("field", ["file", "owner", "status"])
def test_enter_in_a_field_of_the_export_exports(qtbot, monkeypatch, field: str) -> None:
    def never(*_: object) -> str:
        raise AssertionError("nobody asked for a folder")

    monkeypatch.setattr(app.ui.export.dialog, "ask_for_file", never)
    dialog = ExportDialog(Path("clearance.png"))
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(dialog)
    chosen = []
    dialog.chosen.connect(lambda *order: chosen.append(order))
    dialog.show()
    typed = dialog.file if field == "file" else dialog.names[field]
    typed.setFocus()
    QTest.keyClick(typed, Qt.Key.Key_Return)
    assert [order[0] for order in chosen] == [Path("clearance.png")]


def shown_export(qtbot, name: str) -> tuple[ExportDialog, list[Path]]:
    dialog, chosen = ExportDialog(Path("clearance.png")), []
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(dialog)
    dialog.chosen.connect(lambda *order: chosen.append(order[0]))
    dialog.show()
    dialog.file.setText(name)
    return dialog, chosen


@pytest.mark.parametrize("name", ["/", ".", ".."])
def test_a_folder_is_no_file_to_export_to(qtbot, name: str) -> None:
    dialog, chosen = shown_export(qtbot, name)
    dialog.accept()
    assert chosen == []
    assert dialog.told.text() == "This is a folder; type the name of a file in it."


def test_a_home_folder_that_nobody_has_is_a_name(qtbot) -> None:
    dialog, chosen = shown_export(qtbot, "~nobody-of-that-name/sheet")
    dialog.accept()
    assert chosen == [Path("~nobody-of-that-name/sheet.png")]


@pytest.mark.parametrize("ending", [".pdf", ".svg", ".DXF"])
def test_a_name_that_ends_in_another_format_is_not_taken_for_a_picture_of_that_name(
    qtbot, ending: str
) -> None:
    dialog = ExportDialog(Path(f"bench{ending}"))
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(dialog)
    chosen = []
    dialog.chosen.connect(lambda *order: chosen.append(order[0]))
    dialog.show()
    dialog.accept()
    assert chosen == []
    assert dialog.isVisible()
    assert dialog.file.text() == "bench.png"
    assert f"not {ending[1:].upper()}" in dialog.told.text()
    assert dialog.told.isVisible()
    dialog.accept()
    assert chosen == [Path("bench.png")]


def test_a_picture_that_is_there_is_replaced_only_by_who_was_told(qtbot, tmp_path) -> None:
    for name in ("first.png", "second.png"):
        (tmp_path / name).touch()
    dialog, chosen = shown_export(qtbot, str(tmp_path / "first"))
    dialog.accept()
    assert dialog.told.text() == "first.png is there already. Export again to replace it."
    dialog.file.setText(str(tmp_path / "second.png"))
    dialog.accept()
    assert chosen == [], "another file is asked about again"
    dialog.accept()
    assert chosen == [tmp_path / "second.png"]


def test_a_picture_that_was_looked_for_was_asked_about_there(qtbot, monkeypatch, tmp_path) -> None:
    (tmp_path / "there.png").touch()
    found = str(tmp_path / "there.png")
    monkeypatch.setattr(app.ui.export.dialog, "ask_for_file", lambda *_: found)
    dialog, chosen = shown_export(qtbot, "clearance.png")
    next(one for one in dialog.findChildren(QPushButton) if "rowse" in one.text()).click()
    dialog.accept()
    assert chosen == [tmp_path / "there.png"]


@pytest.mark.parametrize("made", ["export", "new"])
def test_the_button_that_enter_presses_is_the_one_that_goes_on(qtbot, shipped, made: str) -> None:
    preferences = Preferences()
    dialogs = {
        "export": lambda: ExportDialog(Path("clearance.png")),
        "new": lambda: NewDialog(tuple(shipped.enclosures.values()), Skin(preferences)),
    }
    dialog = dialogs[made]()
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(dialog)
    dialog.show()
    drawn = [one.text() for one in dialog.findChildren(QPushButton) if one.isDefault()]
    assert drawn == [{"export": "&Export", "new": "&Create"}[made]]


def test_a_search_without_an_answer_leaves_its_field_where_it_was(open_window) -> None:
    window = open_window()
    parts = window.parts
    before = parts.search.geometry(), parts.kind.geometry()
    parts.search.setText("no such part")
    QTest.qWait(1)
    assert not parts.list.isVisible()
    assert (parts.search.geometry(), parts.kind.geometry()) == before


def test_columns_of_the_file_dialog_are_as_wide_as_what_stands_in_them(
    open_window, qtbot, tmp_path: Path
) -> None:
    window = open_window()
    (tmp_path / "field recorder.json").write_text("{}")
    at = tmp_path / "proposed.json"
    dialog = file_dialog(window, "Save layout", at, "Layouts (*.json)", ".json")
    qtbot.addWidget(dialog)
    dialog.show()
    tree = dialog.findChild(QTreeView, "treeView")
    assert tree is not None
    qtbot.waitUntil(lambda: tree.model().rowCount(tree.rootIndex()) > 0)
    assert [Path(name) for name in dialog.selectedFiles()] == [at]
    head = tree.header()
    qtbot.waitUntil(
        lambda: all(
            head.sectionSize(k) >= max(tree.sizeHintForColumn(k), head.sectionSizeHint(k))
            for k in range(1, 4)
        )
    )
    assert head.sectionResizeMode(0) is QHeaderView.ResizeMode.Stretch
    assert head.sectionSize(0) > 200


@pytest.mark.parametrize("typed", ["kept", "kept.json"])
def test_a_file_is_not_replaced_unasked_by_a_name_without_its_ending(
    open_window, qtbot, tmp_path: Path, typed: str
) -> None:
    kept = tmp_path / "kept.json"
    kept.write_text("{}")
    at = tmp_path / "proposed.json"
    dialog = file_dialog(open_window(), "Save layout", at, "Layouts (*.json)", ".json")
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.findChild(QLineEdit, "fileNameEdit").setText(typed)
    asked: list[str] = []

    def refuse() -> None:
        box = QApplication.activeModalWidget()
        if isinstance(box, QMessageBox):
            asked.append(box.text())
            box.reject()

    QTimer.singleShot(0, refuse)
    dialog.accept()
    assert [text.partition(" ")[0] for text in asked] == ["kept.json"]
    assert dialog.isVisible()
    assert [Path(name) for name in dialog.selectedFiles()] == [kept]
