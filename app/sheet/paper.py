"""Paper sizes, frame, grid reference and centring marks of ISO 5457:1999.

Coordinates are millimetres of the trimmed sheet, origin top left, y down.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from app.drawing.primitives import XY, Bounds, Group, Ink, Path, Primitive, Stroke, Text

FILING_BORDER_MM = 20.0
BORDER_MM = 10.0
FRAME_LINE_MM = 0.7
GRID_LINE_MM = 0.35
BAND_MM = 5.0
FIELD_MM = 50.0
GRID_LETTERING_MM = 3.5
MARK_REACH_MM = 10.0
ROW_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Letters of the grid rows: I and O are left out (ISO 5457:1999, 4.4)."""


@dataclass(frozen=True)
class Paper:
    """One trimmed sheet size in the position in which ISO 5457 uses it."""

    name: str
    width_mm: float
    height_mm: float
    grid_all_round: bool

    @property
    def frame(self) -> Bounds:
        """The inner edge of the borders: the drawing space (4.2)."""
        return (
            FILING_BORDER_MM,
            BORDER_MM,
            self.width_mm - BORDER_MM,
            self.height_mm - BORDER_MM,
        )

    def field_at(self, point: XY) -> str:
        """Return the grid field of a point as "C4": row letter, then column number."""
        column = _field_index(point[0], self.width_mm)
        row = _field_index(point[1], self.height_mm)
        return f"{ROW_LETTERS[row]}{column + 1}"


A3 = Paper("A3", 420.0, 297.0, grid_all_round=True)
A4 = Paper("A4", 210.0, 297.0, grid_all_round=False)
PAPERS = {paper.name: paper for paper in (A3, A4)}


def _fields(side_mm: float) -> int:
    return 2 * round(side_mm / 2 / FIELD_MM)


def field_edges(side_mm: float) -> tuple[float, ...]:
    """Return where grid fields meet along a side: 50 mm apart, counted outward from its middle.

    The corner fields take what remains (ISO 5457:1999, 4.4).
    """
    half = _fields(side_mm) // 2
    return tuple(side_mm / 2 + k * FIELD_MM for k in range(1 - half, half))


def _field_index(at_mm: float, side_mm: float) -> int:
    return sum(at_mm >= edge for edge in field_edges(side_mm))


def frame_groups(paper: Paper) -> tuple[Group, ...]:
    """Return the frame, the grid reference and the centring marks of one sheet."""
    left, top, right, bottom = paper.frame
    frame = Path(
        ((left, top), (right, top), (right, bottom), (left, bottom)),
        Stroke(Ink.OUTLINE, width_mm=FRAME_LINE_MM),
        closed=True,
    )
    return (
        Group("sheet:grid", tuple(_grid(paper))),
        Group("sheet:frame", (frame, *_centring_marks(paper))),
    )


def _grid(paper: Paper) -> Iterator[Primitive]:
    """Yield the bands with their fields: all round, on A4 only at the top and on the right."""
    left, top, right, bottom = paper.frame
    line = Stroke(Ink.OUTLINE, width_mm=GRID_LINE_MM)
    full = paper.grid_all_round
    outer_left = left - BAND_MM if full else left
    outer_bottom = bottom + BAND_MM if full else bottom
    corners = [(outer_left, top - BAND_MM), (right + BAND_MM, top - BAND_MM)]
    corners.append((right + BAND_MM, outer_bottom))
    if full:
        corners.append((outer_left, outer_bottom))
        yield Path(tuple(corners), line, closed=True)
    else:
        # The band ends where it meets the frame.
        yield Path(((left, top), *corners, (right, bottom)), line)
    above = [top - BAND_MM, *([bottom] if full else [])]
    beside = [right, *([left - BAND_MM] if full else [])]
    columns = (left, *field_edges(paper.width_mm), right)
    rows = (top, *field_edges(paper.height_mm), bottom)
    for y in above:
        for x in columns[1:-1]:
            yield Path(((x, y), (x, y + BAND_MM)), line)
        for number, (a, b) in enumerate(pairwise(columns), start=1):
            yield _grid_text(str(number), ((a + b) / 2, y + BAND_MM / 2))
    for x in beside:
        for y in rows[1:-1]:
            yield Path(((x, y), (x + BAND_MM, y)), line)
        for letter, (a, b) in zip(ROW_LETTERS, pairwise(rows), strict=False):
            yield _grid_text(letter, (x + BAND_MM / 2, (a + b) / 2))


def _grid_text(text: str, at: XY) -> Text:
    return Text(at, text, GRID_LETTERING_MM, across="middle", up="middle")


def _centring_marks(paper: Paper) -> Iterator[Path]:
    """Yield the four marks on the sheet's axes: from the band to 10 mm inside the frame (4.3).

    On A4 the title block fills the foot, so the lower mark ends at the frame.
    """
    left, top, right, bottom = paper.frame
    x, y = paper.width_mm / 2, paper.height_mm / 2
    foot = bottom - MARK_REACH_MM if paper.grid_all_round else bottom
    stroke = Stroke(Ink.OUTLINE, width_mm=FRAME_LINE_MM)
    yield Path(((x, top - BAND_MM), (x, top + MARK_REACH_MM)), stroke)
    yield Path(((x, bottom + BAND_MM), (x, foot)), stroke)
    yield Path(((left - BAND_MM, y), (left + MARK_REACH_MM, y)), stroke)
    yield Path(((right + BAND_MM, y), (right - MARK_REACH_MM, y)), stroke)
