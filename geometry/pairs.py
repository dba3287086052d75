"""Pairs of solids that stand near each other, each measured once.

What was measured is kept by the identity of both solids. A scene shares the solids that did not
change with the one before, so moving one part measures only its pairs. All pairs are measured at
once; only those that turn out to be near are looked at again for the place of the gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

import numpy as np

from geometry.layout import Settings
from geometry.margins import greatest_margin_mm, judged, may_touch, required_mm
from geometry.measures.batch import signed_gaps
from geometry.measures.broadphase import near_pairs
from geometry.measures.clearance import bounds_gap, clearance
from geometry.measures.gaps_of_one import gaps_to
from geometry.measures.overlap import Shift, parting_shift
from geometry.measures.pose import Vec
from geometry.measures.prism import bounds_meet, hull, widened
from geometry.measures.prism_table import PrismTable
from geometry.measures.solid import Solid
from geometry.measures.tolerance import meets
from geometry.scene import Scene, Since


@dataclass(frozen=True, eq=False, slots=True)
class PairGap:
    """Two solids and their signed gap (mm): minus the parting shift where they share room.

    `shift` moves `a` out of `b`. `place` is in the middle of the gap or of the shared room.
    """

    a: Solid
    b: Solid
    gap_mm: float
    shift: Shift | None
    place: Vec

    @property
    def shared(self) -> bool:
        """Whether both share room."""
        return self.shift is not None

    def swapped(self) -> PairGap:
        """Return the same with the solids the other way round."""
        shift = None if self.shift is None else Shift(-self.shift.way, self.shift.mm)
        return PairGap(self.b, self.a, self.gap_mm, shift, self.place)


Key = tuple[Solid, Solid]


@dataclass(frozen=True, eq=False)
class Index:
    """The solids of some scene in one table of prisms, and the row of each."""

    solids: tuple[Solid, ...]
    table: PrismTable
    rows: Mapping[Solid, int]

    @classmethod
    def of(cls, solids: tuple[Solid, ...]) -> Index:
        """Build the index of a scene's solids."""
        table = PrismTable.of([solid.prisms for solid in solids])
        return cls(solids, table, {solid: row for row, solid in enumerate(solids)})


STRANGERS = 24
"""So many solids of a scene may be missing in the index before it is built anew."""


@dataclass(frozen=True, eq=False)
class Pairs:
    """All pairs of a scene that are nearer than the greatest margin.

    `measured_now` counts the pairs measured for this scene, not taken over from the one before.
    `strangers` are the solids of the scene that the index does not have; `beyond` is what lies
    outside the walls, which is none of them.
    """

    settings: Settings
    reach_mm: float
    solids: AbstractSet[Solid]
    beyond: Solid
    gaps: Mapping[Key, PairGap]
    short: tuple[PairGap, ...]
    measured_now: int
    index: Index
    strangers: tuple[Solid, ...] = ()

    def has(self, solid: Solid) -> bool:
        """Whether a solid is among those whose pairs were looked at."""
        return solid in self.solids or solid is self.beyond


def measure_pairs(scene: Scene, before: Pairs | None = None, since: Since | None = None) -> Pairs:
    """Return the near pairs of `scene`, taking over from `before` what did not change.

    `since` tells what changed, where that is known.
    """
    settings, beyond = scene.layout.settings, scene.walls.beyond
    reach = greatest_margin_mm(settings)
    if before is not None and before.beyond is beyond and before.reach_mm == reach:
        return _measured_on(before, scene, since)
    index, gaps = Index.of(scene.solids), dict[Key, PairGap]()
    measured = _measure_all(gaps, scene, index, reach)
    measured += _measure_beyond(gaps, scene, scene.solids)
    short = _in_order(scene, _short(settings, gaps.values()))
    return Pairs(settings, reach, scene.rank.keys(), beyond, gaps, short, measured, index)


def _measured_on(before: Pairs, scene: Scene, since: Since | None) -> Pairs:
    """Return the near pairs of a scene with the same margin as before and the same outside."""
    settings, reach, alive = scene.layout.settings, before.reach_mm, scene.rank.keys()
    gone: AbstractSet[Solid]
    fresh: Sequence[Solid]
    if since is not None:
        gone, fresh = since.gone, since.fresh
        strangers = (*(s for s in before.strangers if s not in gone), *fresh)
    else:
        gone = before.solids - alive
        fresh = [s for s in scene.solids if s not in before.solids]
        strangers = tuple(s for s in scene.solids if s not in before.index.rows)
    index = before.index
    if len(strangers) > STRANGERS:
        index, strangers = Index.of(scene.solids), ()
    found: dict[Key, PairGap] = {}
    measured = _measure_fresh(found, scene, fresh, strangers, index, reach)
    measured += _measure_beyond(found, scene, fresh)
    kept = _kept(before.gaps.values(), gone)
    gaps = {(gap.a, gap.b): gap for gap in kept} | found
    same = settings is before.settings
    still = _kept(before.short, gone) if same else _short(settings, kept)
    short = _in_order(scene, still + _short(settings, found.values()))
    return Pairs(settings, reach, alive, before.beyond, gaps, short, measured, index, strangers)


def _kept(gaps: Iterable[PairGap], gone: AbstractSet[Solid]) -> list[PairGap]:
    """Return the gaps between solids that are still there."""
    return [gap for gap in gaps if gap.a not in gone and gap.b not in gone]


