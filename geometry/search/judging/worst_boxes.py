"""Gaps between many boxes in the worst case.

Faces that face each other lose what each may stand out too far; at corners each dimension is
measured by itself, and counts at its first rate where that is more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.judging.tolerant_solids import Bools, Kind, Tolerant
from geometry.search.judging.units import Ints
from geometry.stackup.faces import NOISE_MM
from geometry.stackup.pair_gaps import NEAR_MM


@dataclass(frozen=True, eq=False)
class Faces:
    """The prisms of the solids at all places of which some are asked for, one after the other."""

    start: Ints
    count: Ints
    place: Ints
    plain: Bools
    bounds: Floats
    losses: Floats
    kind: Ints
    kinds: tuple[Kind, ...]

    @classmethod
    def of(cls, one: Tolerant, places: Ints) -> Faces:
        asked = np.unique(places)
        count = np.zeros(len(one), dtype=np.intp)
        count[asked] = [len(one.kinds[k].solid.prisms) for k in one.kind[asked].tolist()]
        start = (np.cumsum(count) - count).astype(np.intp)
        kinds = [one.kinds[k] for k in one.kind[asked].tolist()]
        total = int(count.sum())
        shift = np.repeat(np.tile(one.shift[asked], 2), count[asked], axis=0)
        bounds = np.array([p.bounds for k in kinds for p in k.solid.prisms], dtype=np.float64)
        return cls(
            start,
            count,
            np.arange(total) - np.repeat(start[asked], count[asked]),
            np.concatenate([k.plain for k in kinds]) if kinds else np.zeros(0, dtype=bool),
            bounds.reshape(total, 6) + shift,
            np.concatenate([k.losses for k in kinds]) if kinds else np.zeros((0, 6)),
            np.repeat(one.kind[asked], count[asked]),
            one.kinds,
        )

    def shifts(self, rows: Ints) -> Floats:
        """Return how bounds change by dimension, shape (rows, dimensions, 2, 6), zeros after."""
        most = max((len(self.kinds[k].moves) for k in np.unique(self.kind[rows])), default=0)
        out = np.zeros((len(rows), most, 2, 6))
        for n, (k, place) in enumerate(
            zip(self.kind[rows].tolist(), self.place[rows].tolist(), strict=True)
        ):
            own = self.kinds[k].shifts[place]
            out[n, : len(own)] = own
        return out


def box_worst(
    a: Faces, b: Faces, p: Ints, q: Ints, need: Floats, single: Bools
) -> tuple[Floats, Floats]:
    """Return the gaps of boxes as drawn and in the worst case, pair by pair.

    `single` tells where a prism faces one prism, not a wall of several.
    """
    mine, theirs = a.bounds[p], b.bounds[q]
    ahead, behind = theirs[:, :3] - mine[:, 3:], mine[:, :3] - theirs[:, 3:]
    apart = np.maximum(ahead, behind)
    gap = _gap_of(apart)
    worst = gap.copy()
    near = apart > -NEAR_MM
    axis = apart.argmax(axis=1)
    every = np.arange(len(p))
    forward = ahead[every, axis] >= behind[every, axis]
    lost = np.where(
        forward,
        a.losses[p, axis + 3] + b.losses[q, axis],
        a.losses[p, axis] + b.losses[q, axis + 3],
    )
    straight = near.sum(axis=1) == 1
    worst[straight] -= lost[straight]
    # At corners each dimension is measured by itself, but only where all faces could fall short.
    most = (np.maximum(a.losses[p, :3], a.losses[p, 3:])).sum(axis=1)
    most += (np.maximum(b.losses[q, :3], b.losses[q, 3:])).sum(axis=1)
    corner = ~straight & (gap >= need - LENGTH_EPS_MM) & (gap - most < need)
    rows = np.flatnonzero(corner)
    for one, faces, sign in ((a, p, 1), (b, q, -1)):
        for start in range(0, len(rows), 4000):
            some = rows[start : start + 4000]
            shifts = one.shifts(faces[some])
            for d in range(shifts.shape[1]):
                losses = [
                    _corner_loss(
                        (mine[some], theirs[some]),
                        (mine[some] + by, theirs[some])
                        if sign > 0
                        else (mine[some], theirs[some] + by),
                        single[some],
                    )
                    for by in (shifts[:, d, 0], shifts[:, d, 1])
                ]
                worst[some] -= np.maximum(losses[0], losses[1])
    return gap, worst


def _corner_loss(now: tuple[Floats, Floats], then: tuple[Floats, Floats], single: Bools) -> Floats:
    """Return what the gaps of boxes lose: as measured, or at the first rate where that is more.

    At the first rate only where `single` tells that one prism faces one.
    """
    before, after = _apart(*now), _apart(*then)
    gap = _gap_of(before)
    loss = np.maximum(gap - _gap_of(after), 0.0)
    begun = -((after - before) * np.maximum(before, 0.0)).sum(axis=1)
    rated = single & (gap > LENGTH_EPS_MM)
    loss[rated] = np.maximum(loss[rated], begun[rated] / gap[rated])
    return np.where(loss > NOISE_MM, loss, 0.0)


def _apart(mine: Floats, theirs: Floats) -> Floats:
    found: Floats = np.maximum(theirs[:, :3] - mine[:, 3:], mine[:, :3] - theirs[:, 3:])
    return found


def _gap_of(apart: Floats) -> Floats:
    """Return the signed gaps of boxes from how far they stand apart along each axis."""
    gap = np.sqrt((np.maximum(apart, 0.0) ** 2).sum(axis=1))
    found: Floats = np.where((apart > 0.0).any(axis=1), gap, apart.max(axis=1, initial=-np.inf))
    return found
