"""Ruled tables with wrapped cells, as blocks that flow over columns and sheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from app.drawing.fontmetrics import text_width_mm
from app.drawing.primitives import XY, Circle, Ink, LineType, Path, Primitive, Stroke, Text
from app.sheet.column_widths import LEAST_MM, CellText, balanced
from app.sheet.flow import Block, Piece
from app.sheet.lettering import wrapped
from app.sheet.scaled import moved

TITLE_MM = 3.5
BODY_MM = 2.5
LABEL_MM = 1.8
LEADING = 1.5
"""Line distance over lettering height (ISO 3098-1: at least 1.4 for lettering B)."""

PAD_MM = 1.0
"""What a cell keeps free on both sides of its text."""

_ROW_PAD_MM = 1.3
_MOST_LINES = 30
"""A cell of more lines goes on in a further row, so that no row outgrows a sheet."""

ALONE_MM = 15.0
"""A first row so high may stand alone under its heading; a lower one has another with it."""

Align = Literal["left", "middle", "right"]


@dataclass(frozen=True)
class ColumnSpec:
    """A column: its heading, its width, how its cells stand.

    `width` is in mm for a `fixed` column, which is wider only where a word needs it; the others
    share what is left, about in proportion to it, so that the rows take little height. The last
    one may be `below`: its cells then stand under the others of their row, over the width of all
    but the first, wherever the table is lower so.
    """

    heading: str
    width: float
    align: Align = "left"
    fixed: bool = False
    below: bool = False


@dataclass(frozen=True)
class Cell:
    """Text of one cell; `ring` draws a balloon of that ink round it, `heavy` or light.

    `height_mm` is the lettering height where it is not the table's.
    """

    text: str
    bold: bool = False
    ink: Ink = Ink.TEXT
    ring: Ink | None = None
    heavy: bool = True
    height_mm: float | None = None


Row = tuple[Cell | str, ...]


def table_block(
    key: str,
    title: str,
    columns: Sequence[ColumnSpec],
    rows: Sequence[Row],
    width_mm: float,
    *,
    empty: str = "None.",
    body_mm: float = BODY_MM,
) -> Block:
    """Lay a table out at a width: its title, its column headings, its rows.

    A table without rows says `empty` in their place. A row of a single cell goes over all columns
    and leads the rows below it.
    """
    if not rows:
        columns, rows = [ColumnSpec("", 1.0)], [(empty,)]
    every = [[cell if isinstance(cell, Cell) else Cell(cell) for cell in row] for row in rows]
    forms = [_beside(columns, every, width_mm, body_mm)]
    if columns[-1].below:
        forms.append(_below(columns, every, width_mm, body_mm))
    blocks = [
        Block(
            key,
            form.heading(title),
            form.heading(f"{title} (continued)"),
            tuple(piece for cells in every for piece in form.pieces(cells, body_mm)),
        )
        for form in forms
    ]
    lowest = min(blocks, key=lambda block: block.height_mm)
    alone = lowest.rows[0].height_mm >= ALONE_MM
    return replace(lowest, least_rows=1 if alone else min(2, len(lowest.rows)))


@dataclass(frozen=True)
class _Form:
    """How the rows of a table stand: columns side by side, and perhaps one `under` them all."""

    columns: Sequence[ColumnSpec]
    widths: Sequence[float]
    under: ColumnSpec | None = None

    def heading(self, title: str) -> Piece:
        """Return the title and the heads of the columns over a line."""
        top = title_piece(title, sum(self.widths))
        if not any(column.heading for column in self.columns):
            return top
        parts, foot = _heads(self.columns, self.widths, top.height_mm)
        if self.under is not None:
            at = foot + LABEL_MM * (LEADING - 1)
            more, foot = _heads([self.under], [sum(self.widths[1:])], at)
            parts += [moved(one, (self.widths[0], 0.0)) for one in more]
        foot += 1.2
        line = Path(((0.0, foot), (sum(self.widths), foot)), Stroke(Ink.OUTLINE, width_mm=0.18))
        return Piece(foot + 0.4, (*top.primitives, *parts, line))

    def pieces(self, cells: Sequence[Cell], body_mm: float) -> Iterator[Piece]:
        """Yield a row, in parts where it is very high, each over a line."""
        width_mm = sum(self.widths)
        if len(cells) == 1 < len(self.columns) + (self.under is not None):
            for piece in _row_pieces(cells, [ColumnSpec("", 1.0)], [width_mm], body_mm):
                yield replace(_ruled(piece, width_mm), leads=True)
            return
        if self.under is None:
            own = list(_row_pieces(cells, self.columns, self.widths, body_mm))
        else:
            *upper, last = _row_pieces(cells[:-1], self.columns, self.widths, body_mm)
            first, *lower = self._under_pieces(cells[-1], body_mm)
            own = [*upper, _joined(last, first), *lower]
        yield from (_ruled(piece, width_mm) for piece in own)

    def _under_pieces(self, cell: Cell, body_mm: float) -> Iterator[Piece]:
        """Yield what stands under the others, from the second column on."""
        assert self.under is not None
        room_mm = sum(self.widths[1:])
        for piece in _row_pieces([cell], [self.under], [room_mm], cell.height_mm or body_mm):
            shifted = tuple(moved(one, (self.widths[0], 0.0)) for one in piece.primitives)
            yield replace(piece, primitives=shifted)


def _beside(
    columns: Sequence[ColumnSpec],
    rows: Sequence[Sequence[Cell]],
    width_mm: float,
    body_mm: float,
) -> _Form:
    return _Form(columns, _widths(columns, rows, width_mm, body_mm))


def _below(
    columns: Sequence[ColumnSpec],
    rows: Sequence[Sequence[Cell]],
    width_mm: float,
    body_mm: float,
) -> _Form:
    """Return the form in which the last column stands under the others, which share its room."""
    whole = [row[:-1] for row in rows if len(row) == len(columns)]
    widths = _widths(columns[:-1], whole, width_mm, body_mm)
    wider = width_mm / sum(widths)
    return _Form(columns[:-1], [wider * width for width in widths], columns[-1])


def _joined(upper: Piece, lower: Piece) -> Piece:
    """Return two parts of a row as one, the lower close under the upper."""
    top = upper.height_mm - _ROW_PAD_MM
    under = tuple(moved(one, (0.0, top)) for one in lower.primitives)
    return Piece(top + lower.height_mm, (*upper.primitives, *under))


def _ruled(piece: Piece, width_mm: float) -> Piece:
    foot = piece.height_mm
    line = Path(((0.0, foot), (width_mm, foot)), Stroke(Ink.MUTED, width_mm=0.13))
    return replace(piece, primitives=(*piece.primitives, line))


def _widths(
    columns: Sequence[ColumnSpec],
    rows: Sequence[Sequence[Cell]],
    width_mm: float,
    body_mm: float,
) -> list[float]:
    whole = [row for row in rows if len(row) == len(columns)]
    heads = [CellText(column.heading, LABEL_MM, LABEL_MM * LEADING) for column in columns]
    texts = [
        [head, *(_cell_text(row[k], body_mm) for row in whole)] for k, head in enumerate(heads)
    ]
    fixed = _fixed_mm(columns, texts, width_mm)
    left_mm = width_mm - sum(fixed.values())
    shares = sum(column.width for column in columns if not column.fixed)
    first = [
        fixed[k] if k in fixed else column.width / shares * left_mm
        for k, column in enumerate(columns)
    ]
    return balanced(texts, first, [column.fixed for column in columns], PAD_MM)


def _fixed_mm(
    columns: Sequence[ColumnSpec], texts: Sequence[Sequence[CellText]], width_mm: float
) -> dict[int, float]:
    """Return the widths of fixed columns by number, that of their longest words where it may be.

    They grow for their words only while every free column keeps its least.
    """
    fixed = {k: column.width for k, column in enumerate(columns) if column.fixed}
    free = len(columns) - len(fixed)
    growth = {
        k: max(0.0, max(one.word_mm for one in texts[k]) + 2 * PAD_MM - mm)
        for k, mm in fixed.items()
    }
    room_mm = max(0.0, width_mm - free * LEAST_MM - sum(fixed.values()))
    wanted_mm = sum(growth.values())
    share = 1.0 if wanted_mm <= room_mm else room_mm / wanted_mm
    return {k: mm + share * growth[k] for k, mm in fixed.items()}


def _cell_text(cell: Cell, body_mm: float) -> CellText:
    height = cell.height_mm or body_mm
    return CellText(cell.text, height, height * LEADING, cell.bold)


def title_piece(title: str, width_mm: float) -> Piece:
    """Return a block's title over a line."""
    lines = wrapped(title, width_mm, TITLE_MM, bold=True)
    texts = [
        Text((0.0, TITLE_MM + k * TITLE_MM * LEADING), line, TITLE_MM, bold=True)
        for k, line in enumerate(lines)
    ]
    foot = texts[-1].at[1] + 2.0
    line = Path(((0.0, foot), (width_mm, foot)), Stroke(Ink.OUTLINE, width_mm=0.35))
    return Piece(foot + 0.8, (*texts, line))


