"""Whether one face keeps its margin to another in the worst case, by the measures of the check."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.measures.clearance import clearance
from geometry.measures.convex_pieces import Ring, convex_pieces
from geometry.measures.pose import Vec
from geometry.measures.prism import Poly, Prism, shifted
from geometry.measures.tolerance import LENGTH_EPS_MM, meets
from geometry.search.judging.tolerant_kind import Kind, Prisms
from geometry.search.judging.worst_bounds import SURE_MM
from geometry.stackup.combined_effects import MINUS, NONE, PLUS, CombinedEffects, Cut, Moving, leans
from geometry.stackup.deviation import Deviation
from geometry.stackup.faces import NOISE_MM, greatest_mm
from geometry.stackup.figures import BEGIN
from geometry.stackup.pair_gaps import GAP, corner_change_mm
from geometry.stackup.pieces import counts_as_whole_too, moved_piece, piece_of
from geometry.stackup.rims import Parted, RimFace
from geometry.stackup.touching import NEARLY_MM, beyond_mm, parting


def falls_short(a: Kind, place: int, b: Kind, other: int, by: Vec, need_mm: float) -> bool:
    """Whether a face keeps its margin to another, shifted `by`, as drawn but not when all is off.

    By the very measures of the check: prisms with hollows as their pieces. A bar of wall that may
    come between two openings is not there as drawn.
    """
    mine, theirs = _Part(a, place), _Part(b, other, by)
    nominal = GAP.mm(mine.prism, theirs.prism)
    if mine.may_come or theirs.may_come:
        if not meets(nominal, need_mm):
            return True
    elif nominal < -LENGTH_EPS_MM or not meets(nominal, need_mm):
        return False
    hollow = mine.has_hollows or theirs.has_hollows
    if not hollow or len(GAP.axes(mine.prism, theirs.prism)) == 1:
        return _falls_short(mine, theirs, nominal, need_mm)
    too = any(counts_as_whole_too(one.solid) for one in (a, b))
    return (too and _falls_short(mine, theirs, nominal, need_mm)) or any(
        _falls_short(p, q, GAP.mm(p.prism, q.prism), need_mm)
        for p, q in product(mine.pieces(), tuple(theirs.pieces()))
    )


@dataclass(frozen=True, eq=False)
class _Part:
    """A prism of a solid shifted `by`, or a piece of it by the numbers of its corners."""

    kind: Kind
    place: int
    by: Vec = (0.0, 0.0, 0.0)
    ring: Ring | None = None

    @cached_property
    def prism(self) -> Prism:
        """The part as drawn."""
        whole = _picked(self.kind.solid.prisms, self.place, self.by)
        return whole if self.ring is None else piece_of(whole, self.ring)

    def of(self, prisms: Prisms, off_mm: float) -> Prism:
        """Return the part when the solid has other prisms, for something is off by so much."""
        whole = _picked(prisms, self.place, self.by)
        if self.ring is None:
            return whole
        drawn = _picked(self.kind.solid.prisms, self.place, self.by)
        return moved_piece(drawn, whole, self.ring, off_mm)

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the part when a dimension is off."""
        own = self.kind.moves.get(one.key)
        after = None if own is None else own.one.moved(self.kind.solid, off_mm)
        return self.prism if after is None else self.of(after, off_mm)

    @property
    def cut_by(self) -> Sequence[Moving]:
        """The openings that have an edge on it, of a part of a wall."""
        part = self._of_wall
        return () if part is None else part.cut_by

    def cut_anew(self, opening: Moving, cut: Prism, off_mm: float) -> Prism:
        """Return the part when one of them is cut otherwise, off by so much at most."""
        assert self._of_wall is not None
        return self._of_wall.cut_anew(opening, cut, off_mm)

    @property
    def _of_wall(self) -> Cut | None:
        solid = self.kind.solid
        if self.ring is not None or not isinstance(solid, Parted):
            return None
        part = solid.parts[self.place]
        return part if isinstance(part, RimFace) else None

    @property
    def may_come(self) -> bool:
        """Whether it is a bar of wall that is not there as drawn."""
        return isinstance(self.kind.solid, Parted) and self.kind.solid.is_bar(self.place)

    @property
    def has_hollows(self) -> bool:
        """Whether it has pieces."""
        return bool(convex_pieces(self.prism.outline))

    def pieces(self) -> Iterator[_Part]:
        """Yield its pieces, or itself where it has no hollows."""
        rings = convex_pieces(self.prism.outline)
        yield from (replace(self, ring=ring) for ring in rings or (None,))


