"""What dimensions take from a figure together, where that is more than what each takes by itself.

Where both ends of a leaning side are off, what one end takes hangs on the other. So all dimensions
are put to their limits at once, then one after the other to the limit at which less is left, until
none finds less or all were gone through `ROUNDS` times; what is found so is not always the least
there is. What the sum of each alone lacks is shared among them. The corners of a face go
by what each dimension moves them, added up.

Where a dimension gives a face other corners, none of them is known to be the same. A part of a wall
beside one opening is then cut anew, with all at once that is off in the opening. Of any other such
face the sum of what each dimension takes by itself stands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Protocol, cast

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.measures.prism import Outline, Poly, Prism, Rect, Round, turned
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.deviation import Deviation
from geometry.stackup.stack_ups import Contributor, StackUp, stack_up

ROUNDS = 3
"""So often all dimensions are gone through at most."""

NO_ROUNDS = 0
"""For gaps of pieces without hollows, of which all is taken from where each takes most."""

FARTHEST = 1.5
"""A corner goes no farther along an axis than so many times what a dimension is off."""

PLUS, MINUS, NONE = 0, 1, 2
"""Where a dimension stands: at its upper limit, at its lower one, or as drawn."""


class Moving(Protocol):
    """A prism, and what it is when a dimension is off."""

    @property
    def prism(self) -> Prism:
        """The prism as drawn."""

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the prism when a dimension is off."""


class Cut(Moving, Protocol):
    """A part of a wall, which is cut anew when openings beside it are off."""

    @property
    def cut_by(self) -> Sequence[Moving]:
        """The openings that have an edge on it."""

    def cut_anew(self, opening: Moving, cut: Prism, off_mm: float) -> Prism:
        """Return the part when one of them is cut otherwise, off by so much at most."""


