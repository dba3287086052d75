"""Heights at which things lie on each other, such that few of them need another when one moves."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise

STEP = 1.0
LEAST_GAP = 1e-6
"""Nearer together than this two heights may come to be taken for one: all are dealt out anew."""


def stacked(heights: Sequence[float | None]) -> list[float]:
    """Return heights that rise from each thing to the next, most of them as they were.

    `heights` are what the things have, from the lowest to the highest as wanted; None has none yet.
    As many as can be keep theirs (the longest rising run); the others come to lie between.
    """
    known = [height for height in heights if height is not None]
    if len(known) == len(heights) and all(low < high for low, high in pairwise(known)):
        return known
    kept = _longest_rising(heights)
    out: list[float] = []
    for low, high in pairwise([-1, *kept, len(heights)]):
        if low >= 0:
            out.append(_height(heights, low))
        count = high - low - 1
        if high == len(heights):
            start = out[-1] if out else 0.0
            out.extend(start + STEP * k for k in range(1, count + 1))
            continue
        above = _height(heights, high)
        below = out[-1] if out else above - STEP * (count + 1)
        out.extend(below + (above - below) * k / (count + 1) for k in range(1, count + 1))
    if any(above - below < LEAST_GAP for below, above in pairwise(out)):
        return [STEP * k for k in range(1, len(heights) + 1)]
    return out


def _height(heights: Sequence[float | None], place: int) -> float:
    found = heights[place]
    assert found is not None
    return found


def _longest_rising(heights: Sequence[float | None]) -> list[int]:
    """Return the places of the longest run of heights that rise (patience sorting)."""
    tops: list[float] = []
    ends: list[int] = []
    before: list[int] = [-1] * len(heights)
    for place, height in enumerate(heights):
        if height is None:
            continue
        pile = bisect_left(tops, height)
        before[place] = ends[pile - 1] if pile else -1
        if pile == len(tops):
            tops.append(height)
            ends.append(place)
        else:
            tops[pile], ends[pile] = height, place
    run: list[int] = []
    place = ends[-1] if ends else -1
    while place >= 0:
        run.append(place)
        place = before[place]
    return run[::-1]
