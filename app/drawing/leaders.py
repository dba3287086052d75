"""What stands outside a view and points into it with a leader (ISO 6433, ISO 128-2).

Balloons of a board and of a sheet stand in other places, but alike: in a line, apart from each
other, each as near to what it points at as its neighbours let it, and no two leaders cross.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate, combinations, pairwise
from typing import NamedTuple

from app.drawing.primitives import XY, Circle, Fill, Ink, Path, Primitive, Stroke, Text


class Leader(NamedTuple):
    """What a balloon or a reference points at, and the middle of where it stands."""

    target: XY
    place: XY


def spread_out(
    wanted: Sequence[float], halves: Sequence[float], low: float, high: float, apart: float
) -> list[float]:
    """Return middles in the order of `wanted` that do not meet, within `low` to `high`.

    Each takes up twice its half, and `apart` lies between neighbours. Together they are as near to
    what is wanted as can be, by least squares: those that come too near each other are put together
    about the mean of what they want (pool adjacent violators). More than the length takes run over
    `high`.
    """
    if not wanted:
        return []
    # Less its way from the first, each middle need only not be less than the one before it.
    steps = [one + apart + other for one, other in pairwise(halves)]
    ways = list(accumulate(steps, initial=0.0))
    blocks: list[tuple[float, int]] = []
    for want, way in zip(wanted, ways, strict=True):
        mean, count = want - way, 1
        while blocks and blocks[-1][0] > mean:
            before, n = blocks.pop()
            mean, count = (before * n + mean * count) / (n + count), n + count
        blocks.append((mean, count))
    least = low + halves[0]
    most = max(least, high - halves[-1] - ways[-1])
    means = (mean for mean, count in blocks for _ in range(count))
    return [max(least, min(mean, most)) + way for mean, way in zip(means, ways, strict=True)]


def uncrossed(
    leaders: Sequence[Leader], alike: Callable[[int, int], bool] = lambda _i, _j: True
) -> tuple[Leader, ...]:
    """Return leaders that have changed places until no two of them cross, in the same order.

    Only those change places that are `alike` by their numbers in the order. Each change makes the
    leaders shorter together, so it comes to an end.
    """
    found = list(leaders)
    pairs = [pair for pair in combinations(range(len(found)), 2) if alike(*pair)]
    changed = True
    while changed:
        changed = False
        for i, j in pairs:
            one, other = found[i], found[j]
            if not _meet(one, other):
                continue
            swapped = one._replace(place=other.place), other._replace(place=one.place)
            if sum(map(_length, swapped)) < _length(one) + _length(other):
                found[i], found[j] = swapped
                changed = True
    return tuple(found)


def _length(one: Leader) -> float:
    return math.dist(one.target, one.place)


def _meet(one: Leader, other: Leader) -> bool:
    """Whether two leaders cross, or touch where one ends."""
    return (
        _beside(one, other.target) * _beside(one, other.place) <= 0.0
        and _beside(other, one.target) * _beside(other, one.place) <= 0.0
    )


def _beside(one: Leader, point: XY) -> float:
    (x0, y0), (x1, y1) = one
    return (x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0)


def leader_primitives(
    one: Leader, half: XY, line: Stroke, dot_mm: float, *, round_end: bool = True
) -> Iterator[Primitive]:
    """Yield a line that begins at what stands outside, and the dot within the outline it means.

    What stands outside reaches `half` to each side of its middle: a ring, or else a rectangle.
    """
    (x, y), (to_x, to_y) = one.place, one.target
    away_x, away_y = to_x - x, to_y - y
    if round_end:
        length = math.hypot(away_x, away_y)
        share = half[0] / length if length else 1.0
    else:
        share = min(
            (h / abs(a) for h, a in zip(half, (away_x, away_y), strict=True) if a), default=1
        )
    if share < 1.0:
        yield Path(((x + away_x * share, y + away_y * share), one.target), line)
    # A dot ends a leader inside an outline (ISO 128-2).
    yield Circle(one.target, dot_mm, None, Fill(line.ink, solid=True))


def balloon_primitives(
    middle: XY, radius_mm: float, number: str, cap_mm: float, ring: Stroke, ground: Ink = Ink.PAPER
) -> tuple[Primitive, ...]:
    """Return a number in a ring, both in the ink of the ring."""
    return (
        Circle(middle, radius_mm, ring, Fill(ground)),
        Text(middle, number, cap_mm, ring.ink, "middle", "middle", bold=True),
    )
