"""A strip that tells how far an export is, with a button to stop it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

if TYPE_CHECKING:
    from app.ui.export.job import Progress


class ExportStrip(QFrame):
    """Hidden while nothing is exported.

    It lies over the foot of its parent, which does not move for it.
    """

    stop_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("notice")
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
        self.setAutoFillBackground(True)
        if parent is not None:
            parent.installEventFilter(self)
        self.hide()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the foot of the parent."""
        if watched is self.parent() and event.type() is QEvent.Type.Resize:
            self._place()
        return super().eventFilter(watched, event)

    def _place(self) -> None:
        over = self.parentWidget()
        if over is not None:
            high = self.heightForWidth(over.width())
            self.setGeometry(0, over.height() - high, over.width(), high)
            self.raise_()

    def show_progress(self, progress: Progress) -> None:
        """Show how far it is."""
        self._text.setText(f"Exporting the clearance sheet: {progress.text}")
        self.bar.setRange(0, progress.total)
        self.bar.setValue(progress.done)
        self._place()
        self.show()
