"""Keeps what is not saved where the program is ended from outside, and offers it afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from app.document.document import Document
from app.document.unsaved import (
    Unsaved,
    all_unsaved,
    keep_unsaved,
    let_go,
    unsaved_files,
    unsaved_folder,
    write_unsaved,
)
from app.ui.console import say_on_console
from app.ui.notice import Choice
from app.ui.session import sentence
from catalog.errors import DataError
from geometry.layout import Layout

if TYPE_CHECKING:
    from app.ui.window import MainWindow

SINCE = {
    "same": "",
    "changed": " Its file has been changed since; saving asks before it overwrites that.",
    "gone": " Its file is not there any more.",
}


@dataclass(frozen=True)
class _Held:
    """What is kept of a document that is open here, and what that had saved at that time."""

    unsaved: Unsaved
    document: Document
    saved: Layout | None

    @property
    def within(self) -> bool:
        """Whether the document goes on from what is kept: it shows it, or undo leads to it."""
        document = self.document
        kept = self.unsaved.layout
        return document.layout is kept or any(one is kept for one in document.earlier())

    @property
    def was_saved(self) -> bool:
        """Whether it has been saved since, as it is or with what came after it."""
        return self.document.saved_layout is not self.saved and self.within


class Recovery:
    """Of one window. What was taken over is kept on until it is saved or discarded by its user.

    Undo alone takes nothing away: what is kept is there until redo, or the next start, wants it.
    """

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._held: _Held | None = None
        self._leaving: Layout | None = None
        window.session.document_changed.connect(self._on_changed)

    def keep(self) -> None:
        """Keep what would be lost with the window, and say on the console where it is."""
        document = self._window.session.document
        if not document.dirty:
            return
        if not self._is_kept:
            try:
                unsaved = keep_unsaved(document)
            except DataError as fault:
                say_on_console(f"gapwright: what was not saved is lost: {fault}")
                return
            if self._held is not None and self._held.within:
                self._let_go(self._held.unsaved)
            self._held = _Held(unsaved, document, document.saved_layout)
        if self._held is not None:
            kept_in = self._held.unsaved.kept_in
            say_on_console(
                f"gapwright: what was not saved is kept in {kept_in}; the next start offers it"
            )

    def keep_for_session_end(self) -> None:
        """Keep it as the desktop's session is about to end: the window then closes unasked."""
        self.keep()
        self._leaving = self._window.session.document.layout

    @property
    def may_close_unasked(self) -> bool:
        """Whether the session was about to end, and what is shown has been kept or saved."""
        document = self._window.session.document
        return self._leaving is document.layout and (not document.dirty or self._is_kept)

    @property
    def _is_kept(self) -> bool:
        """Whether a file has what is shown just as it is."""
        held, document = self._held, self._window.session.document
        return (
            held is not None
            and held.document is document
            and held.unsaved.layout is document.layout
            and held.unsaved.kept_in.is_file()
        )

    @property
    def has_any(self) -> bool:
        """Whether anything is kept that is not open here."""
        held = self._open_here
        return any(path != held for path in unsaved_files())

    @property
    def _open_here(self) -> Path | None:
        held = self._held
        return held.unsaved.kept_in if held is not None and held.within else None

    def offer(self) -> bool:
        """Offer what was kept last in the notice, which stops nobody; False where nothing is."""
        held = self._open_here
        found = list(islice((one for one in all_unsaved() if one.kept_in != held), 2))
        if not found:
            self._window.notice.withdraw()
            return False
        unsaved, *more = found
        older = " Older unsaved work is kept as well." if more else ""
        self._window.notice.offer(
            f"{unsaved.name}: changes that were not saved when the program ended can be "
            "recovered."
            f"{SINCE[unsaved.file_since]}{older}",
            Choice("Recover", lambda: self.take(unsaved)),
            Choice("Discard", lambda: self.discard(unsaved)),
        )
        return True

    def offer_again(self) -> None:
        """Offer it at once, as the user asks for it."""
        notice = self._window.notice
        if self.offer():
            notice.dismiss()
        elif self.has_any:
            notice.error(f"What is kept in {unsaved_folder()} cannot be read.")
        else:
            notice.hint("There is no unsaved work to recover.")

    def take(self, unsaved: Unsaved) -> None:
        """Show what was kept as a document that is not saved; ask about the one at hand before."""
        document = unsaved.document()
        saved = document.saved_layout
        if self._window.files.show(document):
            self._held = _Held(unsaved, document, saved)
            if not document.dirty:
                self._release()
                self._window.notice.brief(f"{unsaved.name}: its file already holds these changes.")

    def discard(self, unsaved: Unsaved) -> None:
        """Let go of what was kept; the notice says so and can undo it."""
        if self._let_go(unsaved):
            self._window.notice.tell(
                f"{unsaved.name}: the unsaved changes were discarded.",
                "Undo",
                lambda: self._put_back(unsaved),
            )
            self.offer()

    def closed(self) -> None:
        """Let go of what is open here and not saved: the user has said to discard it."""
        held = self._held
        if held is not None and held.document.dirty and held.within:
            self._release()

    def _on_changed(self) -> None:
        held = self._held
        if held is None:
            return
        if held.was_saved:
            self._release()
        elif held.document is not self._window.session.document:
            self.closed()
            self._held = None

    def _release(self) -> None:
        if self._held is not None:
            self._let_go(self._held.unsaved)
            self._held = None

    def _let_go(self, unsaved: Unsaved) -> bool:
        try:
            let_go(unsaved)
        except DataError as fault:
            self._window.notice.error(sentence(str(fault)))
            return False
        return True

    def _put_back(self, unsaved: Unsaved) -> None:
        try:
            write_unsaved(unsaved)
        except DataError as fault:
            self._window.notice.error(sentence(f"the unsaved changes are lost: {fault}"))
        else:
            self.offer()
