"""Rows of a search for elsewhere: as CSV, as text for the clipboard, as a layout file."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from app.ui.search.rows import COLUMNS, TEXT, cell_text, head_text
from app.ui.units import Unit
from geometry.search.answers import MEASURES
from geometry.search.rows_csv import csv_figure
from geometry.search.summary import RowSummary


def rows_csv(rows: Sequence[RowSummary]) -> str:
    """Return rows as CSV (RFC 4180), a head line first; lengths in mm, an open one as "open"."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    heads = [f"{m.key}_{m.unit}".rstrip("_") for m in MEASURES.values()]
    zones = [zone.zone for zone in rows[0].zones] if rows else []
    writer.writerow(["number", *heads, "tight_at_worst", "like_it", "pattern", *zones])
    for row in rows:
        figures = [csv_figure(row.figures[key]) for key in MEASURES]
        held = [zone.short for zone in row.zones]
        writer.writerow([row.number, *figures, row.tight_at_worst, row.alike, row.pattern, *held])
    return out.getvalue()


def rows_text(rows: Sequence[RowSummary], unit: Unit) -> str:
    """Return rows as lines with tabs between the columns, as tables take them; heads first."""
    columns = [column for column in COLUMNS if column != TEXT]
    heads = ["Row", *(head_text(c, unit).replace("\n", " ") for c in columns), "Pattern", "Holds"]
    lines = ["\t".join(heads)]
    for row in rows:
        figures = (cell_text(row, column, unit) for column in columns)
        lines.append(
            "\t".join((str(row.number), *figures, row.pattern, cell_text(row, TEXT, unit)))
        )
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
        name, _ = QFileDialog.getSaveFileName(self._parent, title, str(proposed), kinds)
        if not name:
            return None
        path = Path(name)
        return path if path.suffix else path.with_suffix(ending)
