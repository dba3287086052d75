"""Write finished sheets as PNG files that print true to scale."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from app.drawing.theme import PRINT
from app.paint.png import png_bytes
from app.sheet.export import write_sheets

if TYPE_CHECKING:
    from app.drawing.primitives import Drawing


def write_sheets_png(drawings: Sequence[Drawing], out: Path, dpi: float) -> list[Path]:
    """Write sheets as OUT.png, OUT-2.png and on, and return the files.

    A QGuiApplication must exist. Raises DataError when a file cannot be saved.
    """
    return list(write_sheets(drawings, out, lambda sheet: png_bytes(sheet, dpi, PRINT)))
