"""Exports the clearance sheet behind the user: progress is told, and it can be stopped."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, QThread, Signal

from app.drawing.theme import PRINT
from app.paint.png import png_bytes
from app.sheet.compose import NO_NAMES, Names, compose_sheets
from app.sheet.export import write_sheets
from app.sheet.fits_content import Fits
from app.sheet.scale import ScaleError
from catalog.errors import DataError
from geometry.checks.runner import check_layout
from geometry.layout import Layout


@dataclass(frozen=True)
class ExportOrder:
    """What to export, and how; `fits` is the answer of a search that goes with it."""

    layout: Layout
    out: Path
    paper: str
    dpi: int
    scale: str | None
    date: datetime.date
    names: Names = NO_NAMES
    fits: Fits | None = None


@dataclass(frozen=True)
class Progress:
    """How far an export is: steps done of all, and what comes next."""

    done: int
    total: int
    text: str


def export_steps(order: ExportOrder) -> Iterator[Progress | tuple[Path, ...]]:
    """Yield progress, then the files written. Stopped before that, it has written nothing.

    Raises ScaleError when the views do not fit at the scale asked for, DataError when a file
    cannot be saved.
    """
    yield Progress(0, 4, "Checking")
    checked = check_layout(order.layout)
    yield Progress(1, 4, "Laying out the sheets")
    sheets = compose_sheets(
        checked,
        paper=order.paper,
        scale=order.scale,
        date=order.date,
        names=order.names,
        fits=order.fits,
    )
    total = len(sheets) + 3
    encoded: list[bytes] = []
    for number, sheet in enumerate(sheets, 2):
        yield Progress(number, total, f"Drawing sheet {number - 1} of {len(sheets)}")
        encoded.append(png_bytes(sheet, order.dpi, PRINT))
    yield Progress(total - 1, total, "Saving")
    ready = iter(encoded)
    yield write_sheets(sheets, order.out, lambda _: next(ready))


class ExportJob(QObject):
    """Runs one export in a thread of its own.

    `progressed` tells how far it is; then one of `saved` (the files), `failed` (why) or `stopped`
    follows, and last `finished`. A fault of the program is raised in the thread of who asked, and
    `finished` comes after it alone.
    """

    progressed = Signal(object)
    saved = Signal(object)
    failed = Signal(str)
    stopped = Signal()
    broke = Signal(object)
    finished = Signal()

    def __init__(self, order: ExportOrder, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.broke.connect(self._on_broke)
        self._thread = _ExportThread(self, order)
        self._thread.finished.connect(self.finished)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End at the next step; nothing is written unless saving has begun."""
        self._thread.requestInterruption()

    def wait(self) -> None:
        """Return when the thread has ended."""
        self._thread.wait()

    def _on_broke(self, fault: Exception) -> None:
        raise fault


class _ExportThread(QThread):
    def __init__(self, job: ExportJob, order: ExportOrder) -> None:
        super().__init__(job)
        self._job, self._order = job, order

    def run(self) -> None:
        """Go through the steps until they end, fail or are stopped."""
        try:
            for step in export_steps(self._order):
                if self.isInterruptionRequested() and isinstance(step, Progress):
                    self._job.stopped.emit()
                    return
                if isinstance(step, Progress):
                    self._job.progressed.emit(step)
                else:
                    self._job.saved.emit(step)
        except (ScaleError, DataError) as error:
            self._job.failed.emit(str(error))
        except MemoryError:
            self._job.failed.emit(
                f"{self._order.out}: there is not enough memory at {self._order.dpi} dpi; "
                "choose a lower resolution"
            )
        except Exception as fault:  # noqa: BLE001 - handed over to the window's thread, raised there
            self._job.broke.emit(fault)
