"""Which options keep their margin as drawn, but not once every dimension is off.

The same figures as the check of the worst case has (`geometry.stackup`): each dimension is put to
its limits, and what the gap loses adds up. What a dimension does to a solid does not depend on what
stands elsewhere, so a pair of solids decides for itself and tables stay a proof. Faces of boxes
that face each other lose by the face, and box corners dimension by dimension, for many pairs at
once; round parts, and walls of several pieces, are measured pair by pair as the check does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Floats
from geometry.measures.prism import Prism, shifted
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.search.units import ROLES, Ints, worst_over
from geometry.stackup.deviation import Deviation
from geometry.stackup.figures import Tolerances
from geometry.stackup.pair_gaps import GAP, NEAR_MM, axes_of, least_mm, pair_gap_mm
from geometry.walls import WALL_NAMES

Bools = npt.NDArray[np.bool_]
Prisms = tuple[Prism, ...]
Vec = tuple[float, float, float]

ROWS_AT_ONCE = 300
PAIRS_AT_ONCE = 100_000


@dataclass(frozen=True, eq=False)
class Kind:
    """A solid where it was first placed, with all that may be off in it.

    `whole` holds for walls, whose pieces count as one face.
    """

    solid: Solid
    far: tuple[float, ...]
    deviations: tuple[Deviation, ...]
    outer: bool = False

    @classmethod
    def of(cls, tolerances: Tolerances, solid: Solid, *, outer: bool = False) -> Kind:
        """Return a solid of a scene with its deviations."""
        own = tuple(d for d in tolerances.of(solid.owner) if d.touches(solid))
        return cls(solid, tolerances.far_out(solid), own, outer)

    @property
    def whole(self) -> bool:
        """Whether its pieces count as one face."""
        return self.solid.owner in WALL_NAMES

    @cached_property
    def moves(self) -> dict[tuple[str, str], tuple[Deviation, tuple[Prisms, ...]]]:
        """The prisms at both limits of each dimension, where they differ; by what tells it."""
        found = {}
        for one in self.deviations:
            known = one.dimension
            limits = [off for off in (known.plus_mm, -(known.minus_mm or 0.0)) if off]
            moved = tuple(p for off in limits if (p := one.moved(self.solid, off)) is not None)
            if any(p != self.solid.prisms for p in moved):
                found[one.key] = (one, moved)
        return found

    @cached_property
    def plain(self) -> Bools:
        """Which of its prisms are boxes and stay so however much they are off."""
        prisms = self.solid.prisms
        moved = [p for _, both in self.moves.values() for p in both]
        if any(len(p) != len(prisms) for p in moved):
            return np.zeros(len(prisms), dtype=bool)
        return np.array(
            [p.is_box and all(m[k].is_box for m in moved) for k, p in enumerate(prisms)], dtype=bool
        )

    @cached_property
    def shifts(self) -> Floats:
        """How the bounds of each prism change, shape (prisms, dimensions, 2, 6)."""
        prisms = self.solid.prisms
        out = np.zeros((len(prisms), len(self.moves), 2, 6))
        for d, (_, both) in enumerate(self.moves.values()):
            for end, moved in enumerate(both):
                if len(moved) == len(prisms):
                    for k, (was, now) in enumerate(zip(prisms, moved, strict=True)):
                        out[k, d, end] = np.subtract(now.bounds, was.bounds)
        return out

    @cached_property
    def losses(self) -> Floats:
        """How far each face of each prism may stand out too far, shape (prisms, 6)."""
        out = self.shifts * np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0])
        total: Floats = np.maximum(out.max(axis=2, initial=0.0), 0.0).sum(axis=1)
        return total


@dataclass(frozen=True, eq=False)
class Tolerant:
    """Solids at many places and the options that are made of them.

    Place `n` is `kinds[kind[n]]` shifted by `shift[n]`; option `k` is made of the places
    `numbers[starts[k] : starts[k + 1]]`.
    """

    kinds: tuple[Kind, ...]
    kind: Ints
    shift: Floats
    numbers: Ints
    starts: Ints

    @classmethod
    def of(cls, options: Sequence[Sequence[tuple[Kind, Vec]]]) -> Tolerant:
        """Gather the solids of options, each place once."""
        kinds: dict[Kind, int] = {}
        places: dict[tuple[int, Vec], int] = {}
        numbers: list[int] = []
        starts = [0]
        for option in options:
            for kind, shift in option:
                key = (kinds.setdefault(kind, len(kinds)), shift)
                numbers.append(places.setdefault(key, len(places)))
            starts.append(len(numbers))
        return cls(
            tuple(kinds),
            np.array([k for k, _ in places], dtype=np.intp),
            np.array([s for _, s in places], dtype=np.float64).reshape(len(places), 3),
            np.array(numbers, dtype=np.intp),
            np.array(starts, dtype=np.intp),
        )

    def __len__(self) -> int:
        return len(self.kind)

    @property
    def size(self) -> int:
        """How many options there are."""
        return len(self.starts) - 1

    def some(self, keep: Ints) -> Tolerant:
        """Return some of the options; places are kept."""
        lists = [self.numbers[self.starts[k] : self.starts[k + 1]] for k in keep.tolist()]
        every = np.concatenate(lists) if lists else np.zeros(0, dtype=np.intp)
        starts = np.cumsum([0, *(len(one) for one in lists)]).astype(np.intp)
        return Tolerant(self.kinds, self.kind, self.shift, every, starts)

    @classmethod
    def joined(cls, parts: Sequence[Tolerant]) -> Tolerant:
        """Return the options of several together, one after the other."""
        options = [
            [(p.kinds[p.kind[n]], _vec(p.shift[n])) for n in p.numbers[start:stop].tolist()]
            for p in parts
            for start, stop in zip(p.starts[:-1], p.starts[1:], strict=True)
        ]
        return cls.of(options)

    @cached_property
    def role(self) -> Ints:
        """The number of the role of the solid at each place."""
        roles = np.array([ROLES.index(k.solid.role) for k in self.kinds], dtype=np.intp)
        found: Ints = roles[self.kind]
        return found

    @cached_property
    def outer(self) -> Bools:
        """Which places are on the outer side of a plate."""
        found: Bools = np.array([k.outer for k in self.kinds], dtype=bool)[self.kind]
        return found

    @cached_property
    def far(self) -> Floats:
        """The bounds that the solid at each place never passes, shape (n, 6)."""
        far = np.array([k.far for k in self.kinds], dtype=np.float64).reshape(len(self.kinds), 6)
        found: Floats = far[self.kind] + np.tile(self.shift, 2)
        return found

    @cached_property
    def bounds(self) -> Floats:
        """The bounds of the solid at each place, shape (n, 6)."""
        own = np.array([k.solid.bounds for k in self.kinds], dtype=np.float64)
        found: Floats = own.reshape(len(self.kinds), 6)[self.kind] + np.tile(self.shift, 2)
        return found

    @cached_property
    def keys(self) -> frozenset[tuple[str, str]]:
        """What may be off in any of them."""
        return frozenset(one.key for kind in self.kinds for one in kind.deviations)

    def any_of(self, short: Bools, rows: Ints) -> Bools:
        """Return for each option whether any of its places is marked in some rows."""
        levels = worst_over((self.numbers, self.starts), len(self), short.view(np.uint8), rows)
        found: Bools = levels.astype(bool)
        return found


def _vec(row: Floats) -> Vec:
    return (float(row[0]), float(row[1]), float(row[2]))


def short_options(a: Tolerant, b: Tolerant, margins: Floats, skip: Bools | None = None) -> Bools:
    """Return which options of two zones fall short in the worst case, shape (a.size, b.size).

    `margins` as from `role_margins`; `skip` marks pairs of places that are not looked at.
    """
    i, j = short_places(a, b, margins, skip)
    rows, at = np.unique(i, return_inverse=True)
    columns, beside = np.unique(j, return_inverse=True)
    short = np.zeros((len(rows) + 1, len(columns) + 1), dtype=bool)
    short[at, beside] = True
    mine = a.any_of(short, rows)
    found: Bools = b.any_of(np.ascontiguousarray(mine.T), columns).T
    return found


def short_places(
    a: Tolerant, b: Tolerant, margins: Floats, skip: Bools | None
) -> tuple[Ints, Ints]:
    """Return the pairs of places that keep their margin as drawn but not in the worst case."""
    shared = bool(a.keys & b.keys)
    found: list[tuple[Ints, Ints]] = []
    for i, j, need in _doubtful(a, b, margins, skip):
        for start in range(0, len(i), PAIRS_AT_ONCE):
            part = slice(start, start + PAIRS_AT_ONCE)
            short = _Pairs(a, b, i[part], j[part], need[part], shared=shared).short()
            found.append((i[part][short], j[part][short]))
    if not found:
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])


def _doubtful(
    a: Tolerant, b: Tolerant, margins: Floats, skip: Bools | None
) -> Iterator[tuple[Ints, Ints, Floats]]:
    """Yield pairs of places that come nearer than their margin when all is off, and the margin."""
    for start in range(0, len(a), ROWS_AT_ONCE):
        rows = slice(start, start + ROWS_AT_ONCE)
        need = margins[a.role[rows][:, None], b.role[None, :]]
        squared = np.zeros(need.shape)
        for k in range(3):
            gap = b.far[None, :, k] - a.far[rows][:, None, k + 3]
            np.maximum(gap, a.far[rows][:, None, k] - b.far[None, :, k + 3], out=gap)
            squared += np.maximum(gap, 0.0) ** 2
        least = np.sqrt(squared)
        doubtful = ~np.isnan(need) & ((least <= 0.0) | (least < need - LENGTH_EPS_MM))
        if skip is not None:
            doubtful &= ~skip[rows]
        i, j = np.nonzero(doubtful)
        if len(i):
            yield i + start, j, need[i, j]


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Pairs of places with the margin that each must keep."""

    a: Tolerant
    b: Tolerant
    i: Ints
    j: Ints
    need: Floats
    shared: bool

    def short(self) -> Bools:
        """Return which fall short."""
        faces_a, faces_b = _Faces.of(self.a, self.i), _Faces.of(self.b, self.j)
        counts = faces_a.count[self.i] * faces_b.count[self.j]
        pair = np.repeat(np.arange(len(self.i)), counts)
        within = np.arange(len(pair)) - np.repeat(np.cumsum(counts) - counts, counts)
        many = faces_b.count[self.j][pair]
        p = faces_a.start[self.i][pair] + within // many
        q = faces_b.start[self.j][pair] + within % many
        need = self.need[pair]
        level = np.full(len(pair), np.nan)
        plain = faces_a.plain[p] & faces_b.plain[q]
        if self.shared:
            plain[:] = False
        gap = np.full(len(pair), np.inf)
        rows = np.flatnonzero(plain)
        gap[rows], level[rows] = _box_worst(faces_a, faces_b, p[rows], q[rows], need[rows])
        out = np.zeros(len(self.i), dtype=bool)
        whole = np.array([k.whole for k in self.b.kinds], dtype=bool)[self.b.kind][self.j][pair]
        short = plain & (level < need - LENGTH_EPS_MM) & (gap >= need - LENGTH_EPS_MM)
        out[pair[short & ~whole]] = True
        self._walls(out, pair, p, whole & plain, (gap, short))
        for n in np.flatnonzero(~plain).tolist():
            k = int(pair[n])
            if not out[k]:
                place = None if whole[n] else int(faces_b.place[q[n]])
                out[k] = self._exact(k, int(faces_a.place[p[n]]), place)
        return out

    def _walls(
        self, out: Bools, pair: Ints, p: Ints, rows: Bools, told: tuple[Floats, Bools]
    ) -> None:
        """Mark what falls short of a wall: by its nearest piece, else measured piece by piece."""
        gap, short = told
        picked = np.flatnonzero(rows)
        if not short[picked].any():
            return
        key = pair[picked] * (int(p.max()) + 1) + p[picked]
        _, group = np.unique(key, return_inverse=True)
        nearest = np.full(group.max() + 1, np.inf)
        np.minimum.at(nearest, group, gap[picked])
        sure = short[picked] & (gap[picked] <= nearest[group] + LENGTH_EPS_MM)
        out[pair[picked[sure]]] = True
        faces = _Faces.of(self.a, self.i)
        for n in picked[short[picked]].tolist():
            k = int(pair[n])
            if not out[k]:
                out[k] = self._exact(k, int(faces.place[p[n]]), None)

    def _exact(self, k: int, place: int, other: int | None) -> bool:
        a, b = self.a, self.b
        i, j = int(self.i[k]), int(self.j[k])
        by = _vec(b.shift[j] - a.shift[i])
        return _falls_short(
            a.kinds[a.kind[i]], place, b.kinds[b.kind[j]], other, by, float(self.need[k])
        )