def _falls_short(p: _Part, q: _Part, nominal: float, need_mm: float) -> bool:
    boxes = p.prism.is_box and q.prism.is_box
    nearly = LENGTH_EPS_MM if boxes else NEARLY_MM
    if _loses_too_much(p, q, nominal, need_mm):
        return True
    return nominal <= nearly and _comes_to_overlap(p, q, nominal, need_mm)


def _comes_to_overlap(p: _Part, q: _Part, nominal: float, need_mm: float) -> bool:
    """Whether two that nearly touch fall short in every direction that parts them as drawn."""
    ways = parting(p.prism, q.prism, nominal)
    return bool(ways) and all(not meets(_worst_along(p, q, to, nominal), need_mm) for to in ways)


def _worst_along(p: _Part, q: _Part, to: Vec, nominal: float) -> float:
    """Return what the gap along a direction leaves when all is off."""
    drawn, worst = beyond_mm(p.prism, q.prism, to), nominal
    for moved in {**q.kind.moves, **p.kind.moves}.values():
        one = moved.one
        ends = (beyond_mm(p.when(one, off), q.when(one, off), to) for off in moved.limits)
        loss = drawn - min(ends, default=drawn)
        worst -= loss if loss > NOISE_MM else 0.0
    return worst


def _loses_too_much(p: _Part, q: _Part, nominal: float, need_mm: float) -> bool:
    a, place, b, other = p.kind, p.place, q.kind, q.place
    mine, theirs = p.prism, q.prism
    way = _way(mine, theirs, nominal)
    if way is not None and not (mine.is_box and theirs.is_box):
        sure = _sure(a, place, b, other, way, nominal, need_mm)
        if sure is not None:
            return sure
    bounds = _most_lost(a, place, b, other, way)
    axes = GAP.axes(mine, theirs)
    change = _changes(mine, theirs, nominal)
    limits: dict[tuple[str, str], tuple[Deviation, int]] = {}
    left = sum(bounds.values())
    worst = nominal
    # All at once may take more of a slope than each by itself.
    leaning = leans(mine) or leans(theirs)
    if leaning and nominal - TOGETHER * left >= need_mm:
        return False
    for key in sorted(bounds, key=lambda k: -bounds[k]):
        if worst - left >= need_mm and not leaning:
            return False
        left -= bounds[key]
        here, there = a.moves.get(key), b.moves.get(key)
        told = here or there
        assert told is not None
        if not told.one.axes & axes or bounds[key] <= NOISE_MM:
            continue
        loss, limits[key] = 0.0, (told.one, NONE)
        for end, off in enumerate(told.limits):
            before = loss
            then = p.of(here.ends[end], off) if here else mine
            beside = q.of(there.ends[end], off) if there else theirs
            loss = max(loss, -change(then, beside))
            if not (mine.is_box and theirs.is_box):
                begun = off * BEGIN
                then = p.of(here.begun(off), begun) if here else mine
                beside = q.of(there.begun(off), begun) if there else theirs
                loss = max(loss, -change(then, beside) / BEGIN)
            if loss > max(before, NOISE_MM):
                limits[key] = told.one, PLUS if off > 0.0 else MINUS
        worst -= loss if loss > NOISE_MM else 0.0
        if not meets(worst, need_mm):
            return True
    if not leaning:
        return False
    moving = [one for one, _ in limits.values()]
    at = [limit for _, limit in limits.values()]
    together = CombinedEffects.of((p, q), moving, GAP.mm)
    return together is not None and not meets(together.left(at), need_mm)


