"""Blocks of rows that flow from one column to the next, and on to further sheets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from app.drawing.primitives import Bounds, Primitive
from app.sheet.scaled import moved
from geometry.measures.tolerance import LENGTH_EPS_MM

BLOCK_GAP_MM = 6.0
"""Room between two blocks of one column."""


@dataclass(frozen=True)
class Piece:
    """Something of a fixed height that is never cut: a row, a heading; drawn from its top left.

    One that `leads` stands over the next one in the same column.
    """

    height_mm: float
    primitives: tuple[Primitive, ...]
    leads: bool = False


@dataclass(frozen=True)
class Block:
    """A heading and its rows; the heading is repeated, as continued, wherever rows go on.

    `least_rows` of them stay together with the first heading.
    """

    key: str
    heading: Piece
    continued: Piece
    rows: tuple[Piece, ...]
    least_rows: int = 1

    @property
    def height_mm(self) -> float:
        """Height of the whole block in one column."""
        return self.heading.height_mm + sum(row.height_mm for row in self.rows)


@dataclass(frozen=True)
class Column:
    """Room for blocks on one sheet (counted from 0)."""

    sheet: int
    box: Bounds


@dataclass(frozen=True)
class Laid:
    """Primitives of a block in their place on a sheet."""

    sheet: int
    key: str
    primitives: tuple[Primitive, ...]


def flow(blocks: Sequence[Block], columns: Iterable[Column]) -> list[Laid]:
    """Return `blocks` laid one after the other into `columns`, which must not run out.

    A block goes on in the next column when its next row does not fit. A row must not be higher
    than the columns of further sheets less a heading; one that is runs over the foot.
    """
    places = iter(columns)
    column = next(places)
    y = column.box[1]
    laid: list[Laid] = []
    for block in blocks:
        head = block.heading
        first = head.height_mm + sum(row.height_mm for row in block.rows[: block.least_rows])
        while True:
            started = y > column.box[1]
            if y + (BLOCK_GAP_MM if started else 0.0) + first <= column.box[3] + LENGTH_EPS_MM:
                break
            if column.sheet > 0 and not started:
                break
            column = next(places)
            y = column.box[1]
        if started:
            y += BLOCK_GAP_MM
        drawn = _put(head, column, y)
        y += head.height_mm
        for row, after in zip(block.rows, (*block.rows[1:], None), strict=True):
            led_mm = after.height_mm if row.leads and after is not None else 0.0
            if y + row.height_mm + led_mm > column.box[3] + LENGTH_EPS_MM:
                laid.append(Laid(column.sheet, block.key, tuple(drawn)))
                column = next(places)
                y = column.box[1]
                drawn = _put(block.continued, column, y)
                y += block.continued.height_mm
            drawn.extend(_put(row, column, y))
            y += row.height_mm
        laid.append(Laid(column.sheet, block.key, tuple(drawn)))
    return laid


def _put(piece: Piece, column: Column, y: float) -> list[Primitive]:
    return [moved(primitive, (column.box[0], y)) for primitive in piece.primitives]