@dataclass(frozen=True, eq=False)
class _Faces:
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
    def of(cls, one: Tolerant, places: Ints) -> _Faces:
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


def _box_worst(a: _Faces, b: _Faces, p: Ints, q: Ints, need: Floats) -> tuple[Floats, Floats]:
    """Return the gaps of boxes as drawn and in the worst case, pair by pair."""
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
                off = [
                    _gap_of(_apart(mine[some] + by, theirs[some]))
                    if sign > 0
                    else _gap_of(_apart(mine[some], theirs[some] + by))
                    for by in (shifts[:, d, 0], shifts[:, d, 1])
                ]
                worst[some] -= np.maximum(gap[some] - np.minimum(off[0], off[1]), 0.0)
    return gap, worst


def _apart(mine: Floats, theirs: Floats) -> Floats:
    found: Floats = np.maximum(theirs[:, :3] - mine[:, 3:], mine[:, :3] - theirs[:, 3:])
    return found


def _gap_of(apart: Floats) -> Floats:
    """Return the signed gaps of boxes from how far they stand apart along each axis."""
    gap = np.sqrt((np.maximum(apart, 0.0) ** 2).sum(axis=1))
    found: Floats = np.where((apart > 0.0).any(axis=1), gap, apart.max(axis=1, initial=-np.inf))
    return found