def _heads(
    columns: Sequence[ColumnSpec], widths: Sequence[float], top: float
) -> tuple[list[Primitive], float]:
    """Return the heads of columns below `top`, and where the lowest of them ends."""
    step = LABEL_MM * LEADING
    parts: list[Primitive] = []
    most = 1
    for column, x, width in _stands(columns, widths):
        lines = wrapped(column.heading, width - 2 * PAD_MM, LABEL_MM)
        most = max(most, len(lines))
        for k, line in enumerate(lines):
            y = top + LABEL_MM + k * step
            parts.append(_placed(line, column.align, x, width, y, LABEL_MM, Ink.MUTED))
    return parts, top + LABEL_MM + (most - 1) * step


def _stands(
    columns: Sequence[ColumnSpec], widths: Sequence[float]
) -> Iterator[tuple[ColumnSpec, float, float]]:
    x = 0.0
    for column, width in zip(columns, widths, strict=True):
        yield column, x, width
        x += width


def _row_pieces(
    cells: Sequence[Cell], columns: Sequence[ColumnSpec], widths: Sequence[float], body_mm: float
) -> Iterator[Piece]:
    lines = [
        wrapped(cell.text, width - 2 * PAD_MM, cell.height_mm or body_mm, bold=cell.bold)
        for cell, width in zip(cells, widths, strict=True)
    ]
    most = max(len(one) for one in lines)
    for start in range(0, most, _MOST_LINES):
        shown = [one[start : start + _MOST_LINES] for one in lines]
        yield _row_piece(cells, shown, columns, widths, body_mm, rings=start == 0)


