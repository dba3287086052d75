"""Layouts that were not saved when the program was ended from outside, kept for its next start.

Each is a file of its own in the user's config folder, a layout file with a word on where it is
from round it. It is taken away once its layout has been saved, or let go of.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from app.document.document import Document, FileTroubleError
from catalog.errors import DataError, Fault
from catalog.files import write_text_atomic
from geometry.layout import Layout
from geometry.layout_file import layout_text, parse_layout

FORMAT = "gapwright-unsaved"
RECOVER = "Take over what was not saved"


@dataclass(frozen=True)
class Unsaved:
    """A layout that was kept, the file that it was last saved to, if any, and where it is kept."""

    kept_in: Path
    layout: Layout
    path: Path | None

    @property
    def name(self) -> str:
        """The name under which the document went."""
        return self.path.stem if self.path is not None else self.layout.name

    def document(self) -> Document:
        """Return a document with the layout, not saved yet; undo leads back to what its file has.

        Where there is no file any more, it has none.
        """
        saved: Document | None = None
        if self.path is not None:
            try:
                saved = Document.open(self.path)
            except FileTroubleError:
                saved = None
        if saved is None:
            return Document.unsaved(self.layout)
        saved.apply(RECOVER, lambda _: self.layout)
        return saved


def unsaved_folder() -> Path:
    """Return where they are kept."""
    return platformdirs.user_config_path("gapwright", appauthor=False) / "unsaved"


def keep_unsaved(document: Document) -> Path:
    """Keep the layout of a document, whole or not at all; return where. Raises DataError."""
    path = document.path.absolute() if document.path is not None else None
    told = {
        "format": FORMAT,
        "path": None if path is None else str(path),
        "layout": json.loads(layout_text(document.layout)),
    }
    folder = unsaved_folder()
    kept_in = folder / f"{os.getpid()}.json"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise DataError(str(folder), Fault("", f"cannot be made: {fault.strerror}")) from fault
    write_text_atomic(kept_in, json.dumps(told, indent=1) + "\n")
    return kept_in


def last_unsaved() -> Unsaved | None:
    """Return what was kept last; None where nothing is, or nothing that can be read."""
    found = sorted(unsaved_folder().glob("*.json"), key=_time_ns, reverse=True)
    return next(filter(None, map(_read, found)), None)


def let_go(unsaved: Unsaved) -> None:
    """Keep it no longer."""
    unsaved.kept_in.unlink(missing_ok=True)


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
        path = told["path"]
        return Unsaved(kept_in, layout, Path(path) if isinstance(path, str) else None)
    except (OSError, ValueError, KeyError, RecursionError, DataError):
        return None