def leans(prism: Prism, axis: int | None = None) -> bool:
    """Whether a prism has sides that lean, as one goes along an axis if one is given."""
    outline = prism.outline
    if prism.axis == axis or not isinstance(outline, Poly):
        return False
    return any(
        min(abs(a[0] - b[0]), abs(a[1] - b[1])) > LENGTH_EPS_MM
        for ring in (outline.shell, *outline.holes)
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def no_better_than_together(
    gap: StackUp,
    faces: Sequence[Moving],
    moving: Sequence[Deviation],
    measure: Callable[..., float],
    name_of: Callable[[str], str],
    rounds: int = ROUNDS,
) -> StackUp:
    """Return a stack-up that in the worst case leaves no more than all of `moving` at once do.

    `measure` tells the gap of the prisms of all `faces`, `name_of` what the owner of a dimension is
    called. `rounds` as in `CombinedEffects.least`. Where what a face becomes is not known the
    stack-up stays as it is, the sum of what each takes by itself.
    """
    told = {(one.owner, one.path): one for one in gap.contributors}
    together = CombinedEffects.of(faces, moving, measure)
    if together is None:
        return gap
    least, at = together.least([_first(told.get(one.key)) for one in moving], rounds)
    if least >= gap.worst_mm - LENGTH_EPS_MM:
        return gap
    # What each takes by itself, or as the last of all where that is more, is its share.
    losses = []
    for k, one in enumerate(moving):
        alone = told[one.key].loss_mm if one.key in told else 0.0
        last = together.left([*at[:k], NONE, *at[k + 1 :]]) - least if at[k] != NONE else 0.0
        losses.append(max(alone, last, 0.0))
    share = (gap.nominal_mm - least) / sum(losses)
    shared = []
    for one, limit, mm in zip(moving, at, losses, strict=True):
        known = told.get(one.key) or Contributor(
            one.owner, name_of(one.owner), one.path, one.dimension, 0.0, 0.0, one.uniform, one.odds
        )
        lost = -mm * share
        if limit == MINUS:
            shared.append(replace(known, at_minus_mm=lost, at_plus_mm=max(known.at_plus_mm, lost)))
        else:
            shared.append(replace(known, at_plus_mm=lost, at_minus_mm=max(known.at_minus_mm, lost)))
    return stack_up(gap.nominal_mm, shared)


@dataclass(frozen=True, eq=False)
class CombinedEffects:
    """What is left of a gap of faces when each dimension stands at one of its limits."""

    faces: tuple[_Corners | _Recut, ...]
    measure: Callable[..., float]

    @classmethod
    def of(
        cls, faces: Sequence[Moving], moving: Sequence[Deviation], measure: Callable[..., float]
    ) -> CombinedEffects | None:
        """Return what `measure` leaves of some faces when all of `moving` may be off.

        None where corners come and go, so that none is known to be the same, but for parts of walls
        beside one opening.
        """
        found = [_Corners.of(face, moving) or _Recut.of(face, moving) for face in faces]
        known = tuple(one for one in found if one is not None)
        return cls(known, measure) if len(known) == len(found) else None

    def left(self, at: Sequence[int]) -> float:
        """Return the gap where each dimension stands at a limit; infinite where nothing is left."""
        prisms = [corners.when(at) for corners in self.faces]
        return inf if None in prisms else self.measure(*prisms)

    def least(self, at: list[int], rounds: int = ROUNDS) -> tuple[float, list[int]]:
        """Return the least gap that is found from some limits on, and the limits of it.

        All dimensions are gone through in up to `rounds`, and what the last of them leaves stands,
        whether or not one more would find less; in none the limits stay.
        """
        least, better = self.left(at), True
        for _ in range(rounds):
            if not better:
                break
            better = False
            for k in range(len(at)):
                for limit in (PLUS, MINUS):
                    tried = [*at[:k], limit, *at[k + 1 :]]
                    if limit != at[k] and (mm := self.left(tried)) < least - LENGTH_EPS_MM:
                        least, at, better = mm, tried, True
        return least, at


def _first(told: Contributor | None) -> int:
    """Return the limit at which a dimension takes most by itself."""
    if told is None or not told.loss_mm:
        return NONE
    return PLUS if told.at_plus_mm < told.at_minus_mm else MINUS


@dataclass(frozen=True, eq=False)
class _Corners:
    """The numbers of a prism, and how each dimension changes them at its limits, `shifts`."""

    prism: Prism
    numbers: Floats
    shifts: Floats

    @classmethod
    def of(cls, face: Moving, moving: Sequence[Deviation]) -> _Corners | None:
        """Return those of a face; None where a dimension gives it other corners."""
        drawn = face.prism
        numbers = _numbers(drawn)
        shifts = np.zeros((len(moving), 3, len(numbers)))
        for k, one in enumerate(moving):
            for limit, off in _limits(one):
                then = face.when(one, off)
                if then is drawn:
                    continue
                if then.is_box and drawn.is_box:
                    then = turned(then, drawn.axis)
                after = _numbers(then)
                if then.axis != drawn.axis or len(after) != len(numbers):
                    return None
                shifts[k, limit] = after - numbers
                if np.abs(shifts[k, limit]).max() > FARTHEST * abs(off) + LENGTH_EPS_MM:
                    return None
        return cls(drawn, numbers, shifts)

    def when(self, at: Sequence[int]) -> Prism | None:
        """Return the prism when each dimension stands at a limit; None where nothing is left."""
        every = self.numbers + self.shifts[np.arange(len(at)), at].sum(axis=0)
        lo, hi, *own = every.tolist()
        outline = _outline(self.prism.outline, own)
        a0, b0, a1, b1 = outline.bounds()
        return Prism(self.prism.axis, outline, lo, hi) if lo < hi and a0 < a1 and b0 < b1 else None


@dataclass(frozen=True, eq=False)
class _Recut:
    """A part of a wall beside one opening, which is cut anew with all that is off in that.

    `ends` tells where along its axis it begins and ends, by what is off in the wall.
    """

    face: Cut
    opening: Moving
    corners: _Corners
    ends: Floats
    most: Floats

    @classmethod
    def of(cls, face: Moving, moving: Sequence[Deviation]) -> _Recut | None:
        """Return that of a face; None where it is no part of a wall beside one opening.

        None too where what is off in the wall does more than move its ends, and at round openings,
        of which all that is off counts with the greatest share that it has anywhere on a part.
        """
        cut_by: Sequence[Moving] = getattr(face, "cut_by", ())
        opening = cut_by[0] if len(cut_by) == 1 else None
        if opening is None or isinstance(opening.prism.outline, Round):
            return None
        corners = _Corners.of(opening, moving)
        if corners is None:
            return None
        drawn = face.prism
        most, ends = np.zeros((len(moving), 3)), np.zeros((len(moving), 3, 2))
        for k, one in enumerate(moving):
            for limit, off in _limits(one):
                if corners.shifts[k, limit].any():
                    most[k, limit] = abs(off)
                elif (then := face.when(one, off)) is not drawn:
                    if (then.axis, then.outline) != (drawn.axis, drawn.outline):
                        return None
                    ends[k, limit] = then.lo - drawn.lo, then.hi - drawn.hi
        return cls(cast(Cut, face), opening, corners, ends, most)

    def when(self, at: Sequence[int]) -> Prism | None:
        """Return the part when each dimension stands at a limit; None where nothing is left."""
        cut = self.corners.when(at)
        every = np.arange(len(at)), at
        if cut is None:
            return None
        found = self.face.cut_anew(self.opening, cut, float(self.most[every].sum()))
        low, high = self.ends[every].sum(axis=0).tolist()
        lo, hi = found.lo + low, found.hi + high
        return Prism(found.axis, found.outline, lo, hi) if lo < hi else None


def _limits(one: Deviation) -> Iterator[tuple[int, float]]:
    """Yield the limits of a dimension at which it is off, and by how much."""
    known = one.dimension
    for limit, off in ((PLUS, known.plus_mm or 0.0), (MINUS, -(known.minus_mm or 0.0))):
        if off:
            yield limit, off


def _numbers(prism: Prism) -> Floats:
    o = prism.outline
    if isinstance(o, Poly):
        points = [at for ring in (o.shell, *o.holes) for at in ring]
        return np.array([prism.lo, prism.hi, *(v for at in points for v in at)])
    own = (o.a0, o.b0, o.a1, o.b1) + ((o.r,) if isinstance(o, Round) else ())
    return np.array([prism.lo, prism.hi, *own])


def _outline(like: Outline, own: Sequence[float]) -> Outline:
    if isinstance(like, Rect):
        return Rect(*own)
    if isinstance(like, Round):
        return Round(*own)
    points = list(zip(own[::2], own[1::2], strict=True))
    shell, rest = tuple(points[: len(like.shell)]), points[len(like.shell) :]
    holes = []
    for ring in like.holes:
        holes.append(tuple(rest[: len(ring)]))
        rest = rest[len(ring) :]
    return Poly(shell, tuple(holes))
