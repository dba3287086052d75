"""Rows of a search for elsewhere: as text for the clipboard, and the files that are asked for."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import QWidget

from app.ui.file_dialog import ask_for_file
from app.ui.search.rows import COLUMNS, TEXT, cell_text, head_text, left_lines, worst_lines
from app.ui.units import Unit
from geometry.search.summary import RowSummary


def rows_text(rows: Sequence[RowSummary], unit: Unit) -> str:
    """Return rows as lines with tabs between the columns, as tables take them; heads first."""
    columns = [column for column in COLUMNS if column != TEXT]
    heads = ["Row", *(head_text(c, unit).replace("\n", " ") for c in columns), "Pattern", "Holds"]
    heads += ["Left at worst", "What is tight at worst"]
    lines = ["\t".join(heads)]
    for row in rows:
        figures = (cell_text(row, column, unit) for column in columns)
        limits = ("; ".join(left_lines(row, unit)), " | ".join(worst_lines(row)))
        told = (row.pattern, cell_text(row, TEXT, unit), *limits)
        lines.append("\t".join((str(row.number), *figures, *told)))
    return "\n".join(lines)


class SearchDialogs:
    """The system's file dialogs; tests put another in their place."""

    def __init__(self, parent: QWidget) -> None:
        self._parent = parent

    def to_csv(self, proposed: Path) -> Path | None:
        """Ask where to save rows."""
        return self._asked("Save rows", proposed, "Tables (*.csv);;All files (*)", ".csv")

    def to_layout(self, proposed: Path) -> Path | None:
        """Ask where to save a row as a layout."""
        return self._asked("Save row as layout", proposed, "Layouts (*.json)", ".json")

    def _asked(self, title: str, proposed: Path, kinds: str, ending: str) -> Path | None:
        name = ask_for_file(self._parent, title, proposed, kinds, ending)
        return Path(name) if name else None
