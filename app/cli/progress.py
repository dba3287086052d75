"""Progress on a terminal: one line of standard error, written over and over."""

from __future__ import annotations

import os
import sys

FALLBACK_COLUMNS = 80
"""So wide is a terminal that does not tell how wide it is."""


def tell(text: str) -> None:
    """Show how far a command has come, on a terminal only; nothing wipes the line."""
    if sys.stderr is not None and sys.stderr.isatty():
        line = line_of(text, _columns())
        sys.stderr.write(f"\r{line}" if text else f"\r{line}\r")
        sys.stderr.flush()


def line_of(text: str, columns: int) -> str:
    """Return a text as one line over all columns but the last: what is longer would be wrapped.

    A wrapped line cannot be written over, so that each step would print another.

    >>> line_of("near misses: 3 of 9 looked at", 20), line_of("done", 9)
    ('near misses: 3 of …', 'done    ')
    """
    room = max(columns - 1, 1)
    return text.ljust(room) if len(text) <= room else f"{text[: room - 1]}…"


def _columns() -> int:
    try:
        return os.get_terminal_size(sys.stderr.fileno()).columns or FALLBACK_COLUMNS
    except (OSError, ValueError):
        return FALLBACK_COLUMNS
