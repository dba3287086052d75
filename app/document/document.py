"""The document: one layout, its history, its file, and what the checks say of it.

An edit is a function from layout to layout with a name. The document applies it, checks the
result and tells those who listen; it never changes a layout. No widget is known here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from app.document.history import History
from catalog.errors import DataError
from geometry.checks.runner import Checked, check_layout
from geometry.layout import Layout

Edit = Callable[[Layout], Layout]
Listener = Callable[[], None]


class FileTroubleError(Exception):
    """A file that could not be read or saved, in one message; the document is as it was."""


class FileChangedError(FileTroubleError):
    """The file was changed by somebody else since it was read; saving would lose that."""


@dataclass(frozen=True)
class FileStamp:
    """What tells that a file is still the one that was read or written."""

    size: int
    changed_ns: int

    @classmethod
    def of(cls, path: Path) -> FileStamp | None:
        """Return that of a file as it is now; None where there is none to be seen."""
        try:
            found = path.stat()
        except (OSError, ValueError):
            return None
        return cls(found.st_size, found.st_mtime_ns)


class Document:
    """One open layout with undo, redo and a file."""

    def __init__(
        self, layout: Layout, path: Path | None = None, stamp: FileStamp | None = None
    ) -> None:
        self._history = History(layout)
        self._path = path
        self._stamp = stamp
        self._checked: Checked | None = None
        self._checked_layout: Layout | None = None
        self._listeners: list[Listener] = []

    @classmethod
    def new(cls, layout: Layout) -> Document:
        """Return a document without a file; it counts as saved until the first edit."""
        return cls(layout)

    @classmethod
    def unsaved(cls, layout: Layout) -> Document:
        """Return a document without a file whose layout is still to be saved."""
        made = cls(layout)
        made._history.mark_unsaved()
        return made

    @classmethod
    def open(cls, path: Path) -> Document:
        """Return the document in a file; FileTroubleError says what is wrong with it."""
        # Loaded here: a window on the demo shows its first picture without it.
        from geometry.layout_file import read_layout

        # Taken before reading, so that a change while it is read counts as one made since.
        stamp = FileStamp.of(path)
        try:
            return cls(read_layout(path), path, stamp)
        except DataError as error:
            raise FileTroubleError(str(error)) from error

    def since(self, stamp: FileStamp | None) -> Document:
        """Return it as one whose file was last known as `stamp` says; None: as it is now.

        A change made to the file since then counts as somebody else's.
        """
        return Document(self.layout, self._path, stamp or self._stamp)

    @property
    def layout(self) -> Layout:
        """The present layout."""
        return self._history.layout

    @property
    def saved_layout(self) -> Layout | None:
        """The layout that was last saved or opened; None where none of these was."""
        return self._history.saved

    @property
    def checked(self) -> Checked:
        """The present layout's scene and report, measured when first asked for."""
        if self._checked is None or self._checked_layout is not self.layout:
            self._checked = check_layout(self.layout, self._checked)
            self._checked_layout = self.layout
        return self._checked

    @property
    def path(self) -> Path | None:
        """The file; None before the first saving."""
        return self._path

    @property
    def stamp(self) -> FileStamp | None:
        """What its file was when it was last read or written here."""
        return self._stamp

    @property
    def name(self) -> str:
        """The file's name without its ending, or the layout's name when there is no file."""
        return self._path.stem if self._path is not None else self.layout.name

    @property
    def dirty(self) -> bool:
        """Whether the layout differs from what was last saved or opened."""
        return self._history.dirty

    @property
    def can_undo(self) -> bool:
        """Whether there is an edit to take back."""
        return self._history.undo_name is not None

    @property
    def can_redo(self) -> bool:
        """Whether there is an edit to do again."""
        return self._history.redo_name is not None

    @property
    def undo_name(self) -> str | None:
        """The name of the edit that undo takes back."""
        return self._history.undo_name

    @property
    def redo_name(self) -> str | None:
        """The name of the edit that redo does again."""
        return self._history.redo_name

    @property
    def history_names(self) -> tuple[str, ...]:
        """The names of all edits that can be taken back, the oldest first."""
        return self._history.steps

    def earlier(self) -> Iterator[Layout]:
        """Yield the layouts that undo leads back to, the latest first."""
        return self._history.earlier()

    @property
    def redo_names(self) -> tuple[str, ...]:
        """The names of all edits that can be done again, the next one first."""
        return self._history.undone

    def apply(self, name: str, edit: Edit, merge_key: str | None = None) -> bool:
        """Do an edit as one step; return False when it changes nothing.

        Edits in a row with the same `merge_key` (ten nudges of one part) become one step. What
        the edit raises, or who listens, passes through, and the document is as it was.
        """
        after = edit(self.layout)
        with self._history.or_as_before():
            done = self._history.record(name, after, merge_key)
            if done:
                self._tell()
        return done

    def undo(self) -> str | None:
        """Take the last edit back; return its name, or None when there is none."""
        return self._step(self._history.undo)

    def redo(self) -> str | None:
        """Do the edit that was last taken back; return its name, or None when there is none."""
        return self._step(self._history.redo)

    def _step(self, step: Callable[[], str | None]) -> str | None:
        with self._history.or_as_before():
            name = step()
            if name is not None:
                self._tell()
        return name

    def save(self, *, overwrite: bool = False) -> None:
        """Write the layout to its file.

        Raises FileChangedError when somebody else changed the file since, unless `overwrite`;
        FileTroubleError when it cannot be written or was never named. File and document are then
        as they were.
        """
        if self._path is None:
            raise FileTroubleError("this layout has no file yet; save it under a name")
        now = FileStamp.of(self._path)
        if not overwrite and self._stamp is not None and now not in (None, self._stamp):
            raise FileChangedError(
                f"{self._path}: was changed by another program since it was opened here; "
                "save under another name, or overwrite it"
            )
        self._write(self._path)

    def save_as(self, path: Path) -> None:
        """Write the layout to `path`, which is the document's file from then on.

        Raises FileTroubleError when it cannot be written; file and document are then as they
        were.
        """
        self._write(path)

    def subscribe(self, listener: Listener) -> Callable[[], None]:
        """Call `listener` after each change of layout, file or saved mark; return what ends it."""
        self._listeners.append(listener)

        def unsubscribe() -> None:
            if listener in self._listeners:
                self._listeners.remove(listener)

        return unsubscribe

    def _write(self, path: Path) -> None:
        from geometry.layout_file import write_layout

        try:
            write_layout(path, self.layout)
        except DataError as error:
            raise FileTroubleError(str(error)) from error
        self._path = path
        self._stamp = FileStamp.of(path)
        self._history.mark_saved()
        self._tell()

    def _tell(self) -> None:
        for listener in tuple(self._listeners):
            listener()
