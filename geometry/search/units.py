"""The prisms of many options, each once, measured against each other by interval tests.

Options of a zone are made of few different prisms: the same fan in the same place turns up in
hundreds of them. So prisms are measured, not options: bounds decide boxes exactly and tell most
others apart, and only what bounds cannot decide goes to the exact measures.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.layout import Settings
from geometry.margins import role_margin_mm
from geometry.measures.broadphase import Floats
from geometry.measures.clearance import clearance
from geometry.measures.overlap import parting_shift
from geometry.measures.prism import PLANE, Prism, Round
from geometry.measures.solid import HARD_ROLES, Role
from geometry.measures.tolerance import LENGTH_EPS_MM

CLEAR, TIGHT, BLOCKED = 0, 1, 2
"""Levels of a pair, as the checks judge it."""

Levels = npt.NDArray[np.uint8]
Ints = npt.NDArray[np.intp]

ROLES = tuple(Role)

ROWS_AT_ONCE = 400


@dataclass(frozen=True, eq=False)
class Units:
    """Different prisms with their roles; `owner` tells apart which belong to one part.

    `flags` are marks that whoever gathered them has set.
    """

    prisms: tuple[Prism, ...]
    role: Ints
    owner: Ints
    flags: Ints

    @cached_property
    def bounds(self) -> Floats:
        """The bounds of each, shape (n, 6)."""
        if not self.prisms:
            return np.zeros((0, 6))
        return np.array([p.bounds for p in self.prisms], dtype=np.float64)

    @cached_property
    def is_box(self) -> npt.NDArray[np.bool_]:
        """Whether each is a box, which its bounds describe exactly."""
        return np.array([p.is_box for p in self.prisms], dtype=bool)

    @cached_property
    def circles(self) -> Floats:
        """Axis, centre in the plane across it and radius of each, shape (n, 4); else axis -1."""
        out = np.full((len(self.prisms), 4), -1.0)
        for k, prism in enumerate(self.prisms):
            o = prism.outline
            if isinstance(o, Round) and o.a0 == o.a1 and o.b0 == o.b1:
                out[k] = (prism.axis, o.a0, o.b0, o.r)
        return out

    @cached_property
    def hard(self) -> npt.NDArray[np.bool_]:
        """Which fill their room."""
        return np.isin(self.role, [ROLES.index(role) for role in HARD_ROLES])

    def __len__(self) -> int:
        return len(self.prisms)

    def some(self, keep: Ints) -> Units:
        """Return some of them."""
        prisms = tuple(self.prisms[k] for k in keep.tolist())
        return Units(prisms, self.role[keep], self.owner[keep], self.flags[keep])


class UnitSet:
    """Gathers prisms, each once for one role and owner, and numbers them."""

    def __init__(self) -> None:
        self._known: dict[tuple[Prism, Role, str, int], int] = {}

    def number(self, prism: Prism, role: Role, owner: str, flags: int = 0) -> int:
        """Return the number of a prism, a new one where it has not been seen."""
        return self._known.setdefault((prism, role, owner, flags), len(self._known))

    def units(self) -> Units:
        """Return all that was gathered, by number."""
        owners: dict[str, int] = {}
        for _, _, owner, _ in self._known:
            owners.setdefault(owner, len(owners))
        return Units(
            tuple(prism for prism, _, _, _ in self._known),
            np.array([ROLES.index(role) for _, role, _, _ in self._known], dtype=np.intp),
            np.array([owners[owner] for _, _, owner, _ in self._known], dtype=np.intp),
            np.array([flags for _, _, _, flags in self._known], dtype=np.intp),
        )


@dataclass(frozen=True, eq=False)
class Makeup:
    """Which units each option is made of: numbers one after the other, and where each starts."""

    units: Units
    numbers: Ints
    starts: Ints

    @classmethod
    def of(cls, units: Units, options: Sequence[Iterable[int]]) -> Makeup:
        """Gather the units of options."""
        lists = [list(dict.fromkeys(option)) for option in options]
        starts = np.cumsum([0, *(len(one) for one in lists)])
        numbers = np.array([n for one in lists for n in one], dtype=np.intp)
        return cls(units, numbers, starts.astype(np.intp))

    @property
    def size(self) -> int:
        """How many options there are."""
        return len(self.starts) - 1

    def some(self, keep: Ints) -> Makeup:
        """Return some of the options, with the units that they still need."""
        lists = [self.numbers[self.starts[k] : self.starts[k + 1]] for k in keep.tolist()]
        every = np.concatenate(lists) if lists else np.zeros(0, dtype=np.intp)
        used, renumbered = np.unique(every, return_inverse=True)
        starts = np.cumsum([0, *(len(one) for one in lists)]).astype(np.intp)
        return Makeup(self.units.some(used), renumbered.astype(np.intp), starts)

    def each(self) -> Iterator[Ints]:
        """Yield the numbers of the units of each option."""
        for start, stop in zip(self.starts[:-1], self.starts[1:], strict=True):
            yield self.numbers[start:stop]

    def least(self, values: Floats) -> Floats:
        """Return for each option the least value of its units; infinite for an empty one."""
        out = np.full(self.size, np.inf)
        filled = np.flatnonzero(np.diff(self.starts))
        if len(filled):
            out[filled] = np.minimum.reduceat(values[self.numbers], self.starts[:-1][filled])
        return out

    def worst_of(self, levels: Levels, rows: Ints) -> Levels:
        """Return the worst level of each option from levels of some units, the last row for all
        others.
        """
        place = np.full(len(self.units), len(levels) - 1, dtype=np.intp)
        place[rows] = np.arange(len(rows))
        out = np.zeros((self.size, levels.shape[1]), dtype=np.uint8)
        filled = np.flatnonzero(np.diff(self.starts))
        if len(filled):
            picked = levels[place[self.numbers]]
            out[filled] = np.maximum.reduceat(picked, self.starts[:-1][filled], axis=0)
        return out

    def worst(self, levels: Levels) -> Levels:
        """Return for each option the worst level of its units; `levels` has a row a unit."""
        out = np.zeros((self.size, *levels.shape[1:]), dtype=np.uint8)
        filled = np.flatnonzero(np.diff(self.starts))
        if len(filled):
            rows = levels[self.numbers]
            out[filled] = np.maximum.reduceat(rows, self.starts[:-1][filled], axis=0)
        return out


def role_margins(settings: Settings) -> Floats:
    """Return the gap that two roles must keep (mm), by number; NaN where they are not judged."""
    out = np.zeros((len(ROLES), len(ROLES)))
    for i, a in enumerate(ROLES):
        for j, b in enumerate(ROLES):
            if Role.AIR in (a, b) or not (a in HARD_ROLES or b in HARD_ROLES):
                out[i, j] = np.nan
            elif a in HARD_ROLES and b in HARD_ROLES:
                out[i, j] = role_margin_mm(settings, a, b)
    return out


def pair_levels(
    a: Units, b: Units, margins: Floats, touching: object = False, *, worst_only: bool = False
) -> Levels:
    """Return the level of every pair, shape (len(a), len(b)).

    `margins` as from `role_margins`; `touching` is True, or an array of truth values that spreads
    to that shape, where two may touch because they belong to one joint. With `worst_only` just the
    worst level of each row is sure; the others of a row with a blocked pair may be too bad.
    """
    out = np.zeros((len(a), len(b)), dtype=np.uint8)
    joint = np.broadcast_to(np.asarray(touching, dtype=bool), out.shape)
    for start in range(0, len(a), ROWS_AT_ONCE):
        rows = slice(start, start + ROWS_AT_ONCE)
        need = np.where(joint[rows], 0.0, margins[a.role[rows][:, None], b.role[None, :]])
        need[np.isnan(margins[a.role[rows][:, None], b.role[None, :]])] = np.nan
        level = interval_levels(a.bounds[rows], b.bounds, need)
        boxes = a.is_box[rows][:, None] & b.is_box[None, :]
        doubtful = (level > CLEAR) & ~boxes
        if worst_only:
            doubtful[((level == BLOCKED) & boxes).any(axis=1)] = False
        i, j = np.nonzero(doubtful)
        level[i, j] = bent_levels(a, b, i + start, j, need[i, j])
        out[rows] = level
    return out


def interval_levels(a: Floats, b: Floats, need: object) -> Levels:
    """Return the level of every pair of boxes by their bounds: exact for boxes, never too clear.

    `need` is the gap to keep (mm), one figure or an array of the shape of the result, NaN where a
    pair is not judged. Room is shared when the intervals overlap by more than the length tolerance
    on every axis; otherwise the gap is the root of the squared gaps along the axes.
    """
    apart = np.full((len(a), len(b)), -np.inf)
    for k in range(3):
        gap = b[None, :, k] - a[:, None, k + 3]
        np.maximum(gap, a[:, None, k] - b[None, :, k + 3], out=gap)
        np.maximum(apart, gap, out=apart)
    wanted = np.broadcast_to(np.asarray(need, dtype=np.float64), apart.shape)
    level = np.zeros(apart.shape, dtype=np.uint8)
    level[(apart < -LENGTH_EPS_MM) & ~np.isnan(wanted)] = BLOCKED
    # Few are left that no single axis parts far enough; the squares are summed for them alone.
    i, j = np.nonzero((apart >= -LENGTH_EPS_MM) & (apart < wanted))
    squared = np.zeros(len(i))
    for k in range(3):
        gap = np.maximum(b[j, k] - a[i, k + 3], a[i, k] - b[j, k + 3])
        squared += np.maximum(gap, 0.0) ** 2
    reach = np.maximum(wanted[i, j] - LENGTH_EPS_MM, 0.0)
    tight = squared < reach * reach
    level[i[tight], j[tight]] = TIGHT
    return level


def bent_levels(a: Units, b: Units, i: Ints, j: Ints, need: Floats) -> Levels:
    """Return the levels of some pairs in which not both are boxes.

    A circle against a box, and two circles of one axis, in closed form where that is not within
    a thousandth of a millimetre of the verdict; all others by the exact measures.
    """
    out = np.full(len(i), UNDECIDED, dtype=np.uint8)
    for axis in range(3):
        k, m = PLANE[axis]
        for one, other, p, q in ((a, b, i, j), (b, a, j, i)):
            mine, theirs = one.circles[p], other.circles[q]
            round_box = (mine[:, 0] == axis) & other.is_box[q]
            two_rounds = (mine[:, 0] == axis) & (theirs[:, 0] == axis)
            pick = np.flatnonzero((round_box | two_rounds) & (out == UNDECIDED))
            if not len(pick):
                continue
            p_bounds, q_bounds = one.bounds[p[pick]], other.bounds[q[pick]]
            centre, far = mine[pick], theirs[pick]
            boxed = round_box[pick]
            away = []
            for plane, column in ((k, 1), (m, 2)):
                at = centre[:, column]
                to_box = np.maximum(q_bounds[:, plane] - at, at - q_bounds[:, plane + 3])
                away.append(np.where(boxed, np.maximum(to_box, 0.0), at - far[:, column]))
            flat = np.hypot(away[0], away[1]) - centre[:, 3] - np.where(boxed, 0.0, far[:, 3])
            along = np.maximum(
                q_bounds[:, axis] - p_bounds[:, axis + 3], p_bounds[:, axis] - q_bounds[:, axis + 3]
            )
            out[pick] = _flat_levels(flat, along, need[pick])
    left = np.flatnonzero(out == UNDECIDED)
    for n in left.tolist():
        out[n] = prism_level(a.prisms[i[n]], b.prisms[j[n]], float(need[n]))
    return out


UNDECIDED = 9
NEAR_VERDICT_MM = 1e-3
"""Closed forms decide only what is farther than this from turning over."""


def _flat_levels(flat: Floats, along: Floats, need: Floats) -> Levels:
    """Return levels from the gap across an axis and the gap along it; some stay undecided."""
    apart = (along >= -LENGTH_EPS_MM) | (flat > NEAR_VERDICT_MM)
    shared = (along < -LENGTH_EPS_MM) & (flat < -NEAR_VERDICT_MM)
    gap = np.hypot(np.maximum(flat, 0.0), np.maximum(along, 0.0))
    out = np.full(len(flat), UNDECIDED, dtype=np.uint8)
    out[shared] = BLOCKED
    out[apart & ((need <= 0.0) | (gap > need + NEAR_VERDICT_MM))] = CLEAR
    out[apart & (need > 0.0) & (gap < need - NEAR_VERDICT_MM)] = TIGHT
    return out


def prism_level(p: Prism, q: Prism, need_mm: float) -> int:
    """Return the level of one pair by the exact measures."""
    if parting_shift((p,), (q,)) is not None:
        return BLOCKED
    if need_mm > 0 and clearance((p,), (q,), need_mm).mm < need_mm - LENGTH_EPS_MM:
        return TIGHT
    return CLEAR


def option_levels(a: Makeup, b: Makeup, margins: Floats) -> Levels:
    """Return the level of every pair of options of two zones, shape (a.size, b.size)."""
    near_a, near_b = _facing(a.units, b.units, float(np.nanmax(margins)))
    # The last row and column stand for all units that are out of reach.
    units = np.zeros((len(near_a) + 1, len(near_b) + 1), dtype=np.uint8)
    units[:-1, :-1] = pair_levels(a.units.some(near_a), b.units.some(near_b), margins)
    rows = a.worst_of(units, near_a)
    return b.worst_of(np.ascontiguousarray(rows.T), near_b).T


def _facing(a: Units, b: Units, reach_mm: float) -> tuple[Ints, Ints]:
    """Return which units of two zones may be in reach of any of the other zone."""
    rows, columns = np.arange(len(a)), np.arange(len(b))
    for _ in range(2):
        if not len(rows) or not len(columns):
            break
        mine, theirs = a.bounds[rows], b.bounds[columns]
        rows = rows[_within(mine, theirs, reach_mm)]
        columns = columns[_within(theirs, mine, reach_mm)]
    return rows, columns


def _within(some: Floats, others: Floats, reach_mm: float) -> npt.NDArray[np.bool_]:
    low, high = others[:, :3].min(axis=0) - reach_mm, others[:, 3:].max(axis=0) + reach_mm
    near: npt.NDArray[np.bool_] = ((some[:, :3] <= high) & (some[:, 3:] >= low)).all(axis=1)
    return near
