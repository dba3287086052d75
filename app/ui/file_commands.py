"""New, open, save and export, and the question about changes that are not saved.

Dialogs and the sheet are loaded when they are first wanted: the window is there sooner.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QWidget

from app.document.document import Document, FileChangedError, FileTroubleError
from app.shipped_demo import shipped_demo
from app.ui.export.strip import ExportStrip
from app.ui.notice import NoticeBar
from app.ui.session import Session
from app.ui.skin import Skin
from catalog.enclosure import Enclosure
from catalog.store import Library
from geometry.edits import replace_enclosure

if TYPE_CHECKING:
    from app.document.recent import RecentFiles
    from app.sheet.compose import Names
    from app.sheet.fits_content import Fits
    from app.ui.export.job import ExportJob, ExportOrder

FILTER = "Layouts (*.json);;All files (*)"

SEARCH_RUNS = "A search is running. Closing stops it and discards its results."


class FileDialogs:
    """The system's file dialogs; tests put another in their place."""

    def __init__(self, parent: QWidget) -> None:
        self._parent = parent

    def to_open(self, folder: Path) -> Path | None:
        """Ask for a layout file."""
        from app.ui.file_dialog import ask_for_file

        name = ask_for_file(self._parent, "Open layout", folder, FILTER)
        return Path(name) if name else None

    def to_save(self, proposed: Path) -> Path | None:
        """Ask where to save a layout."""
        from app.ui.file_dialog import ask_for_file

        name = ask_for_file(self._parent, "Save layout", proposed, FILTER, ".json")
        return Path(name) if name else None


