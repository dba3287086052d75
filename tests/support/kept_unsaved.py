"""What was kept of a document that was not saved, as who opens the program next would find it."""

from __future__ import annotations

from app.document.unsaved import Unsaved, all_unsaved


def last_unsaved() -> Unsaved | None:
    """Return what was kept last; None where nothing is, or nothing that can be read."""
    return next(all_unsaved(), None)
