"""Asks for a file: by the system's dialog, or by Qt's with columns that are not cut."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QDialog, QFileDialog, QHeaderView, QTreeView, QWidget

SIZE = QSize(820, 520)
"""So large Qt's own dialog opens: its names are whole beside size, kind and date."""


def file_dialog(
    parent: QWidget, title: str, at: Path, kinds: str, ending: str | None = None
) -> QFileDialog:
    """Return a dialog that asks for a file; `at` is the file proposed, or the folder to begin in.

    `kinds` are filters as Qt writes them: "Layouts (*.json);;All files (*)". With an `ending` the
    file is one to save, and a name that has none gets it: what it would replace is asked about.
    """
    folder, name = (at, "") if at.is_dir() else (at.parent, at.name)
    dialog = QFileDialog(parent, title, str(folder), kinds)
    if ending is None:
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
    else:
        dialog.setFileMode(QFileDialog.FileMode.AnyFile)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(ending)
    dialog.selectFile(name)
    tree = dialog.findChild(QTreeView, "treeView")
    if tree is not None:
        # A dialog of the system has none. Qt's measures its columns without our padding.
        head = tree.header()
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        head.setStretchLastSection(False)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        dialog.resize(SIZE)
    return dialog


def ask_for_file(
    parent: QWidget, title: str, at: Path, kinds: str, ending: str | None = None
) -> str:
    """Ask for a file as `file_dialog` does; return its path, empty where none was chosen."""
    dialog = file_dialog(parent, title, at, kinds, ending)
    chosen = dialog.exec() == QDialog.DialogCode.Accepted
    names = dialog.selectedFiles()
    dialog.deleteLater()
    return names[0] if chosen and names else ""