class FileCommands(QObject):
    """`enclosure_changed` tells that the room is another."""

    enclosure_changed = Signal()

    def __init__(
        self,
        session: Session,
        library: Library,
        skin: Skin,
        notice: NoticeBar,
        strip: ExportStrip,
        window: QWidget,
    ) -> None:
        super().__init__(window)
        self._session, self._library, self._skin = session, library, skin
        self._notice, self._strip, self._window = notice, strip, window
        self.dialogs = FileDialogs(window)
        self._job: ExportJob | None = None
        self._names: Names | None = None
        self.fits: Callable[[], Fits | None] = lambda: None
        """Returns what the last search has found, for the sheet; the window puts it in."""
        self.searching: Callable[[], bool] = lambda: False
        """Tells whether a search is under way, which ends with the window; that puts it in."""
        strip.stop_wanted.connect(self._stop_export)
        self.handlers: dict[str, Callable[[], object]] = {
            "new": self.new,
            "open": self.open,
            "demo": self.open_demo,
            "change_enclosure": self.change_enclosure,
            "save": self.save,
            "save_as": self.save_as,
            "export": self.export,
        }

    @cached_property
    def recent(self) -> RecentFiles:
        """The files opened last, read when the menu or a dialog first wants them."""
        from app.document.recent import RecentFiles

        return RecentFiles()

    # the guard

    def may_leave(self) -> bool:
        """Ask what to do with changes that are not saved; False when the user wants to stay."""
        if not self._session.document.dirty:
            return True
        answer = self.ask_about_changes()
        if answer == "save":
            return self.save()
        return answer == "discard"

    @property
    def asks_at_close(self) -> bool:
        """Whether something would be lost with the window, so that `may_close` asks."""
        return self._session.document.dirty or self.searching()

    def may_close(self) -> bool:
        """Ask about what is lost with the window; False when the user wants to stay.

        That are changes which are not saved, and a search that runs: one question for both.
        """
        if not self.searching():
            return self.may_leave()
        if not self._session.document.dirty:
            return self.ask_about_search()
        answer = self.ask_about_changes(f"{SEARCH_RUNS} ")
        return self.save() if answer == "save" else answer == "discard"

    def ask_about_search(self) -> bool:
        """Ask whether the search that runs may end; True when it may."""
        from PySide6.QtWidgets import QMessageBox

        box = QMessageBox(self._window)
        box.setWindowTitle("A search is running")
        box.setText(SEARCH_RUNS)
        box.setInformativeText("The layout has no changes that are not saved.")
        kind = QMessageBox.StandardButton
        box.setStandardButtons(kind.Close | kind.Cancel)
        box.setDefaultButton(kind.Cancel)
        box.button(kind.Close).setText("&Stop and close")
        box.button(kind.Cancel).setText("&Keep searching")
        return box.exec() == kind.Close

    def ask_about_changes(self, first: str = "") -> Literal["save", "discard", "stay"]:
        """Ask the user, once told what comes `first`; a question that stops everything else."""
        from PySide6.QtWidgets import QMessageBox

        box = QMessageBox(self._window)
        box.setWindowTitle("Changes are not saved")
        box.setText(f"{self._session.document.name} has changes that are not saved.")
        box.setInformativeText(f"{first}Save them before going on?")
        kind = QMessageBox.StandardButton
        box.setStandardButtons(kind.Save | kind.Discard | kind.Cancel)
        box.setDefaultButton(kind.Save)
        for button, text in ((kind.Save, "&Save"), (kind.Discard, "&Discard")):
            box.button(button).setText(text)
        chosen = box.exec()
        if chosen == kind.Save:
            return "save"
        return "discard" if chosen == kind.Discard else "stay"

    # new and open

    def new(self) -> None:
        """Let the user choose an enclosure, then start an empty layout in it.

        What becomes of changes is asked first, so that no choice is lost by the answer.
        """
        if not self.may_leave():
            return
        from app.ui.new_dialog import NewDialog

        dialog = NewDialog(tuple(self._library.enclosures.values()), self._skin, self._window)
        dialog.chosen.connect(lambda layout: self._show(Document.new(layout)))
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def change_enclosure(self) -> None:
        """Let the user choose another enclosure for what is placed."""
        from app.ui.new_dialog import NewDialog

        dialog = NewDialog(
            tuple(self._library.enclosures.values()),
            self._skin,
            self._window,
            now=self._session.document.layout.enclosure,
        )
        dialog.chosen.connect(lambda layout: self._move_to(layout.enclosure))
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def _move_to(self, enclosure: Enclosure) -> None:
        name = f"Change enclosure to {enclosure.name}"
        if self._session.apply(name, lambda layout: replace_enclosure(layout, enclosure)):
            self.enclosure_changed.emit()

    def open_demo(self) -> None:
        """Open the demo layout as a new one."""
        self.show(Document.new(shipped_demo()))

    def open(self) -> None:
        """Ask for a file and open it.

        What becomes of changes is asked first, so that no choice is lost by the answer.
        """
        if not self.may_leave():
            return
        path = self.dialogs.to_open(self._folder())
        if path is not None:
            self._open(path, asked=True)

    def open_path(self, path: Path) -> bool:
        """Open a file that is chosen already; False when it cannot be used: the notice says why.

        It is read before it is asked what becomes of changes, so that nobody is asked in vain.
        """
        return self._open(path, asked=False)

    def _open(self, path: Path, *, asked: bool) -> bool:
        try:
            document = Document.open(path)
        except FileTroubleError as error:
            self._notice.error(str(error))
            if path in self.recent.paths and not path.exists():
                self.recent.remove(path)
            return False
        if not (asked or self.may_leave()):
            return False
        self._show(document)
        self._remember(path)
        return True

    def show(self, document: Document) -> bool:
        """Show a document that was made elsewhere; False where the user stays with this one."""
        if not self.may_leave():
            return False
        self._show(document)
        return True

    def _show(self, document: Document) -> None:
        self._notice.dismiss()
        self._session.set_document(document)

    # save

    def save(self) -> bool:
        """Save to the document's file; ask for one when it has none."""
        if self._session.document.path is None:
            return self.save_as()
        try:
            self._session.document.save()
        except FileChangedError as error:
            self._notice.ask(_sentence(error), "Overwrite it", self._overwrite)
            return False
        except FileTroubleError as error:
            self._notice.error(_sentence(error))
            return False
        self._notice.brief(f"Saved to {self._session.document.path}.")
        return True

    def _overwrite(self) -> None:
        try:
            self._session.document.save(overwrite=True)
        except FileTroubleError as error:
            self._notice.error(_sentence(error))

    def save_as(self) -> bool:
        """Ask for a file and save to it."""
        document = self._session.document
        proposed = document.path or self._folder() / f"{_file_name(document.layout.name)}.json"
        path = self.dialogs.to_save(proposed)
        if path is None:
            return False
        try:
            document.save_as(path)
        except FileTroubleError as error:
            self._notice.error(_sentence(error))
            return False
        self._remember(path)
        self._notice.brief(f"Saved to {path}.")
        return True

    def _remember(self, path: Path) -> None:
        self.recent.add(path)

    def _folder(self) -> Path:
        document = self._session.document
        if document.path is not None:
            return document.path.parent
        return self.recent.paths[0].parent if self.recent.paths else Path.home()

    # export

    def export(self, *, with_fits: bool = False) -> None:
        """Ask how, then export the clearance sheet behind the user.

        `with_fits` proposes to add what the last search has found.
        """
        if self._job is not None:
            self._notice.hint("A sheet is being exported already; wait for it, or stop it.")
            return
        from app.sheet.compose import NO_NAMES
        from app.ui.export.dialog import ExportDialog

        document = self._session.document
        out = self._folder() / f"{_file_name(document.name)}-clearance.png"
        searched = self.fits() is not None
        dialog = ExportDialog(
            out,
            self._names or NO_NAMES,
            self._window,
            searched=searched,
            with_fits=with_fits,
        )
        dialog.chosen.connect(self._on_export_chosen)
        dialog.open()

    def _on_export_chosen(
        self, out: Path, paper: str, dpi: int, scale: str, names: Names, with_fits: bool
    ) -> None:
        from datetime import datetime

        from app.ui.export.job import ExportOrder

        self._names = names
        self.export_to(
            ExportOrder(
                self._session.document.layout,
                out,
                paper,
                dpi,
                scale or None,
                datetime.now().astimezone().date(),
                names,
                self.fits() if with_fits else None,
            )
        )

    def export_to(self, order: ExportOrder) -> ExportJob:
        """Start an export; its end is told in the notice."""
        from app.ui.export.job import ExportJob

        job = ExportJob(order, self)
        self._job = job
        job.progressed.connect(self._strip.show_progress)
        job.saved.connect(self._on_saved)
        job.failed.connect(lambda text: self._notice.error(f"The sheet was not exported. {text}"))
        job.stopped.connect(lambda: self._notice.hint("Export stopped; nothing was written."))
        job.finished.connect(self._on_finished)
        job.start()
        return job

    def _on_saved(self, paths: tuple[Path, ...]) -> None:
        names = " to ".join(path.name for path in {paths[0]: None, paths[-1]: None})
        folder = paths[0].parent
        self._notice.tell(
            f"Clearance sheet saved in {folder}: {names}",
            "Open folder",
            lambda: _open_folder(folder),
        )

    def _on_finished(self) -> None:
        self._strip.hide()
        self._job = None

    def _stop_export(self) -> None:
        if self._job is not None:
            self._job.stop()

    def close(self) -> None:
        """Wait for a running export to end at its next step."""
        if self._job is not None:
            self._job.stop()
            self._job.wait()


def _sentence(error: Exception) -> str:
    text = str(error)
    return text if text.endswith(".") else f"{text}."


def _open_folder(folder: Path) -> None:
    """Show a folder in the system's file manager."""
    from PySide6.QtCore import QUrl
    from PySide6.QtGui import QDesktopServices

    QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))


def _file_name(name: str) -> str:
    kept = "".join(c if c.isalnum() or c in " -_." else "-" for c in name).strip(" .")
    return re.sub(r"[- ]+", "-", kept).strip("-").lower() or "layout"
