"""Parallel pipe threads of ISO 228-1, as ports and fittings have them."""

from __future__ import annotations

from typing import NamedTuple


class PipeThread(NamedTuple):
    """Basic sizes of a thread: turns per inch, and its diameters (mm)."""

    turns_per_inch: int
    major_mm: float
    pitch_diameter_mm: float
    minor_mm: float


PIPE_THREADS: dict[str, PipeThread] = {
    "G1/8": PipeThread(28, 9.728, 9.147, 8.566),
    "G1/4": PipeThread(19, 13.157, 12.301, 11.445),
    "G3/8": PipeThread(19, 16.662, 15.806, 14.950),
}
"""By the label of a port: the size is that of a bore long ago, not of the thread (ISO 228-1)."""


def pipe_thread(label: str) -> PipeThread | None:
    """Return the thread of a port's label, such as "G1/4"; None when it is none of these."""
    return PIPE_THREADS.get(label.replace(" ", "").upper())
