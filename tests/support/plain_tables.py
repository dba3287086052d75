"""Tables of conflicts without marks, whole, for tests to hold other ways to the same against."""

from __future__ import annotations

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.search.judging.levels import marked_conflicts
from geometry.search.judging.units import Makeup
from geometry.search.long_work import Steps
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.tables import Tables
from geometry.search.solving.zone_tables import ZoneTables


def whole(tables: ZoneTables) -> Tables:
    """Return the tables of all options of the zones: for few options only."""
    return tables.kept([np.arange(size, dtype=np.intp) for size in tables.sizes])


def option_conflicts(a: Makeup, b: Makeup, margins: Floats, most: int) -> Steps[PairTable]:
    """Return in steps which options of two zones have a level above `most`."""
    nothing = np.zeros(a.size, dtype=bool), np.zeros(b.size, dtype=bool)
    return (yield from marked_conflicts(a, b, nothing, margins, most)).plain


def mean_conflict(tables: Tables) -> float:
    """Return the share of pairs of options of different zones that conflict."""
    pairs = sum(a * b for k, a in enumerate(tables.sizes) for b in tables.sizes[k + 1 :])
    return sum(table.count for table in tables.clash.values()) / pairs