def _measure_all(gaps: dict[Key, PairGap], scene: Scene, index: Index, reach_mm: float) -> int:
    """Measure all pairs of a scene at once; returns how many were looked at."""
    solids, movable = scene.solids, len(scene.movable)
    pairs = [
        (i, j)
        for i, j in near_pairs(index.table.whole, reach_mm).tolist()
        if i < movable and judged(solids[i], solids[j])
    ]
    if pairs:
        found = signed_gaps(index.table, np.array(pairs), reach_mm)
        for (i, j), mm in zip(pairs, found.tolist(), strict=True):
            _note(gaps, solids[i], solids[j], mm, reach_mm)
    return len(pairs)


def _measure_fresh(
    gaps: dict[Key, PairGap],
    scene: Scene,
    fresh: Sequence[Solid],
    strangers: Sequence[Solid],
    index: Index,
    reach_mm: float,
) -> int:
    """Measure the pairs of some solids; returns how many were looked at."""
    measured, rank = 0, scene.rank
    done: set[Solid] = set()
    for _, joined in groupby(fresh, _joint):
        # What moves as one is looked for at once; of that each solid has what is near itself.
        together = list(joined)
        room = hull([one.bounds for one in together])
        near_by = [
            (row, other, other.bounds)
            for row in index.table.near(room, reach_mm)
            if (other := index.solids[row]) in rank
        ]
        for one in together:
            done.add(one)
            x0, y0, z0, x1, y1, z1 = widened(one.bounds, reach_mm)
            rows = [
                row
                for row, other, (u0, v0, w0, u1, v1, w1) in near_by
                if u0 <= x1 and u1 >= x0 and v0 <= y1 and v1 >= y0 and w0 <= z1 and w1 >= z0
                and other not in done
                and judged(one, other)
            ]  # fmt: skip
            found = [
                (index.solids[row], mm)
                for row, mm in gaps_to(one.prisms, index.table, rows, reach_mm).items()
            ]
            beside = [
                other
                for other in strangers
                if other not in done
                and judged(one, other)
                and bounds_gap(one.bounds, other.bounds) <= reach_mm
            ]
            found += [(other, _gap_mm(one, other)) for other in beside]
            measured += len(rows) + len(beside)
            for other, mm in found:
                first, second = (one, other) if rank[one] < rank[other] else (other, one)
                _note(gaps, first, second, mm, reach_mm)
    return measured


def _joint(solid: Solid) -> str:
    """Return what a solid moves with: its stack, else its owner."""
    return solid.stack or solid.owner


def _gap_mm(a: Solid, b: Solid) -> float:
    """Return the signed gap of two solids (mm); of two that may touch, 0 where they are apart."""
    shift = parting_shift(a.prisms, b.prisms)
    if shift is not None:
        return -shift.mm
    return 0.0 if may_touch(a, b) else clearance(a.prisms, b.prisms).mm


def _measure_beyond(gaps: dict[Key, PairGap], scene: Scene, fresh: Sequence[Solid]) -> int:
    """Measure what reaches beyond the walls; only room shared counts there, not a gap."""
    beyond = [prism.bounds for prism in scene.walls.beyond.prisms]
    reaching = [
        solid
        for solid in fresh
        if solid.hard and not solid.fixed and any(bounds_meet(solid.bounds, b) for b in beyond)
    ]
    for solid in reaching:
        shift = parting_shift(solid.prisms, scene.walls.beyond.prisms)
        if shift is not None:
            place = _shared_place(solid, scene.walls.beyond)
            gaps[solid, scene.walls.beyond] = PairGap(
                solid, scene.walls.beyond, -shift.mm, shift, place
            )
    return len(reaching)


def _note(gaps: dict[Key, PairGap], a: Solid, b: Solid, mm: float, reach_mm: float) -> None:
    """Note the gap of a pair that is near enough, with its place, if there is a verdict on it."""
    shift = parting_shift(a.prisms, b.prisms) if mm < 0.0 else None
    if shift is not None:
        gaps[a, b] = PairGap(a, b, -shift.mm, shift, _shared_place(a, b))
    elif mm <= reach_mm and not may_touch(a, b):
        found = clearance(a.prisms, b.prisms, reach_mm)
        if found.point_a is not None and found.point_b is not None:
            middle = [(p + q) / 2 for p, q in zip(found.point_a, found.point_b, strict=True)]
            gaps[a, b] = PairGap(a, b, found.mm, None, (middle[0], middle[1], middle[2]))


def _shared_place(a: Solid, b: Solid) -> Vec:
    """Return the middle of the deepest overlap between a prism of each."""
    best: tuple[float, Vec] | None = None
    for p in a.prisms:
        for q in b.prisms:
            low = [max(p.bounds[k], q.bounds[k]) for k in range(3)]
            high = [min(p.bounds[k + 3], q.bounds[k + 3]) for k in range(3)]
            depth = min(h - w for w, h in zip(low, high, strict=True))
            if best is None or depth > best[0]:
                x, y, z = ((w + h) / 2 for w, h in zip(low, high, strict=True))
                best = (depth, (x, y, z))
    assert best is not None
    return best[1]


def _short(settings: Settings, gaps: Iterable[PairGap]) -> list[PairGap]:
    """Return the pairs that keep less than what is asked for."""
    return [
        gap
        for gap in gaps
        if gap.shared or not meets(gap.gap_mm, required_mm(settings, gap.a, gap.b))
    ]


def _in_order(scene: Scene, gaps: Sequence[PairGap]) -> tuple[PairGap, ...]:
    """Return pairs in the order of the scene, as are both solids of each."""
    rank, last = scene.rank, len(scene.rank)
    ranked = []
    for gap in gaps:
        a, b = rank.get(gap.a, last), rank.get(gap.b, last)
        ranked.append((a, b, gap) if a < b else (b, a, gap.swapped()))
    ranked.sort(key=itemgetter(0, 1))
    return tuple(gap for _, _, gap in ranked)
