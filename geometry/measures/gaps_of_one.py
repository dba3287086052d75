"""Signed gaps of one solid to those of a table near it: what a part that moves is asked for.

Few prisms are looked at one by one, with plain floats; many in arrays first. Either way only those
whose bounds come near enough to say something are measured, and no gap is looked for where room
turns out to be shared.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from math import sqrt

import numpy as np

from geometry.measures.clearance import prism_gap
from geometry.measures.cores import common_axis
from geometry.measures.prism import Prism, whole_bounds
from geometry.measures.prism_table import PrismTable
from geometry.measures.shifts import Bounded, Surroundings, bounded

Near = list[tuple[float, Prism, Prism]]
"""Pairs of prisms with the distance of their bounds, in no order."""


def gaps_to(
    solid: Sequence[Prism], table: PrismTable, rows: Sequence[int], limit_mm: float
) -> dict[int, float]:
    """Return the signed gaps (mm) of one solid to some of a table that are below a limit."""
    mine = bounded(solid)
    found: dict[int, float] = {}
    for k, near in _near_prisms(mine, table, rows, limit_mm):
        mm = _gap(mine, table.bounded(k), near, limit_mm)
        if mm < limit_mm:
            found[k] = mm
    return found


def _gap(mine: Bounded, theirs: Bounded, near: Near, limit_mm: float) -> float:
    """Return the signed gap of two solids of which `near` are the prisms within a limit.

    The limit where they are farther apart.
    """
    bent, best, touch = [], limit_mm, False
    for pair in near:
        least, p, q = pair
        touch = touch or least == 0.0
        if not (p.is_box and q.is_box):
            bent.append(pair)
        elif least < best:
            best = least
    if touch:
        around = Surroundings.between(mine, theirs)
        end = around.nearest_end()
        if end is not None:
            return -around.ends[end]
    for least, p, q in sorted(bent, key=_dear):
        if least < best:
            best = min(best, prism_gap(p, q))
    return best


def _dear(pair: tuple[float, Prism, Prism]) -> tuple[bool, float]:
    """Return what to sort by: prisms of different axes are dearest, far ones likely spared."""
    least, p, q = pair
    return common_axis(p, q) is None, least


def _near_prisms(
    mine: Bounded, table: PrismTable, rows: Sequence[int], limit_mm: float
) -> Iterator[tuple[int, Near]]:
    """Yield which solids have prisms whose bounds come within a limit, with the pairs that do."""
    first = table.first
    if len(mine) * sum(first[k + 1] - first[k] for k in rows) <= FEW:
        return _near_one_by_one(mine, table, rows, limit_mm)
    return _near_in_arrays(mine, table, rows, limit_mm)


FEW = 100
"""So many pairs of prisms are sooner looked at one by one than put in arrays."""


def _near_one_by_one(
    mine: Bounded, table: PrismTable, rows: Sequence[int], limit_mm: float
) -> Iterator[tuple[int, Near]]:
    x0, y0, z0, x1, y1, z1 = whole_bounds([p for p, _, _ in mine])
    x0, y0, z0 = x0 - limit_mm, y0 - limit_mm, z0 - limit_mm
    x1, y1, z1 = x1 + limit_mm, y1 + limit_mm, z1 + limit_mm
    for k in rows:
        near = []
        for q, _, (q0, q1, q2, q3, q4, q5) in table.bounded(k):
            if q3 < x0 or q0 > x1 or q4 < y0 or q1 > y1 or q5 < z0 or q2 > z1:
                continue
            for p, _, (p0, p1, p2, p3, p4, p5) in mine:
                x = q0 - p3 if q0 > p3 else p0 - q3 if p0 > q3 else 0.0
                if x > limit_mm:
                    continue
                y = q1 - p4 if q1 > p4 else p1 - q4 if p1 > q4 else 0.0
                z = q2 - p5 if q2 > p5 else p2 - q5 if p2 > q5 else 0.0
                least = sqrt(x * x + y * y + z * z)
                if least <= limit_mm:
                    near.append((least, p, q))
        if near:
            yield k, near


_FACING = np.array(((-1.0,), (-1.0,), (-1.0,), (1.0,), (1.0,), (1.0,)))


def _near_in_arrays(
    mine: Bounded, table: PrismTable, rows: Sequence[int], limit_mm: float
) -> Iterator[tuple[int, Near]]:
    first = table.first
    columns = [c for k in rows for c in range(first[k], first[k + 1])]
    owner = [k for k in rows for _ in range(first[k], first[k + 1])]
    x0, y0, z0, x1, y1, z1 = zip(*(b for _, _, b in mine), strict=True)
    # Edges are least places and minus greatest ones, so one sum gives the gaps on both sides.
    facing = np.array((x1, y1, z1, x0, y0, z0)) * _FACING
    gaps = table.prism_edges.take(columns, axis=1)[:, :, None] + facing[:, None, :]
    outside = np.maximum(gaps[:3], gaps[3:])
    np.maximum(outside, 0.0, out=outside)
    outside *= outside
    gap = np.sqrt(np.add.reduce(outside, axis=0))
    at, own = np.nonzero(gap <= limit_mm)
    pairs = zip(gap[at, own].tolist(), at.tolist(), own.tolist(), strict=True)
    for k, near in groupby(pairs, lambda pair: owner[pair[1]]):
        yield k, [(least, mine[i][0], table.prisms[columns[c]]) for least, c, i in near]
