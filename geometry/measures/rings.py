"""Outlines as shapely polygons and back, for walls and what is cut out of them.

A round outline becomes a polygon of `SIDES_OF_A_CIRCLE` sides, drawn inside its circle or round it;
it is off by at most 0.03 % of the radius, to the side that was asked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from math import cos, pi, sin

import numpy as np
import shapely

from geometry.measures.prism import Outline, Poly, Rect

SIDES_OF_A_CIRCLE = 128


def inner_polygon(outline: Outline) -> shapely.Polygon:
    """Return the outline as a polygon; a round one is drawn inside its circle."""
    return _polygon(outline, 1.0)


def outer_polygon(outline: Outline) -> shapely.Polygon:
    """Return the outline as a polygon; a round one is drawn round its circle."""
    return _polygon(outline, 1.0 / cos(pi / SIDES_OF_A_CIRCLE))


def _polygon(outline: Outline, stretch: float) -> shapely.Polygon:
    if isinstance(outline, Rect):
        return shapely.box(*outline.bounds())
    if isinstance(outline, Poly):
        return outline.polygon
    a_low, a_high = sorted((outline.a0, outline.a1))
    b_low, b_high = sorted((outline.b0, outline.b1))
    r = outline.r * stretch
    middles = ((a_high, b_high), (a_low, b_high), (a_low, b_low), (a_high, b_low))
    return shapely.polygons(
        [
            (a + r * along, b + r * up)
            for (a, b), quarter in zip(middles, _unit_quarters(), strict=True)
            for along, up in quarter
        ]
    )


@cache
def _unit_quarters() -> tuple[tuple[tuple[float, float], ...], ...]:
    """Return the corners on each quarter of the circle of radius 1 round the origin.

    They stand at half steps, so that the flat sides of a drawn-round polygon touch the circle
    where it is farthest out.
    """
    steps = SIDES_OF_A_CIRCLE // 4
    return tuple(
        tuple(
            (cos(angle), sin(angle))
            for angle in (number * pi / 2 + (k + 0.5) * pi / 2 / steps for k in range(steps))
        )
        for number in range(4)
    )


def flat_outlines(shape: shapely.Geometry) -> Iterator[Outline]:
    """Yield outlines that fill a flat shape: rectangles where all edges are upright or level."""
    for polygon in shapely.get_parts(shape):
        if not isinstance(polygon, shapely.Polygon) or polygon.is_empty:
            continue
        rings = [polygon.exterior, *polygon.interiors]
        if all(_upright(ring) for ring in rings):
            yield from _rectangles(polygon)
        else:
            clean = shapely.normalize(polygon)
            yield Poly(_points(clean.exterior), tuple(_points(r) for r in clean.interiors))


def _points(ring: shapely.LinearRing) -> tuple[tuple[float, float], ...]:
    return tuple(map(tuple, shapely.get_coordinates(ring)[:-1].tolist()))


def _upright(ring: shapely.LinearRing) -> bool:
    steps = np.diff(shapely.get_coordinates(ring), axis=0)
    return bool((steps == 0.0).any(axis=1).all())


def _rectangles(polygon: shapely.Polygon) -> Iterator[Rect]:
    """Yield rectangles that fill a polygon of upright and level edges."""
    at = shapely.get_coordinates(polygon)
    aa, bb = (np.array(sorted(set(at[:, k].tolist()))) for k in (0, 1))
    centres_a, centres_b = (aa[1:] + aa[:-1]) / 2, (bb[1:] + bb[:-1]) / 2
    grid_a, grid_b = np.meshgrid(centres_a, centres_b, indexing="ij")
    left = shapely.contains_xy(polygon, grid_a, grid_b)
    while left.any():
        p, q = (int(k) for k in np.unravel_index(int(left.argmax()), left.shape))
        p_end, q_end = p + 1, q + 1
        while q_end < left.shape[1] and left[p, q_end]:
            q_end += 1
        while p_end < left.shape[0] and left[p_end, q:q_end].all():
            p_end += 1
        left[p:p_end, q:q_end] = False
        yield Rect(float(aa[p]), float(bb[q]), float(aa[p_end]), float(bb[q_end]))
