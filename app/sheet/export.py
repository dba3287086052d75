"""Put finished sheets into files: OUT.png, OUT-2.png and so on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import count as counted_from
from itertools import takewhile
from pathlib import Path

from app.drawing.primitives import Drawing
from catalog.files import write_bytes_atomic


def sheet_path(out: Path, number: int) -> Path:
    """Return the file of one sheet, counted from 1.

    >>> sheet_path(Path("bench.png"), 1).name, sheet_path(Path("bench.png"), 2).name
    ('bench.png', 'bench-2.png')
    """
    return out if number == 1 else out.with_name(f"{out.stem}-{number}{out.suffix}")


def left_over_sheets(out: Path, count: int) -> tuple[Path, ...]:
    """Return the files that follow the last of `count` sheets without a gap.

    They are named like further sheets; an earlier export with more sheets has left them.
    """
    further = (sheet_path(out, number) for number in counted_from(count + 1))
    return tuple(takewhile(Path.exists, further))


def write_sheets(
    sheets: Sequence[Drawing], out: Path, encode: Callable[[Drawing], bytes]
) -> tuple[Path, ...]:
    """Write every sheet and return the files.

    All are encoded before the first is written, so that a fault in one leaves the old files.
    Raises DataError when a file cannot be saved.
    """
    encoded = [encode(sheet) for sheet in sheets]
    paths = tuple(sheet_path(out, number) for number in range(1, len(encoded) + 1))
    for path, data in zip(paths, encoded, strict=True):
        write_bytes_atomic(path, data)
    return paths
