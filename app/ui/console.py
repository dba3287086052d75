"""Words for whoever started the program at a console, which may be gone by then."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def say_on_console(text: str) -> None:
    """Write a line for the user of the console; where that is gone, nobody is told.

    What cannot be written is not held back for the program's end, which would fail by it.
    """
    if sys.stderr is None:
        return
    try:
        sys.stderr.write(f"{text}\n")
        sys.stderr.flush()
    except (OSError, ValueError):
        sys.stderr = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 - for good
