"""The list of edits: what was done, in order; choose one to go back to it."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QListView, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.ui.session import Session
from app.ui.widgets import heading, muted

TIP = "Click a step, or press Enter on it, to go back or forward to it"


class HistoryPanel(QWidget):
    """Edits from the first to the last; those taken back stand below, marked as such."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.list = QListWidget()
        self.list.setAccessibleName("Edits")
        self.list.setToolTip(TIP)
        self.list.setWordWrap(True)
        self.list.setResizeMode(QListView.ResizeMode.Adjust)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._hint = muted("Every edit is listed here. Nothing has been changed yet.")
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 8, 8)
        column.setSpacing(6)
        column.addWidget(heading("History"))
        column.addWidget(self._hint)
        column.addWidget(self.list, 1)
        self.list.itemClicked.connect(self._go)
        self.list.itemActivated.connect(self._go)
        session.document_changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the document's edits."""
        document = self._session.document
        done, undone = document.history_names, document.redo_names
        with QSignalBlocker(self.list):
            self.list.clear()
            self.list.addItem(_line("As opened", 0))
            for number, name in enumerate(done, 1):
                self.list.addItem(_line(name, number))
            for number, name in enumerate(undone, len(done) + 1):
                item = _line(f"{name} (undone)", number)
                font = item.font()
                font.setItalic(True)
                item.setFont(font)
                self.list.addItem(item)
            self.list.setCurrentRow(len(done))
        self._hint.setVisible(not done and not undone)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave other keys to the window."""
        event.ignore()

    def _go(self, item: QListWidgetItem) -> None:
        wanted = int(item.data(Qt.ItemDataRole.UserRole))
        document = self._session.document
        while len(document.history_names) > wanted and document.can_undo:
            document.undo()
        while len(document.history_names) < wanted and document.can_redo:
            document.redo()


def _line(text: str, number: int) -> QListWidgetItem:
    item = QListWidgetItem(text)
    item.setData(Qt.ItemDataRole.UserRole, number)
    item.setToolTip(f"{text}\n{TIP}")
    return item
