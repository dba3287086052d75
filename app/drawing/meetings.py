"""Which rectangles of two lists meet: whole lists at a time, since a board has hundreds of them."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.drawing.owners import Shown
    from app.drawing.primitives import Bounds

ROWS_AT_A_TIME = 512
"""How many rows of the table of who meets whom are held at a time."""


def nearer_owners(
    ordered: tuple[Shown, ...], boxes: Sequence[Bounds]
) -> tuple[tuple[Shown, ...], ...]:
    """Return for each owner, painted in this order, those that come later and cross its box."""
    return tuple(
        tuple(ordered[other] for other in found if other > place)
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
        yield from (found[low:high] for low, high in itertools.pairwise(ends))
