"""Which rectangles of two lists meet: whole lists at a time, since a board has hundreds of them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from itertools import filterfalse, pairwise, repeat
from typing import TYPE_CHECKING

import numpy as np

from app.drawing.labels import crosses
from app.drawing.views import far_to_near

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Seen, Shown
    from app.drawing.primitives import XY, Bounds

ROWS_AT_A_TIME = 512
"""How many rows of the table of who meets whom are held at a time."""

ONE_BY_ONE = 48
"""Up to so many lines that come near a box are looked at one by one, as is cheaper for few."""

FEW = 0.25
"""Up to this share of owners that moved, only what they meet is looked at anew."""


@dataclass(frozen=True, eq=False)
class Standing:
    """The owners of a view in the order in which they are painted, with their places in it.

    `seen` is how each shows, `boxes` are their rectangles, shape (n, 4), and `over` how those show
    that stand before each of them, cross its rectangle and hide what is behind them. `middles` tell
    how near they are, by which they are in order. Since the places `since`, only at those `anew`
    another one stands, or others before it.
    """

    view: ViewFrame
    ordered: tuple[Shown, ...]
    seen: tuple[Seen, ...]
    middles: tuple[tuple[float, str], ...]
    places: Mapping[Shown, int]
    boxes: NDArray[np.float64]
    over: tuple[tuple[Seen, ...], ...]
    since: Mapping[Shown, int] | None = None
    anew: tuple[int, ...] = ()

    def anew_since(self, places: Mapping[Shown, int] | None) -> Sequence[int]:
        """Return at which places others may stand, or stand before, than when they were so."""
        if places is self.places:
            return ()
        known = places is not None and places is self.since
        return self.anew if known else range(len(self.ordered))


def standing(
    owners: tuple[Shown, ...], view: ViewFrame, before: Standing | None = None
) -> Standing:
    """Return how owners stand in a view; what is as it was `before` is taken from there."""
    if before is None or before.view is not view:
        return _standing(owners, view)
    old = before.places
    gone = old.keys() - set(owners)
    new = list(filterfalse(old.__contains__, owners))
    if len(gone) + len(new) > FEW * len(owners):
        return _standing(owners, view)
    ordered, seen, middles = list(before.ordered), list(before.seen), list(before.middles)
    over = list(before.over)
    for shown in sorted(gone, key=old.__getitem__, reverse=True):
        place = old[shown]
        del ordered[place], seen[place], middles[place], over[place]
    for shown in new:
        one = shown.seen(view)
        place = bisect_left(middles, one.middle)
        ordered.insert(place, shown)
        seen.insert(place, one)
        middles.insert(place, one.middle)
        over.insert(place, ())
    if len(new) == len(gone) and all(ordered[old[shown]] not in old for shown in gone):
        # Each new one stands where another one is gone: the rest are where they were.
        places = dict(old)
        for shown in gone:
            place = places.pop(shown)
            places[ordered[place]] = place
        boxes = before.boxes.copy()
    else:
        places = dict(zip(ordered, range(len(ordered)), strict=True))
        boxes = before.boxes[list(map(old.get, ordered, repeat(0)))]
    for shown in new:
        boxes[places[shown]] = shown.seen(view).box
    # Who meets nothing that moved, here or where it stood, has the same before it as it had.
    moved = np.array([shown.seen(view).box for shown in (*gone, *new)]).reshape(-1, 4)
    touched = np.logical_or.reduce(_meet(moved, boxes)).nonzero()[0].tolist()
    anew = sorted({*touched, *(places[shown] for shown in new)})
    for place, found in zip(anew, _over(seen, boxes, anew), strict=True):
        over[place] = found
    return Standing(
        view,
        tuple(ordered),
        tuple(seen),
        tuple(middles),
        places,
        boxes,
        tuple(over),
        old,
        tuple(anew),
    )


def _standing(owners: tuple[Shown, ...], view: ViewFrame) -> Standing:
    """Return how owners stand in a view, worked out from nothing."""
    ordered = far_to_near(owners, view)
    seen = tuple([shown.seen(view) for shown in ordered])
    boxes = np.array([one.box for one in seen], dtype=np.float64).reshape(-1, 4)
    over = tuple(_over(seen, boxes, range(len(ordered))))
    places = {shown: place for place, shown in enumerate(ordered)}
    middles = tuple([one.middle for one in seen])
    return Standing(view, ordered, seen, middles, places, boxes, over)


def _over(
    seen: Sequence[Seen], boxes: NDArray[np.float64], places: Sequence[int]
) -> Iterator[tuple[Seen, ...]]:
    """Yield for those at some places what comes later, crosses their rectangles and hides them."""
    for place, row in zip(places, meeting(boxes[list(places)], boxes), strict=True):
        later = row[bisect_right(row, place) :]
        yield tuple([one for one in map(seen.__getitem__, later) if one.covers])


def meeting(
    boxes: Sequence[Bounds] | NDArray[np.float64], others: Sequence[Bounds] | NDArray[np.float64]
) -> Iterator[list[int]]:
    """Yield for each box the places of those `others` that share more than a border with it."""
    if not len(others):
        yield from ([] for _ in boxes)
        return
    b = np.asarray(others, dtype=np.float64)
    for start in range(0, len(boxes), ROWS_AT_A_TIME):
        a = np.asarray(boxes[start : start + ROWS_AT_A_TIME], dtype=np.float64)
        rows, columns = _meet(a, b).nonzero()
        ends = rows.searchsorted(np.arange(len(a) + 1)).tolist()
        found = columns.tolist()
        for low, high in pairwise(ends):
            yield found[low:high]


def _meet(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return the table of which rectangles meet which others, shape (len(a), len(b))."""
    ax0, ay0, ax1, ay1 = a.T[:, :, None]
    bx0, by0, bx1, by1 = b.T
    meet: NDArray[np.bool_] = ax0 < bx1
    meet &= bx0 < ax1
    meet &= ay0 < by1
    meet &= by0 < ay1
    return meet


