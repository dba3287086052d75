"""Counting by summing one zone after the other out of a product of tables.

The number of combinations that fit is the sum, over one class of every zone, of the product of
weights and of tables of what fits (1 or 0). A zone occurs in few of the tables: they are multiplied
and summed over its classes, which leaves one table over its neighbours. Where zones touch few
others these tables stay small. Source: R. Dechter, Bucket elimination: a unifying framework for
reasoning, Artificial Intelligence 113 (1999), 41-85.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import prod
from string import ascii_letters

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.search.solving.bits import Bits, alike

EXACT_FLOAT = 2**53
"""Whole numbers below this are exact in a 64-bit float (IEEE 754)."""

MOST_WORK = 1_500_000_000
MOST_CELLS = 20_000_000
"""A zone is summed out when that takes at most so many products, and makes no larger table."""

Table = Floats | Bools
Factor = tuple[tuple[int, ...], Table]


def summed_out(weights: Mapping[int, Floats], tables: Sequence[Factor]) -> int | None:
    """Return the count over some zones; None where it would take too much at once.

    `weights` has one figure for each class of each zone; `tables` those of what fits, with the
    zones of their axes. Exact: None is returned where sums could pass whole floats.
    """
    if prod(float(w.sum()) for w in weights.values()) >= EXACT_FLOAT:
        return None
    sizes = {zone: len(w) for zone, w in weights.items()}
    factors: list[Factor] = [((zone,), w) for zone, w in weights.items()]
    factors += tables
    left = set(weights)
    while left:
        costs = {zone: prod(sizes[z] for z in _around(zone, factors)) for zone in left}
        zone = min(left, key=lambda z: (costs[z], z))
        if costs[zone] > MOST_WORK or costs[zone] // max(1, sizes[zone]) > MOST_CELLS:
            return None
        own = [f for f in factors if zone in f[0]]
        factors = [f for f in factors if zone not in f[0]]
        axes = tuple(sorted(_around(zone, own) - {zone}))
        factors.append((axes, _summed(zone, axes, own)))
        left.remove(zone)
    return round(prod(float(table) for _, table in factors))


def _summed(zone: int, axes: Sequence[int], own: Sequence[Factor]) -> Floats:
    """Return the product of some tables, summed over one zone.

    Classes of another zone that look alike to this one are summed once, and spread out again.
    """
    places: dict[int, Indices] = {}
    small: list[tuple[tuple[int, ...], Floats]] = []
    for zones, table in own:
        other = next((z for z in zones if z != zone), zone)
        if len(zones) == 2 and sum(other in named for named, _ in own) == 1:
            across = table if zones[1] == other else table.T
            across, places[other] = _distinct_columns(across)
            small.append(((zone, other), across))
        else:
            small.append((zones, table.astype(np.float64, copy=False)))
    letters = dict(zip(sorted({z for zones, _ in own for z in zones}), ascii_letters, strict=False))
    named = [",".join("".join(letters[z] for z in zones) for zones, _ in small)]
    named.append("".join(letters[z] for z in axes))
    summed: Floats = np.asarray(
        np.einsum("->".join(named), *(table for _, table in small), optimize="greedy"),
        dtype=np.float64,
    )
    for at, axis in enumerate(axes):
        if axis in places:
            summed = np.take(summed, places[axis], axis=at)
    return summed


def _distinct_columns(table: Table) -> tuple[Floats, Indices]:
    """Return the different columns of a table, and for each column which of them it is."""
    if table.dtype == np.bool_:
        marks = Bits.of(table.astype(np.bool_, copy=False))
        first, place = alike(marks.turned().rows)
    else:
        first, place = alike(np.ascontiguousarray(table.T).view(np.uint8))
    return table[:, first].astype(np.float64), place


def _around(zone: int, factors: Sequence[Factor]) -> set[int]:
    """Return a zone and all that share a table with it."""
    return {zone}.union(*(zones for zones, _ in factors if zone in zones))
