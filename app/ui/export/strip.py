"""A strip that tells how far an export is, with a button to stop it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

from app.ui.overlay_bar import OverlayBar

if TYPE_CHECKING:
    from app.ui.export.job import Progress


class ExportStrip(OverlayBar):
    """Hidden while nothing is exported; it lies over the foot of its parent."""

    stop_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = QLabel()
        self._text.setWordWrap(True)
        self.bar = QProgressBar()
        self.bar.setAccessibleName("Progress of the export")
        self.bar.setMaximumWidth(260)
        self.bar.setMinimumWidth(60)
        self.stop = QPushButton("Stop")
        self.stop.setToolTip("Stop the export; nothing is written then")
        self.stop.clicked.connect(self.stop_wanted)
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 6, 8, 6)
        row.addWidget(self._text, 2)
        row.addWidget(self.bar, 1)
        row.addWidget(self.stop)

    def top_px(self, room_px: int, tall_px: int) -> int:
        """Lie at the foot."""
        return room_px - tall_px

    def show_progress(self, progress: Progress) -> None:
        """Show how far it is."""
        self._text.setText(f"Exporting the clearance sheet: {progress.text}")
        self.bar.setRange(0, progress.total)
        self.bar.setValue(progress.done)
        self.keep_to_parent()
        self.show()
