"""All gaps of a table of solids, and those of one solid to all others, by the measures alone."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.measures.batch import signed_gaps
from geometry.measures.broadphase import near_pairs
from geometry.measures.gaps_of_one import gaps_to
from geometry.measures.prism import Prism, whole_bounds
from geometry.measures.prism_table import PrismTable


def all_gaps(table: PrismTable, limit_mm: float) -> dict[tuple[int, int], float]:
    """Return the signed gaps (mm) of all pairs of solids that are below a limit."""
    pairs = near_pairs(table.whole, limit_mm)
    gaps = signed_gaps(table, pairs, limit_mm)
    kept = gaps < limit_mm
    return dict(zip(map(tuple, pairs[kept].tolist()), gaps[kept].tolist(), strict=True))


def gaps_of(
    solid: Sequence[Prism], table: PrismTable, limit_mm: float, skip: int | None = None
) -> dict[int, float]:
    """Return the signed gaps (mm) of one solid to those of a table that are below a limit.

    `skip` is a solid of the table that is left out: the place from which this one is moved.
    """
    rows = table.near(whole_bounds(solid), limit_mm)
    if skip in rows:
        rows.remove(skip)
    return gaps_to(solid, table, rows, limit_mm)