def met(boxes: NDArray[np.float64], others: Sequence[Bounds]) -> dict[int, list[int]]:
    """Return the same by the place of the box, for those boxes alone that meet any."""
    found: dict[int, list[int]] = {}
    if others:
        rows, columns = _meet(boxes, np.array(others, dtype=np.float64)).nonzero()
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
            found.setdefault(row, []).append(column)
    return found


def crossed(
    boxes: Sequence[Bounds] | NDArray[np.float64], lines: Sequence[tuple[XY, XY]]
) -> dict[int, list[int]]:
    """Return by the place of a box the places of the straight lines that run through it.

    By Liang and Barsky: the part of a line between all four sides of a box.
    """
    found: dict[int, list[int]] = {}
    if not len(boxes) or not lines:
        return found
    b, ends = np.asarray(boxes, dtype=np.float64), np.array(lines, dtype=np.float64)
    # Only of a line whose own rectangle meets a box need be looked at more closely.
    least, most = ends.min(axis=1), ends.max(axis=1)
    near = (least[:, 0] <= b[:, 2, None]) & (b[:, 0, None] <= most[:, 0])
    near &= (least[:, 1] <= b[:, 3, None]) & (b[:, 1, None] <= most[:, 1])
    rows, columns = near.nonzero()
    if len(rows) > ONE_BY_ONE:
        run = _through(b[rows], ends[columns]).tolist()
    else:
        run = [
            crosses(lines[column], (box[0], box[1], box[2], box[3]))
            for column, box in zip(columns.tolist(), b[rows].tolist(), strict=True)
        ]
    for row, column, runs in zip(rows.tolist(), columns.tolist(), run, strict=True):
        if runs:
            found.setdefault(row, []).append(column)
    return found


def _through(boxes: NDArray[np.float64], lines: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell of each box and the line beside it, shape (n, 2, 2), whether that runs through it."""
    low, high = np.zeros(len(boxes)), np.ones(len(boxes))
    outside = np.zeros(len(boxes), dtype=bool)
    for k in (0, 1):
        start, step = lines[:, 0, k], lines[:, 1, k] - lines[:, 0, k]
        least, most = boxes[:, k], boxes[:, k + 2]
        still = step == 0.0
        outside |= still & ~((least < start) & (start < most))
        safe = np.where(still, 1.0, step)
        one, other = (least - start) / safe, (most - start) / safe
        low = np.where(still, low, np.maximum(low, np.minimum(one, other)))
        high = np.where(still, high, np.minimum(high, np.maximum(one, other)))
    through: NDArray[np.bool_] = ~outside & (low < high)
    return through
