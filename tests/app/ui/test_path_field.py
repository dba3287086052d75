"""Where a sheet goes is told by head and tail, and in full by a tip."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QApplication

from app.ui.export.dialog import ExportDialog

LONG = Path("/lab/shared/projects/field acoustics/2026/field recorder, bench box") / ("a" * 60)


def test_head_and_tail_of_a_long_name_are_seen_and_its_tip_has_all(open_window) -> None:
    dialog = ExportDialog(LONG / "clearance sheet.png", parent=open_window())
    dialog.show()
    QApplication.processEvents()
    field = dialog.file
    assert not field.hasFocus(), "what is not typed in shows both ends"
    head, tail = field.shown_text.split("…")
    assert head.startswith("/lab/shared")
    assert tail.endswith("clearance sheet.png")
    assert str(LONG) in field.toolTip()
    assert "Further sheets get -2" in field.toolTip()
    drawn = field.grab().toImage()
    field.setFocus()
    QApplication.processEvents()
    assert field.grab().toImage() != drawn
    field.setText("short.png")
    assert field.shown_text == "short.png"
    assert field.toolTip().startswith("short.png")
    dialog.close()
