"""Layouts that were not saved when the program was ended from outside, kept for its next start.

Each is a file of its own in the user's config folder, a layout file with a word on where it is
from round it. It is taken away once its layout has been saved, or let go of.
"""

from __future__ import annotations

import json
import time
import uuid
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from app.document.document import Document, FileStamp, FileTroubleError
from catalog.errors import DataError, Fault
from catalog.files import write_text_atomic
from geometry.layout import Layout
from geometry.layout_file import layout_text, parse_layout

FORMAT = "gapwright-unsaved"
RECOVER = "Take over what was not saved"


@dataclass(frozen=True)
class Unsaved:
    """A layout that was kept and where; the file that it was last saved to, if any, as it was."""

    kept_in: Path
    layout: Layout
    path: Path | None
    stamp: FileStamp | None

    @property
    def name(self) -> str:
        """The name under which the document went."""
        return self.path.stem if self.path is not None else self.layout.name

    @property
    def file_since(self) -> Literal["same", "changed", "gone"]:
        """What has become of its file since; of a layout that had none, nothing has."""
        if self.path is None:
            return "same"
        now = FileStamp.of(self.path)
        if now is None:
            return "gone"
        return "same" if self.stamp in (None, now) else "changed"

    def document(self) -> Document:
        """Return a document with the layout, not saved yet; undo leads back to what its file has.

        It is saved over a file that was changed since only where the user says so. Where there
        is no file any more, it has none.
        """
        if self.path is None:
            return Document.unsaved(self.layout)
        try:
            back = Document.open(self.path).since(self.stamp)
        except FileTroubleError:
            return Document.unsaved(self.layout)
        back.apply(RECOVER, lambda _: self.layout)
        return back


def unsaved_folder() -> Path:
    """Return where they are kept."""
    # Loaded here: the window is there sooner.
    from platformdirs import user_config_path

    return user_config_path("gapwright", appauthor=False) / "unsaved"


def keep_unsaved(document: Document) -> Unsaved:
    """Keep the layout of a document, whole or not at all, beside all others. Raises DataError."""
    # By time and chance, so that none is ever written over, whatever else runs.
    kept_in = unsaved_folder() / f"{time.time_ns():020d}-{uuid.uuid4().hex}.json"
    path = document.path.absolute() if document.path is not None else None
    unsaved = Unsaved(kept_in, document.layout, path, document.stamp)
    write_unsaved(unsaved)
    return unsaved


def write_unsaved(unsaved: Unsaved) -> None:
    """Put it where it is kept, as at first or after it was let go of. Raises DataError."""
    told = {
        "format": FORMAT,
        "path": None if unsaved.path is None else str(unsaved.path),
        "stamp": None if unsaved.stamp is None else asdict(unsaved.stamp),
        "layout": json.loads(layout_text(unsaved.layout)),
    }
    folder = unsaved.kept_in.parent
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise DataError(str(folder), Fault("", f"cannot be made: {fault.strerror}")) from fault
    write_text_atomic(unsaved.kept_in, json.dumps(told, indent=1) + "\n")


def unsaved_files() -> list[Path]:
    """Return the files in which something is kept, the last one first."""
    return sorted(unsaved_folder().glob("*.json"), key=_time_ns, reverse=True)


def all_unsaved() -> Iterator[Unsaved]:
    """Yield what is kept, the last one first; what cannot be read is passed over."""
    return filter(None, map(_read, unsaved_files()))


def let_go(unsaved: Unsaved) -> None:
    """Keep it no longer. Raises DataError where its file cannot be taken away."""
    try:
        unsaved.kept_in.unlink(missing_ok=True)
    except OSError as fault:
        problem = f"cannot be deleted: {fault.strerror}"
        raise DataError(str(unsaved.kept_in), Fault("", problem)) from fault


def _time_ns(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0


def _read(kept_in: Path) -> Unsaved | None:
    try:
        told = json.loads(kept_in.read_text(encoding="utf-8"))
        if not isinstance(told, dict) or told.get("format") != FORMAT:
            return None
        layout = parse_layout(json.dumps(told["layout"]).encode(), str(kept_in))
        path, stamp = told["path"], _stamp(told.get("stamp"))
        return Unsaved(kept_in, layout, Path(path) if isinstance(path, str) else None, stamp)
    except (OSError, ValueError, KeyError, RecursionError, DataError):
        return None


def _stamp(told: object) -> FileStamp | None:
    match told:
        case {"size": int(size), "changed_ns": int(changed_ns)}:
            return FileStamp(size, changed_ns)
    return None
