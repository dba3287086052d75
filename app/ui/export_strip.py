"""A strip that tells how far an export is, with a button to stop it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

if TYPE_CHECKING:
    from app.ui.export_job import Progress


class ExportStrip(QFrame):
    """Hidden while nothing is exported."""

    stop_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("notice")
        self._text = QLabel()
        self.bar = QProgressBar()
        self.bar.setAccessibleName("Progress of the export")
        self.bar.setMaximumWidth(260)
        self.stop = QPushButton("Sto&p")
        self.stop.setToolTip("Stop the export; nothing is written then")
        self.stop.clicked.connect(self.stop_wanted)
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 6, 8, 6)
        row.addWidget(self._text, 1)
        row.addWidget(self.bar)
        row.addWidget(self.stop)
        self.hide()

    def show_progress(self, progress: Progress) -> None:
        """Show how far it is."""
        self._text.setText(f"Exporting the clearance sheet: {progress.text}")
        self.bar.setRange(0, progress.total)
        self.bar.setValue(progress.done)
        self.show()
