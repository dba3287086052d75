"""Which rectangles of two lists meet: whole lists at a time, since a board has hundreds of them."""

from __future__ import annotations

from bisect import bisect_right
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.drawing.owners import Shown
    from app.drawing.primitives import XY, Bounds

ROWS_AT_A_TIME = 512
"""How many rows of the table of who meets whom are held at a time."""


def nearer_owners(
    ordered: tuple[Shown, ...], boxes: Sequence[Bounds]
) -> tuple[tuple[Shown, ...], ...]:
    """Return for each owner, painted in this order, those that come later and cross its box."""
    return tuple(
        tuple([ordered[other] for other in found[bisect_right(found, place) :]])
        for place, found in enumerate(meeting(boxes, boxes))
    )


def meeting(boxes: Sequence[Bounds], others: Sequence[Bounds]) -> Iterator[list[int]]:
    """Yield for each box the places of those `others` that share more than a border with it."""
    if not others:
        yield from ([] for _ in boxes)
        return
    b = np.array(others, dtype=np.float64)
    for start in range(0, len(boxes), ROWS_AT_A_TIME):
        a = np.array(boxes[start : start + ROWS_AT_A_TIME], dtype=np.float64)[:, None, :]
        meet = (a[..., 0] < b[:, 2]) & (b[:, 0] < a[..., 2])
        meet &= (a[..., 1] < b[:, 3]) & (b[:, 1] < a[..., 3])
        rows, columns = np.nonzero(meet)
        ends = np.searchsorted(rows, np.arange(len(a) + 1)).tolist()
        found = columns.tolist()
        for low, high in pairwise(ends):
            yield found[low:high]


def crossed(boxes: Sequence[Bounds], lines: Sequence[tuple[XY, XY]]) -> list[list[int]]:
    """Return for each box the places of the straight lines that run through it.

    By Liang and Barsky: the part of a line between all four sides of a box.
    """
    found: list[list[int]] = [[] for _ in boxes]
    if not boxes or not lines:
        return found
    b = np.array(boxes, dtype=np.float64)[:, None, :]
    ends = np.array(lines, dtype=np.float64)
    low = np.zeros((len(boxes), len(lines)))
    high = np.ones_like(low)
    outside = np.zeros(low.shape, dtype=bool)
    for k in (0, 1):
        start, step = ends[:, 0, k], ends[:, 1, k] - ends[:, 0, k]
        least, most = b[..., k], b[..., k + 2]
        still = step == 0.0
        outside |= still & ~((least < start) & (start < most))
        safe = np.where(still, 1.0, step)
        one, other = (least - start) / safe, (most - start) / safe
        low = np.where(still, low, np.maximum(low, np.minimum(one, other)))
        high = np.where(still, high, np.minimum(high, np.maximum(one, other)))
    rows, columns = np.nonzero(~outside & (low < high))
    for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
        found[row].append(column)
    return found
