"""Openings cut out of wall pieces: grilles, grommets, cable slots.

A box is cut exactly out of anything, and any opening exactly out of a piece along its own axis or
out of a box. Left is a round or slanted opening in a piece of another axis whose outline is not
straight where it is cut: there boxes drawn inside the opening are cut out, `STRIPS` to each bend,
so the wall is never understated. Round openings are cut as polygons drawn inside their circle
(see geometry.measures.rings).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

import numpy as np
import shapely

from geometry.measures.prism import PLANE, Prism, Rect, turned, view
from geometry.measures.rings import flat_outlines, inner_polygon
from geometry.measures.strips import strips

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
            yield from cut_out(inside, _inscribed_boxes(opening, piece.axis))


def _inscribed_boxes(opening: Prism, along: int) -> Iterator[Prism]:
    """Yield boxes inside `opening`, sliced across the axis that is neither its own nor `along`."""
    third = 3 - opening.axis - along
    for strip in strips(opening.outline, PLANE[opening.axis].index(along)):
        bent = bool(strip.r) or strip.l0 != strip.l1 or strip.r0 != strip.r1
        levels = np.linspace(strip.t0, strip.t1, STRIPS + 1 if bent else 2)
        for t0, t1 in pairwise(float(t) for t in levels):
            # Sides of a strip bend outwards only, so they stand farthest in at its ends.
            left = max(strip.left(t0), strip.left(t1))
            right = min(strip.right(t0), strip.right(t1))
            if right > left:
                bounds = [0.0] * 6
                bounds[along], bounds[along + 3] = left, right
                bounds[third], bounds[third + 3] = t0, t1
                bounds[opening.axis], bounds[opening.axis + 3] = opening.lo, opening.hi
                yield _block(bounds)
