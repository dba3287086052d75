"""Figures and tables as text."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence


def mm_text(value_mm: float | None) -> str:
    """Return a length with one decimal, or as many as keep it from reading as nothing.

    >>> mm_text(12.0), mm_text(-0.004), mm_text(math.inf), mm_text(None)
    ('12.0', '-0.004', 'open', '-')
    """
    if value_mm is None:
        return "-"
    if math.isinf(value_mm):
        return "open"
    for decimals in (1, 2, 3):
        text = f"{value_mm:.{decimals}f}"
        if float(text) != 0.0:
            return text
    return "0.0"


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], *, right: frozenset[int], width: int
) -> list[str]:
    """Return a table as lines; the last column is wrapped so that no line passes `width`.

    `right` holds the numbers of the columns that are set flush right.
    """
    every = row_lines(head, rows, right=right, width=width)
    return [line for lines in every for line in lines]


def row_lines(
    head: Sequence[str], rows: Sequence[Sequence[str]], *, right: frozenset[int], width: int
) -> list[list[str]]:
    """Return the lines of the head and of each row of a table, as in `table`."""
    last = len(head) - 1
    sizes = [max(len(row[k]) for row in (head, *rows)) for k in range(last)]
    indent = sum(sizes) + 2 * last
    every = []
    for row in (head, *rows):
        cells = [
            row[k].rjust(sizes[k]) if k in right else row[k].ljust(sizes[k]) for k in range(last)
        ]
        wrapped = [
            line
            for part in row[last].split("\n")
            for line in textwrap.wrap(part, max(24, width - indent)) or [""]
        ]
        first = "  ".join([*cells, wrapped[0]])
        every.append([first.rstrip(), *(" " * indent + more for more in wrapped[1:])])
    return every
