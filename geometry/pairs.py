"""Pairs of solids that stand near each other, each measured once.

What was measured is kept by the identity of both solids. A scene shares the solids that did not
change with the one before, so moving one part measures only its pairs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from geometry.margins import greatest_margin_mm, judged, may_touch, required_mm
from geometry.measures.broadphase import near, near_pairs
from geometry.measures.clearance import clearance
from geometry.measures.overlap import Shift, parting_shift
from geometry.measures.pose import Vec
from geometry.measures.solid import Solid
from geometry.measures.tolerance import meets
from geometry.scene import Scene
from geometry.walls import OUTSIDE


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
class Pairs:
    """All near pairs of a scene; None stands for a pair that turned out to be far enough apart.

    `measured_now` counts those measured for this scene, not taken over from the one before.
    """

    reach_mm: float
    solids: frozenset[Solid]
    near: Mapping[Key, PairGap | None]
    short: tuple[PairGap, ...]
    measured_now: int


def measure_pairs(scene: Scene, before: Pairs | None = None) -> Pairs:
    """Return the near pairs of `scene`, taking over from `before` what did not change."""
    reach = greatest_margin_mm(scene.layout.settings)
    solids = frozenset((*scene.solids, scene.walls.beyond))
    kept: dict[Key, PairGap | None] = {}
    same_outside = before is not None and scene.walls.beyond in before.solids
    if before is not None and before.reach_mm == reach and same_outside:
        gone = before.solids - solids
        fresh = [s for s in scene.solids if s not in before.solids]
        if gone:
            kept = {
                key: gap
                for key, gap in before.near.items()
                if key[0] not in gone and key[1] not in gone
            }
        else:
            kept = dict(before.near)
        candidates = _pairs_of(scene, fresh, reach)
    else:
        candidates = _all_pairs(scene, reach)
    measured = 0
    for a, b in candidates:
        if judged(a, b) and (a, b) not in kept and (b, a) not in kept:
            kept[a, b] = _measure(a, b, reach)
            measured += 1
    short = _short(scene, [gap for gap in kept.values() if gap is not None])
    return Pairs(reach, solids, kept, short, measured)


def _all_pairs(scene: Scene, reach_mm: float) -> Iterator[Key]:
    solids = scene.solids
    movable = len(scene.movable)
    for i, j in near_pairs(scene.bounds, reach_mm).tolist():
        if i < movable:
            yield solids[i], solids[j]
    yield from _beyond_pairs(scene, scene.movable)


def _pairs_of(scene: Scene, fresh: list[Solid], reach_mm: float) -> Iterator[Key]:
    """Yield all near pairs of some solids, in the scene's order within a pair."""
    rank = {solid: k for k, solid in enumerate(scene.solids)}
    for one in fresh:
        own = rank[one]
        for k in near(one.bounds, scene.bounds, reach_mm).tolist():
            if k != own:
                other = scene.solids[k]
                yield (one, other) if own < k else (other, one)
    yield from _beyond_pairs(scene, [s for s in fresh if not s.fixed])


def _beyond_pairs(scene: Scene, movable: tuple[Solid, ...] | list[Solid]) -> Iterator[Key]:
    """Yield movable solids with what lies beyond the walls, where their bounds reach into it."""
    beyond = scene.walls.beyond
    for solid in movable:
        if solid.hard and near(solid.bounds, scene.walls.beyond_bounds).size:
            yield solid, beyond


def _measure(a: Solid, b: Solid, reach_mm: float) -> PairGap | None:
    shift = parting_shift(a.prisms, b.prisms)
    if shift is not None:
        return PairGap(a, b, -shift.mm, shift, _shared_place(a, b))
    if may_touch(a, b) or b.owner == OUTSIDE:
        return None
    found = clearance(a.prisms, b.prisms, reach_mm)
    if found.point_a is None or found.point_b is None:
        return None
    middle = [(p + q) / 2 for p, q in zip(found.point_a, found.point_b, strict=True)]
    return PairGap(a, b, found.mm, None, (middle[0], middle[1], middle[2]))


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


def _short(scene: Scene, gaps: list[PairGap]) -> tuple[PairGap, ...]:
    """Return the pairs that keep less than what is asked for, in the order of the scene."""
    settings = scene.layout.settings
    short = [
        gap
        for gap in gaps
        if gap.shared or not meets(gap.gap_mm, required_mm(settings, gap.a, gap.b))
    ]
    if not short:
        return ()
    rank = {solid: k for k, solid in enumerate((*scene.solids, scene.walls.beyond))}
    ordered = [gap if rank[gap.a] < rank[gap.b] else gap.swapped() for gap in short]
    ordered.sort(key=lambda gap: (rank[gap.a], rank[gap.b]))
    return tuple(ordered)
