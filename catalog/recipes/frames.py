"""Fan frames: sizes, hole pitches, usual thicknesses; rows of cells.

No standard fixes frame size to hole pitch: the table is common practice on which makers agree,
but for 200 mm, where frames are not interchangeable.
"""

from __future__ import annotations

from catalog.model import Dimension
from catalog.shapes import Cell, Mount

PITCH_MM = {80: 71.5, 92: 82.5, 120: 105.0, 140: 124.5, 200: 154.0}

THICKNESSES_MM = {
    80: (15, 20, 25, 38),
    92: (15, 25, 38),
    120: (15, 20, 25, 30, 38),
    140: (15, 20, 25, 30, 38),
    200: (20, 25, 30),
}

COMMON = "common practice, no source"

ASSUMED = Dimension(origin="assumed")
FROM_STANDARD = Dimension(origin="drawing")


def mount(frame: int) -> Mount:
    """Return the hole pattern of a frame size."""
    return Mount(frame_mm=float(frame), pitch_mm=PITCH_MM[frame])


def row_of_cells(count: int, frame: int, pitch_of_cells: float | None = None) -> tuple[Cell, ...]:
    """Return cells in a row along u, middle at 0, frames touching unless a pitch is given (mm)."""
    step = float(frame) if pitch_of_cells is None else pitch_of_cells
    return tuple(
        Cell(id=str(k + 1), u_mm=(k - (count - 1) / 2) * step, v_mm=0.0, accepts=(mount(frame),))
        for k in range(count)
    )
