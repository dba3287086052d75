"""Progress on a terminal: one line of standard error, written over and over."""

from __future__ import annotations

import sys

WIDTH = 78


def tell(text: str) -> None:
    """Show how far a command has come, on a terminal only; nothing wipes the line."""
    if sys.stderr is not None and sys.stderr.isatty():
        sys.stderr.write(f"\r{text:<{WIDTH}}" if text else "\r" + " " * WIDTH + "\r")
        sys.stderr.flush()
