"""How large letters, arrows and line widths are drawn, for a screen or for a scale on paper."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from app.drawing.primitives import Fill, Hatch, Ink, LineType, Stroke
from app.drawing.verdict_words import figure_text, inch_text, plain_figure

if TYPE_CHECKING:
    from typing import Self

CAP_PX = 8.75
"""Height of capitals on screen: a 12 px font of the shipped face."""

CAP_ON_PAPER_MM = 2.5
"""Height of capitals on paper, from the series of ISO 3098."""

WIDE_ON_PAPER_MM = 0.5
NARROW_ON_PAPER_MM = 0.25
"""Line group 0.5 of ISO 128-24: visible outlines wide, all else half as wide."""


@dataclass(frozen=True, slots=True)
class Drafting:
    """Sizes of annotation, in the millimetres of the drawing (world millimetres on the board).

    `unit_mm` is one pixel on screen at 100 %, or a quarter millimetre on paper: the size under
    which a detail is not worth drawing is counted in it. Figures are in millimetres or in `inches`.
    """

    unit_mm: float
    cap_mm: float
    wide_mm: float
    narrow_mm: float
    inches: bool = False

    @classmethod
    def on_screen(cls, mm_per_px: float, *, inches: bool = False) -> Self:
        """Return the sizes for a screen on which one pixel shows `mm_per_px`."""
        return cls(mm_per_px, CAP_PX * mm_per_px, 1.8 * mm_per_px, 0.9 * mm_per_px, inches)

    @classmethod
    def on_paper(cls, one_to: float) -> Self:
        """Return the sizes for paper at the scale 1 : `one_to`."""
        return cls(
            NARROW_ON_PAPER_MM * one_to,
            CAP_ON_PAPER_MM * one_to,
            WIDE_ON_PAPER_MM * one_to,
            NARROW_ON_PAPER_MM * one_to,
        )

    def figure(self, mm: float) -> str:
        """Return a length as it is written, to 0.1 mm or to 0.001 in."""
        return inch_text(mm) if self.inches else figure_text(mm)

    def size(self, mm: float) -> str:
        """Return a nominal size as it is written, millimetres without decimals that are nought."""
        return inch_text(mm) if self.inches else plain_figure(mm)

    @property
    def small_cap_mm(self) -> float:
        """Height of the smaller lettering: the labels of parts, the notes beside figures."""
        return self.cap_mm * 0.86

    @property
    def arrow_mm(self) -> float:
        """Length of an arrow head."""
        return self.cap_mm * 1.05

    @property
    def balloon_mm(self) -> float:
        """Radius of a balloon."""
        return self.cap_mm * 1.3

    @property
    def hatch_mm(self) -> float:
        """Distance between the lines of a hatch."""
        return self.cap_mm * 0.75

    def wide(self, ink: Ink, line_type: LineType = LineType.CONTINUOUS) -> Stroke:
        """Return a wide line (visible outlines)."""
        return _stroke(ink, line_type, self.wide_mm)

    def narrow(self, ink: Ink, line_type: LineType = LineType.CONTINUOUS) -> Stroke:
        """Return a narrow line (dimensions, hidden edges, centre lines, hatches)."""
        return _stroke(ink, line_type, self.narrow_mm)

    def hatch(self, ink: Ink, kind: Hatch, spacing: float = 1.0) -> Fill:
        """Return a hatch, its lines `spacing` times the usual distance apart."""
        return Fill(ink, kind, self.hatch_mm * spacing, self.narrow_mm * 0.8)


@lru_cache(maxsize=512)
def _stroke(ink: Ink, line_type: LineType, width_mm: float) -> Stroke:
    """Return a stroke; the same one each time, since thousands are asked for and few differ."""
    return Stroke(ink, line_type, width_mm)
