"""Says that the layout was changed since a search began, and offers the ways on."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton

from app.ui.widgets import wrapping
from geometry.search.summary import RowSummary


class ChangedBar(QFrame):
    """Says that the layout was changed since the search began, and offers the ways on."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("notice")
        self.setProperty("weight", "hint")
        self.row: RowSummary | None = None
        word = QLabel("Changed")
        word.setObjectName("noticeWord")
        self.text = wrapping()
        self.again = QPushButton("Search aga&in")
        self.anyway = QPushButton("Apply all the same")
        line = QHBoxLayout(self)
        line.setContentsMargins(12, 5, 12, 5)
        line.setSpacing(10)
        line.addWidget(word, 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(self.text, 1)
        line.addWidget(self.anyway)
        line.addWidget(self.again)
        self.hide()

    def show_state(self, *, changed: bool, moved: bool) -> None:
        """Follow the layout."""
        if not changed:
            self.row = None
        if moved:
            self.text.setText(
                "The enclosure is not the one that was searched; its rows cannot be applied here."
            )
        elif self.row is None:
            self.text.setText(
                "The layout was changed since this search began; its rows fit the one before."
            )
        self.anyway.setVisible(self.row is not None and not moved)
        self.setVisible(changed)

    def ask(self, row: RowSummary | None, *, possible: bool) -> None:
        """Ask whether to apply a row to a layout that is not the one it was found for."""
        self.row = row if possible else None
        if possible and row is not None:
            self.text.setText(
                f"The layout was changed since this search began, and row {row.number} fits the "
                "one before. Applied now, it replaces only what stands on the searched zones; the "
                "findings tell what it meets."
            )
        else:
            self.text.setText(
                "The layout is not the one that was searched any more, so this cannot be applied "
                "to it; search again."
            )
        self.anyway.setVisible(possible)
        self.show()
        (self.anyway if possible else self.again).setFocus(Qt.FocusReason.OtherFocusReason)

    def asks_for(self, row: RowSummary) -> bool:
        """Whether it has asked for this row already, so that a second Enter means yes."""
        return self.row is row