def _changes(mine: Prism, theirs: Prism, nominal: float) -> Callable[[Prism, Prism], float]:
    """Return what measures how a gap changes, each pair of moved prisms once."""
    corner = mine.is_box and theirs.is_box and nominal > LENGTH_EPS_MM
    measured: dict[object, float] = {}

    def change(p: Prism, q: Prism) -> float:
        if (p, q) not in measured:
            found = GAP.mm(p, q) - nominal
            if corner:
                found = min(found, corner_change_mm(mine, theirs, p, q))
            measured[p, q] = found
        return measured[p, q]

    return change


def _way(mine: Prism, theirs: Prism, gap_mm: float) -> Floats | None:
    """Return the shortest way from one convex prism to another, of length 1.

    None where that is not known. Points of contact are good to a millionth, so it is good to
    NEAR_WAY.
    """
    if gap_mm <= LENGTH_EPS_MM:
        return None
    if isinstance(mine.outline, Poly) or isinstance(theirs.outline, Poly):
        return None
    found = clearance((mine,), (theirs,))
    if found.point_a is None or found.point_b is None:
        return None
    way: Floats = np.subtract(found.point_b, found.point_a) / gap_mm
    return way


NEAR_WAY = 1e-3

TOGETHER = 1.1
"""A corner goes along either axis 1.5 times as far as a dimension is off at most, 2.13 in all, of
which two are counted."""


def _sure(
    a: Kind, place: int, b: Kind, other: int, way: Floats, gap_mm: float, need_mm: float
) -> bool | None:
    """Whether a face falls short of its margin, as far as rates along the shortest way tell.

    The gap of two convex prisms loses nothing faster than at first, and soon hardly slower (see
    `worst_bounds`). None where that leaves it open.
    """
    if not (a.round[place] and b.round[other]) or a.moves.keys() & b.moves.keys():
        return None
    takes = (_rates(a, place, way), _rates(b, other, -way))
    worst = gap_mm - sum(rate.sum() for rate, _ in takes)
    open_mm = NEAR_WAY * sum(far.sum() for _, far in takes) + SURE_MM
    if worst - open_mm >= need_mm:
        return False
    bend_mm = BEGIN * sum((far**2).sum() for _, far in takes) / gap_mm
    return True if worst + bend_mm + open_mm < need_mm else None


def _rates(kind: Kind, place: int, way: Floats) -> tuple[Floats, Floats]:
    """Return what each dimension takes at first from a gap along a way, and moves a face at most.

    A way of length 1 begins at the face that is rounded across its axis.
    """
    shifts, axis = kind.shifts[place], kind.solid.prisms[place].axis
    faces = np.where(way > 0.0, shifts[..., 3:6], -shifts[..., :3])
    across = np.sqrt(max(1.0 - way[axis] ** 2, 0.0))
    rate: Floats = faces @ np.abs(way) + across * shifts[..., 6]
    off = np.abs(shifts)
    far = np.sqrt((np.maximum(off[..., :3], off[..., 3:6]) ** 2).sum(axis=-1)) + off[..., 6]
    return np.maximum(rate, 0.0).max(axis=1, initial=0.0), far.max(axis=1, initial=0.0)


def _most_lost(
    a: Kind, place: int, b: Kind, other: int, way: Floats | None
) -> dict[tuple[str, str], float]:
    """Return what each dimension takes from the gap at most (mm).

    The distance of convex things never shrinks faster than at first when one is shifted, so a shift
    takes no more than its share along that way.
    """
    share = None if way is None else np.minimum(np.abs(way) + NEAR_WAY, 1.0)
    most: dict[tuple[str, str], float] = {}
    for kind, at in ((a, place), (b, other)):
        if not kind.round[at]:
            lost = [2.0 * greatest_mm(moved.one) for moved in kind.moves.values()]
        else:
            off = np.abs(kind.shifts[at]).max(axis=1)
            far = np.maximum(off[:, :3], off[:, 3:6])
            lost = (far.sum(axis=1) if share is None else far @ share) + off[:, 6]
            lost = lost.tolist()
        for key, mm in zip(kind.moves, lost, strict=True):
            most[key] = most.get(key, 0.0) + mm
    return most


def _picked(prisms: Prisms, place: int, by: Vec) -> Prism:
    picked = prisms[place]
    return shifted(picked, by) if any(by) else picked