def _falls_short(a: Kind, place: int, b: Kind, other: int | None, by: Vec, need_mm: float) -> bool:
    """Whether a face keeps its margin to another, shifted `by`, as drawn but not when all is off.

    By the very measures of the check; `other` None stands for all pieces of a wall.
    """
    mine = a.solid.prisms[place]
    theirs = _picked(b.solid.prisms, other, by)
    if other is not None:
        gap = pair_gap_mm(mine, theirs[0])
        most = sum(_greatest_mm(d) for d in (*a.deviations, *b.deviations))
        if gap - most >= need_mm:
            return False
    nominal = least_mm(mine, theirs, GAP)
    if nominal < -LENGTH_EPS_MM or not meets(nominal, need_mm):
        return False
    axes = axes_of(mine, theirs, GAP)
    worst = nominal
    for key in dict.fromkeys((*a.moves, *b.moves)):
        here, there = a.moves.get(key), b.moves.get(key)
        one = (here or there or (None,))[0]
        assert one is not None
        if not one.axes & axes:
            continue
        loss = 0.0
        for end in range(max(len(here[1]) if here else 0, len(there[1]) if there else 0)):
            p = here[1][end][place] if here and end < len(here[1]) else mine
            q = _picked(there[1][end], other, by) if there and end < len(there[1]) else theirs
            loss = max(loss, nominal - least_mm(p, q, GAP))
        worst -= loss
    return not meets(worst, need_mm)


def _picked(prisms: Prisms, place: int | None, by: Vec) -> Prisms:
    picked = prisms if place is None else (prisms[place],)
    return tuple(shifted(p, by) for p in picked) if any(by) else picked


def _greatest_mm(one: Deviation) -> float:
    return max(one.dimension.plus_mm or 0.0, one.dimension.minus_mm or 0.0)
