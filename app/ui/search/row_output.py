"""Takes rows of a search out of the panel: to a table, to a layout file, to the clipboard."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from app.ui.notice import NoticeBar
from app.ui.search.export import SearchDialogs, rows_text
from app.ui.search.panel_words import row_count
from app.ui.session import Session, sentence
from app.ui.units import Unit
from catalog.errors import DataError
from catalog.files import write_text_atomic
from geometry.layout_file import write_layout
from geometry.search.rows_csv import rows_csv
from geometry.search.summary import RowSummary


class RowOutput:
    """Asks for files beside the layout's own, and tells in the notice what became of the rows."""

    def __init__(self, session: Session, notice: NoticeBar, parent: QWidget) -> None:
        self._session, self._notice = session, notice
        self.dialogs = SearchDialogs(parent)

    def write_row(self, row: RowSummary) -> None:
        """Ask for a file and write the layout that a row makes to it."""
        path = self.dialogs.to_layout(self._folder() / f"combination-{row.number}.json")
        if path is not None:
            self._write(path, lambda: write_layout(path, row.layout), f"Row {row.number}")

    def export_csv(self, rows: Sequence[RowSummary]) -> None:
        """Ask for a file and save rows as CSV."""
        path = self.dialogs.to_csv(self._folder() / "what-fits.csv")
        if path is not None:
            self._write(path, lambda: write_text_atomic(path, rows_csv(rows)), row_count(len(rows)))

    def copy_rows(self, rows: Sequence[RowSummary], unit: Unit) -> None:
        """Put rows on the clipboard, as lines with tabs."""
        QGuiApplication.clipboard().setText(rows_text(rows, unit))
        self._notice.brief(f"{row_count(len(rows))} copied.")

    def _write(self, path: Path, write: Callable[[], None], what: str) -> None:
        try:
            write()
        except DataError as fault:
            self._notice.error(sentence(str(fault)))
        else:
            self._notice.brief(f"{what} saved to {path}.")

    def _folder(self) -> Path:
        path = self._session.document.path
        return path.parent if path is not None else Path.home()
