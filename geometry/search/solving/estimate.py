"""An estimate of how many combinations fit, with a 95 % interval, where the count takes too long.

Zones are filled at random, each with one of the options that are still open, and the numbers of
open options are multiplied; the last two zones are counted exactly. The mean over many runs is the
number that fits, without bias. Source: D. E. Knuth, Estimating the efficiency of backtrack
programs, Mathematics of Computation 29 (1975), 121-136. The interval is that of the normal law for
the mean of many runs; where few runs carry most of the weight it is too narrow.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import sqrt
from time import perf_counter

import numpy as np

from geometry.measures.broadphase import Floats, Indices
from geometry.search.solving.bits import blocks
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.tables import Merged, Pair

RUNS_AT_ONCE = 512
CELLS_AT_ONCE = 2**22
"""So many runs are made at once, or fewer where their open options are too many figures."""

NORMAL_95 = 1.959964
"""Two-sided 95 % point of the normal law."""


@dataclass(frozen=True)
class Estimate:
    """An estimated number with the half width of its 95 % interval, from so many runs."""

    mean: float
    half_width: float
    runs: int

    @classmethod
    def exact(cls, found: int) -> Estimate:
        """Return what is known without a run."""
        return cls(float(found), 0.0, 0)

    @classmethod
    def total(cls, parts: Iterable[Estimate]) -> Estimate:
        """Return the sum of independent estimates."""
        every = list(parts)
        return cls(
            sum(e.mean for e in every),
            sqrt(sum(e.half_width**2 for e in every)),
            sum(e.runs for e in every),
        )


def estimating(classes: Merged, seconds: float, seed: int = 1) -> Iterator[Estimate]:
    """Yield an estimate that gets better, for about so many seconds; the last one is the best.

    Its runs are drawn with a seed.
    """
    rng = np.random.default_rng(seed)
    tables = classes.tables
    zones = len(tables.sizes)
    weights = [w.astype(np.float64) for w in classes.weights]
    if zones == 0 or not all(tables.sizes):
        yield Estimate(float(zones == 0), 0.0, 0)
        return
    order = sorted(range(zones), key=lambda z: -tables.load(z))
    pairs = {
        (i, j): table
        for at, i in enumerate(order)
        for j in order[at + 1 :]
        if (table := tables.pair(i, j)) is not None
    }
    samples: list[Floats] = []
    start = perf_counter()
    while not samples or perf_counter() - start < seconds:
        samples.append(_runs(order, weights, pairs, rng))
        yield _mean_of(np.concatenate(samples))


def _mean_of(every: Floats) -> Estimate:
    half = NORMAL_95 * float(every.std(ddof=1)) / sqrt(len(every))
    return Estimate(float(every.mean()), half, len(every))


def _runs(
    order: list[int],
    weights: list[Floats],
    pairs: Mapping[Pair, PairTable],
    rng: np.random.Generator,
) -> Floats:
    """Return the products of one batch of random fillings."""
    n = max(2, min(RUNS_AT_ONCE, CELLS_AT_ONCE // sum(map(len, weights))))
    open_weight = {z: np.broadcast_to(weights[z], (n, len(weights[z]))) for z in order}
    product = np.ones(n)
    left = list(order)
    while len(left) > 2:
        zone = left.pop(0)
        cumulated = np.cumsum(open_weight[zone], axis=1)
        total = cumulated[:, -1]
        product *= total
        pick = (cumulated <= (rng.random(n) * total)[:, None]).sum(axis=1)
        pick = np.minimum(pick, cumulated.shape[1] - 1)
        for other in left:
            table = pairs.get((zone, other))
            if table is not None:
                open_weight[other] = open_weight[other] * _fits(table, pick)
    last: Floats
    if len(left) == 1:
        last = open_weight[left[0]].sum(axis=1)
    else:
        a, b = left
        table = pairs.get((a, b))
        if table is None:
            last = open_weight[a].sum(axis=1) * open_weight[b].sum(axis=1)
        else:
            last = np.zeros(n)
            for some in blocks(len(weights[a]), 8 * len(weights[b])):
                rows = np.arange(some.start, some.stop, dtype=np.intp)
                beside = open_weight[a][:, some] @ _fits(table, rows)
                last += np.einsum("ij,ij->i", beside, open_weight[b])
    return product * last


def _fits(table: PairTable, rows: Indices) -> Floats:
    """Return for some classes of a zone which of another fit, 1 or 0."""
    every = np.arange(len(table.columns), dtype=np.intp)
    return (~table.part(rows, every)).astype(np.float64)
