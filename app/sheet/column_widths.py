"""How the columns of a table share its width, so that it takes as little height as it may."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import permutations

from app.drawing.fontmetrics import text_width_mm

STEPS_MM = (16.0, 8.0, 4.0, 2.0, 1.0)
"""By how much one column is widened at the cost of another, the coarse steps first."""

LEAST_MM = 12.0
_BALANCE = 1e-2
"""Share of the heights of all cells, parts of lines included, that counts beside the rows'.

It leads on where a step alone makes no row lower.
"""


_BROKEN = 100.0
"""What a millimetre weighs that a word is wider than its cell, for it would be broken."""


@dataclass(frozen=True)
class CellText:
    """What a cell says, how large, and the distance of its lines (mm)."""

    text: str
    height_mm: float
    line_mm: float
    bold: bool = False

    def width_mm(self, text: str) -> float:
        """Return how wide a text is in the cell's lettering."""
        return text_width_mm(text, self.height_mm, bold=self.bold)

    @property
    def word_mm(self) -> float:
        """Width of the longest word."""
        return max((self.width_mm(one) for one in self.text.split()), default=0.0)


@dataclass(frozen=True)
class _Measured:
    """The widths of a cell's words, paragraph by paragraph, and of the space between them."""

    paragraphs: tuple[tuple[float, ...], ...]
    space: float
    word: float
    line_mm: float

    @classmethod
    def of(cls, cell: CellText) -> _Measured:
        paragraphs = tuple(
            tuple(cell.width_mm(word) for word in one.split())
            for one in cell.text.splitlines() or [""]
        )
        return cls(paragraphs, cell.width_mm(" "), cell.word_mm, cell.line_mm)

    def tall_mm(self, room_mm: float) -> tuple[float, float]:
        """Return how high it stands in some room, and how high with parts of lines."""
        lines, parts = 0, 0.0
        for words in self.paragraphs:
            lines += 1
            at = -self.space
            for word in words:
                at += self.space + word
                if at > room_mm and at > word:
                    lines += 1
                    at = word
            parts += max(1.0, (sum(words) + self.space * len(words)) / room_mm)
        return lines * self.line_mm, parts * self.line_mm


@dataclass
class _Table:
    """Rows of cells by column, with what was worked out for a column at a width."""

    columns: Sequence[Sequence[_Measured]]
    pad_mm: float
    known: dict[tuple[int, float], tuple[list[float], float]] = field(default_factory=dict)

    def heights(self, column: int, width_mm: float) -> tuple[list[float], float]:
        """Return the heights of a column's cells at a width, and what else counts of them."""
        key = (column, round(width_mm, 3))
        if key not in self.known:
            room = width_mm - 2 * self.pad_mm
            cells = self.columns[column]
            tall = [one.tall_mm(room) for one in cells]
            broken = sum(max(0.0, one.word - room) for one in cells)
            beside = _BALANCE * sum(parts for _, parts in tall) + _BROKEN * broken
            self.known[key] = ([lines for lines, _ in tall], beside)
        return self.known[key]

    def cost(self, widths: Sequence[float]) -> float:
        """Return what a choice of widths costs: the height of all rows, and a little more."""
        every = [self.heights(k, width) for k, width in enumerate(widths)]
        rows: float = sum(max(row) for row in zip(*(lines for lines, _ in every), strict=True))
        return rows + sum(beside for _, beside in every)


def balanced(
    columns: Sequence[Sequence[CellText]],
    widths: Sequence[float],
    fixed: Sequence[bool],
    pad_mm: float,
) -> list[float]:
    """Return widths of the same sum at which the rows are lower together.

    `columns` are the cells of each column from the top down, `widths` what to begin with; those
    that are `fixed` stay, and none becomes narrower than 12 mm. Words are broken only where there
    is no help. Every cell keeps `pad_mm` free on both sides.
    """
    table = _Table([[_Measured.of(cell) for cell in cells] for cells in columns], pad_mm)
    best = list(widths)
    cost = table.cost(best)
    free = [k for k, stays in enumerate(fixed) if not stays]
    for step in STEPS_MM:
        improved = True
        while improved:
            improved = False
            for wider, narrower in permutations(free, 2):
                tried = list(best)
                tried[wider] += step
                tried[narrower] -= step
                if tried[narrower] < LEAST_MM:
                    continue
                now = table.cost(tried)
                if now < cost - 1e-9:
                    best, cost, improved = tried, now, True
    return best
