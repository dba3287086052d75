"""The prisms of many solids as arrays."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.prism import Bounds, Poly, Prism, Rect, Round
from geometry.measures.shifts import Bounded, bounded

Solids = Sequence[Sequence[Prism]]

BOX, ROUND, POLY = 0, 1, 2
KINDS = {Rect: BOX, Round: ROUND, Poly: POLY}


@dataclass(frozen=True, slots=True)
class PrismTable:
    """The prisms of many solids in arrays; those of solid k are rows `first[k]` to `first[k + 1]`.

    `bounds` (of prisms, shape (m, 6)) and `whole` (of solids, shape (n, 6)) hold least and
    greatest places, `prism_edges` (shape (6, m)) least places and minus greatest ones.
    `edges` (shape (6, n)) has the same of solids, but in the order of their least x: `order` are
    their numbers, `starts` those least x, `widest` is the greatest extent along x.

    `core` holds, for round outlines, the bounds without the radius. `axis` is -1 for boxes,
    which may be turned to any axis.
    """

    solids: Solids
    prisms: list[Prism]
    first: list[int]
    bounds: Floats
    whole: Floats
    edges: Floats
    order: Indices
    starts: list[float]
    widest: float
    prism_edges: Floats
    is_box: Bools
    core: Floats
    radius: Floats
    axis: npt.NDArray[np.int8]
    kind: npt.NDArray[np.int8]
    _bounded: dict[int, Bounded] = field(default_factory=dict)
    _blocks: list[tuple[int, list[float]]] = field(default_factory=list)

    @classmethod
    def of(cls, solids: Solids) -> PrismTable:
        """Build the table; solids without prisms are refused with a ValueError."""
        prisms = [p for solid in solids for p in solid]
        first = [0]
        for solid in solids:
            if not solid:
                raise ValueError("a solid has no prisms")
            first.append(first[-1] + len(solid))
        bounds = np.array([p.bounds for p in prisms], dtype=np.float64).reshape(-1, 6)
        kind = np.array([KINDS[type(p.outline)] for p in prisms], dtype=np.int8)
        core, radius = bounds.copy(), np.zeros(len(prisms))
        rounds = np.flatnonzero(kind == ROUND)
        if len(rounds):
            cores = np.array([prisms[k].core for k in rounds.tolist()])
            core[rounds], radius[rounds] = cores[:, :6], cores[:, 6]
        if len(first) > 1:
            least = np.minimum.reduceat(bounds[:, :3], first[:-1])
            most = np.maximum.reduceat(bounds[:, 3:], first[:-1])
        else:
            least = most = np.empty((0, 3))
        axis = np.array([p.axis for p in prisms], dtype=np.int8)
        axis[kind == BOX] = -1
        whole = np.concatenate((least, most), axis=1)
        order = least[:, 0].argsort()
        return cls(
            solids=solids,
            prisms=prisms,
            first=first,
            bounds=bounds,
            whole=whole,
            edges=_edges(whole[order]),
            order=order,
            starts=least[order, 0].tolist(),
            widest=float((most[:, 0] - least[:, 0]).max(initial=0.0)),
            prism_edges=_edges(bounds),
            is_box=kind == BOX,
            core=core,
            radius=radius,
            axis=axis,
            kind=kind,
        )

    def bounded(self, k: int) -> Bounded:
        """Return the prisms of solid `k` with their bounds, kept for the next time."""
        found = self._bounded.get(k)
        if found is None:
            found = self._bounded[k] = bounded(self.solids[k])
        return found

    def near(self, bounds: Bounds, margin_mm: float) -> list[int]:
        """Return the solids whose bounds come within a margin of some on every axis."""
        x0, y0, z0, x1, y1, z1 = bounds
        x0, y0, z0 = x0 - margin_mm, y0 - margin_mm, z0 - margin_mm
        x1, y1, z1 = x1 + margin_mm, y1 + margin_mm, z1 + margin_mm
        first = bisect_left(self.starts, x0 - self.widest)
        last = bisect_right(self.starts, x1)
        if last - first <= FEW:
            if not self._blocks:
                places = self.whole[self.order].tolist()
                # In one go, for another thread may read it: twice the same does no harm.
                self._blocks.extend(list(zip(self.order.tolist(), places, strict=True)))
            return sorted(
                k
                for k, (_, b0, c0, a1, b1, c1) in self._blocks[first:last]
                if a1 >= x0 and b0 <= y1 and b1 >= y0 and c0 <= z1 and c1 >= z0
            )
        reach = np.array((x1, y1, z1, -x0, -y0, -z0))
        meets = np.logical_and.reduce(self.edges[:, first:last] <= reach[:, None], axis=0)
        found: list[int] = self.order[first:last][meets].tolist()
        found.sort()
        return found


FEW = 60
"""So many solids are sooner looked at one by one than in arrays."""


def _edges(bounds: Floats) -> Floats:
    """Return least places and minus greatest ones, shape (6, n), each row in one piece."""
    edges = np.empty((6, len(bounds)))
    edges[:3] = bounds[:, :3].T
    np.negative(bounds[:, 3:].T, out=edges[3:])
    return edges
