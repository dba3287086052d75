"""Openings cut out of wall pieces: grilles, grommets, cable slots.

A box is cut exactly out of anything, and any opening exactly out of a piece along its own axis or
out of a box. Left is a round or slanted opening in a piece of another axis whose outline is not
straight where it is cut: there boxes drawn inside the opening are cut out, `STRIPS` to each bend,
so the wall is never understated. Round openings are cut as polygons drawn inside their circle
(see geometry.measures.rings).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import groupby, pairwise
from operator import itemgetter

import numpy as np
import shapely

from geometry.measures.prism import PLANE, Outline, Poly, Prism, Rect, turned, view
from geometry.measures.rings import flat_outlines, inner_polygon
from geometry.measures.strips import Span, Strip, joined, strips

STRIPS = 64


def cut_out(piece: Prism, openings: Iterable[Prism]) -> list[Prism]:
    """Return prisms that fill `piece` less all `openings`."""
    pieces = [piece]
    for opening in openings:
        pieces = [part for old in pieces for part in _cut_one(old, opening)]
    return pieces


def _cut_one(piece: Prism, opening: Prism) -> Iterator[Prism]:
    if not _meet(piece, opening):
        yield piece
    elif piece.is_box and opening.is_box:
        yield from _box_less_box(piece, opening)
    elif piece.is_box:
        yield from _cut_along(turned(piece, opening.axis), opening)
    elif opening.is_box:
        yield from _cut_along(piece, turned(opening, piece.axis))
    elif piece.axis == opening.axis:
        yield from _cut_along(piece, opening)
    else:
        yield from _cut_across(piece, opening)


def _meet(p: Prism, q: Prism) -> bool:
    a, b = p.bounds, q.bounds
    return all(a[k] < b[k + 3] and b[k] < a[k + 3] for k in range(3))


def _box_less_box(piece: Prism, opening: Prism) -> Iterator[Prism]:
    """Yield up to six boxes round the hole, peeled off one axis after another."""
    left, hole = list(piece.bounds), opening.bounds
    for k in (0, 1, 2):
        if left[k] < hole[k]:
            yield _block([*left[: k + 3], hole[k], *left[k + 4 :]])
            left[k] = hole[k]
        if hole[k + 3] < left[k + 3]:
            yield _block([*left[:k], hole[k + 3], *left[k + 1 :]])
            left[k + 3] = hole[k + 3]


def _block(bounds: list[float]) -> Prism:
    return Prism(2, Rect(bounds[0], bounds[1], bounds[3], bounds[4]), bounds[2], bounds[5])


def _cut_along(piece: Prism, opening: Prism) -> Iterator[Prism]:
    """Yield what is left of a piece when both lie along one axis."""
    low, high = max(piece.lo, opening.lo), min(piece.hi, opening.hi)
    if piece.lo < low:
        yield Prism(piece.axis, piece.outline, piece.lo, low)
    if high < piece.hi:
        yield Prism(piece.axis, piece.outline, high, piece.hi)
    rest = inner_polygon(piece.outline) - inner_polygon(opening.outline)
    for outline in flat_outlines(rest):
        yield Prism(piece.axis, outline, low, high)


def _cut_across(piece: Prism, opening: Prism) -> Iterator[Prism]:
    frame = view(opening, piece.axis)
    whole, window = inner_polygon(piece.outline), shapely.box(*frame.bounds())
    for outline in flat_outlines(whole - window):
        yield Prism(piece.axis, outline, piece.lo, piece.hi)
    for outline in flat_outlines(whole & window):
        inside = Prism(piece.axis, outline, piece.lo, piece.hi)
        if inside.is_box:
            yield from _cut_one(inside, opening)
        else:
            yield from _sliced(inside, opening)


def _sliced(piece: Prism, opening: Prism) -> Iterator[Prism]:
    """Yield what is left of a slanted piece that an opening goes right through, slice by slice."""
    across = PLANE[piece.axis].index(opening.axis)
    slices = list(_beside(opening, piece))
    for strip in strips(piece.outline, across):
        for t0, t1, spans in slices:
            low, high = max(t0, strip.t0), min(t1, strip.t1)
            if low < high:
                outline = _between(strip, low, high, across)
                yield from (Prism(piece.axis, outline, lo, hi) for lo, hi in spans)


def _beside(opening: Prism, piece: Prism) -> Iterator[tuple[float, float, tuple[Span, ...]]]:
    """Yield slices across the third axis, with the spans of a piece that are left beside its boxes.

    Slices that follow each other with the same spans are one.
    """
    third = 3 - opening.axis - piece.axis
    least, most = piece.bounds[third], piece.bounds[third + 3]
    every = _inscribed_boxes(opening, piece.axis)
    boxes = [box for box in every if box[0] < most and least < box[1]]
    levels = sorted({least, most} | {t for t0, t1, _, _ in boxes for t in (t0, t1)})
    holes: list[list[Span]] = [[] for _ in levels]
    for t0, t1, left, right in boxes:
        for at in range(bisect_left(levels, t0), bisect_left(levels, t1)):
            holes[at].append((left, right))
    found = (
        (t0, t1, _less((piece.lo, piece.hi), cut))
        for (t0, t1), cut in zip(pairwise(levels), holes, strict=False)
    )
    for spans, alike in groupby(found, key=itemgetter(2)):
        run = list(alike)
        yield run[0][0], run[-1][1], spans


def _less(span: Span, holes: list[Span]) -> tuple[Span, ...]:
    """Return what is left of a span, in ascending order."""
    at, end = span
    out = []
    for low, high in joined(holes):
        if at < min(low, end):
            out.append((at, min(low, end)))
        at = max(at, high)
    return (*out, (at, end)) if at < end else tuple(out)


def _between(strip: Strip, t0: float, t1: float, across: int) -> Outline:
    """Return the part of a strip with straight sides from `t0` to `t1`."""
    left, right = (strip.left(t0), strip.left(t1)), (strip.right(t0), strip.right(t1))
    if left[0] == left[1] and right[0] == right[1]:
        a, b = (left[0], right[0]), (t0, t1)
        (a0, a1), (b0, b1) = (a, b) if across == 0 else (b, a)
        return Rect(a0, b0, a1, b1)
    corners = dict.fromkeys(((left[0], t0), (right[0], t0), (right[1], t1), (left[1], t1)))
    return Poly(tuple(c if across == 0 else c[::-1] for c in corners))


@lru_cache(maxsize=64)
def _inscribed_boxes(opening: Prism, along: int) -> tuple[tuple[float, float, float, float], ...]:
    """Return from and to along the third axis, then along `along`, of boxes inside an opening.

    They are as long as it is. Kept, since an opening is cut out of many pieces.
    """
    boxes = []
    for strip in strips(opening.outline, PLANE[opening.axis].index(along)):
        bent = bool(strip.r) or strip.l0 != strip.l1 or strip.r0 != strip.r1
        levels = np.linspace(strip.t0, strip.t1, STRIPS + 1 if bent else 2)
        for t0, t1 in pairwise(float(t) for t in levels):
            # Sides of a strip bend outwards only, so they stand farthest in at its ends.
            left = max(strip.left(t0), strip.left(t1))
            right = min(strip.right(t0), strip.right(t1))
            if right > left:
                boxes.append((t0, t1, left, right))
    return tuple(boxes)
