"""Keeps what is not saved where the program is ended from outside, and offers it at its start."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from app.document.unsaved import Unsaved, keep_unsaved, last_unsaved, let_go
from catalog.errors import DataError

if TYPE_CHECKING:
    from app.ui.window import MainWindow


class Recovery:
    """Of one window. What was taken over is kept on until it is saved or closed by its user."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._taken: Unsaved | None = None
        window.session.document_changed.connect(self._on_changed)

    def keep(self) -> None:
        """Keep what would be lost with the window, and say on the console where it is."""
        document = self._window.session.document
        if not document.dirty:
            return
        try:
            kept_in = keep_unsaved(document)
        except DataError as fault:
            sys.stderr.write(f"gapwright: what was not saved is lost: {fault}\n")
        else:
            if self._taken is not None and self._taken.kept_in != kept_in:
                let_go(self._taken)
            sys.stderr.write(
                f"gapwright: what was not saved is kept in {kept_in}; the next start offers it\n"
            )
        sys.stderr.flush()

    def offer(self) -> None:
        """Offer what was kept last in the notice, which stops nobody."""
        unsaved = last_unsaved()
        if unsaved is None:
            return
        self._window.notice.offer(
            f"{unsaved.name}: changes that were not saved when the program was ended are kept.",
            "Take them over",
            lambda: self.take(unsaved),
        )

    def take(self, unsaved: Unsaved) -> None:
        """Show what was kept as a document that is not saved; ask about the one at hand before."""
        if self._window.files.show(unsaved.document()):
            self._taken = unsaved

    def closed(self) -> None:
        """Let go of what was taken over: it was saved, or the user has said to discard it."""
        if self._taken is not None:
            let_go(self._taken)
            self._taken = None

    def _on_changed(self) -> None:
        if self._taken is not None and not self._window.session.document.dirty:
            self.closed()
