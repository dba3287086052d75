"""Progress on standard error: a line of a terminal, written over and over, or lines of a file."""

from __future__ import annotations

import contextlib
import os
import sys
from time import monotonic

FALLBACK_COLUMNS = 80
"""So wide is a terminal that does not tell how wide it is."""

EVERY_S = 10.0
"""A file gets a line so often, the first after as long: what is done sooner leaves it empty."""


class Progress:
    """Shows how far one command has come."""

    def __init__(self) -> None:
        self._last_s = monotonic()

    def tell(self, text: str) -> None:
        """Show a step; on a terminal nothing wipes the line."""
        if sys.stderr is None:
            return
        if sys.stderr.isatty():
            line = line_of(text, _columns())
            sys.stderr.write(f"\r{line}" if text else f"\r{line}\r")
            sys.stderr.flush()
        elif text and monotonic() - self._last_s >= EVERY_S:
            self._last_s = monotonic()
            with contextlib.suppress(OSError):  # a full disk is no reason to end a search
                sys.stderr.write(f"{text}\n")
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