def _row_piece(
    cells: Sequence[Cell],
    lines: Sequence[Sequence[str]],
    columns: Sequence[ColumnSpec],
    widths: Sequence[float],
    body_mm: float,
    *,
    rings: bool,
) -> Piece:
    ringed = rings and any(cell.ring is not None for cell in cells)
    first = _ROW_PAD_MM + body_mm
    foot = first + _ROW_PAD_MM
    if ringed:
        first = _ROW_PAD_MM / 2 + ring_radius_mm(body_mm) + body_mm / 2
        foot = _ROW_PAD_MM + 2 * ring_radius_mm(body_mm)
    parts: list[Primitive] = []
    for cell, shown, (column, x, width) in zip(cells, lines, _stands(columns, widths), strict=True):
        if cell.ring is not None and ringed:
            parts.extend(_ring(cell, (x + width / 2, first - body_mm / 2), body_mm))
            continue
        height = cell.height_mm or body_mm
        step = height * LEADING
        for k, line in enumerate(shown):
            y = first + k * step
            parts.append(_placed(line, column.align, x, width, y, height, cell.ink, cell.bold))
        foot = max(foot, first + (len(shown) - 1) * step + _ROW_PAD_MM)
    return Piece(foot, tuple(parts))


def _ring(cell: Cell, middle: XY, body_mm: float) -> Iterator[Primitive]:
    assert cell.ring is not None
    yield Circle(middle, ring_radius_mm(body_mm), ring_stroke(cell.ring, heavy=cell.heavy))
    yield Text(middle, cell.text, body_mm, cell.ink, across="middle", up="middle", bold=True)


def ring_stroke(ink: Ink, *, heavy: bool) -> Stroke:
    """Return the line of a balloon: heavy for what is blocked, light and dashed for tight."""
    return Stroke(ink, width_mm=0.5) if heavy else Stroke(ink, LineType.DASHED, 0.25)


def ring_radius_mm(body_mm: float) -> float:
    """Return the radius of a balloon round two digits of a height (ISO 6433: one size for all)."""
    return max(body_mm, text_width_mm("88", body_mm, bold=True) / 2 + 0.5)


def _placed(
    line: str,
    align: Align,
    x: float,
    width: float,
    y: float,
    height: float,
    ink: Ink = Ink.TEXT,
    bold: bool = False,
) -> Text:
    at = {"left": x + PAD_MM, "middle": x + width / 2, "right": x + width - PAD_MM}[align]
    return Text((at, y), line, height, ink, across=align, bold=bold)
