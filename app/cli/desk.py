"""What the command line asks of the parts that need Qt, which it never imports itself."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from app.drawing.primitives import Drawing


class Desk(Protocol):
    """The window and the painter."""

    def open_window(self, path: Path | None, *, demo: bool) -> int:
        """Open the window on a layout file, on the demo, or as it was; return its exit code."""
        ...

    def write_sheets(self, sheets: Sequence[Drawing], out: Path, dpi: int) -> Sequence[Path]:
        """Write sheets as PNG files that print true to scale; no screen is needed.

        Returns the files, OUT.png, OUT-2.png and so on. Raises DataError when one cannot be saved.
        """
        ...
