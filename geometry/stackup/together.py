"""What dimensions take from a figure together, where that is more than what each takes by itself.

Where both ends of a leaning side are off, what one end takes hangs on the other. So all dimensions
are put to their limits at once, then one after the other to the limit at which less is left, until
none finds less or all were gone through `ROUNDS` times; what is found so is not always the least
there is. What the sum of each alone lacks is shared among them. The corners of a face go
by what each dimension moves them, added up.

Where a dimension gives a face other corners, none of them is known to be the same, and the sum of
what each dimension takes by itself stands: more may be lost together, so that such a worst case may
be told better than it is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Protocol

import numpy as np

from geometry.measures.broadphase import Floats
from geometry.measures.prism import Outline, Poly, Prism, Rect, Round, turned
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.deviation import Deviation
from geometry.stackup.sums import Contributor, StackUp, stack_up

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
    called. `rounds` as in `Together.least`. Where corners come and go the stack-up stays as it is,
    the sum of what each takes by itself, which may leave more than all at once do.
    """
    told = {(one.owner, one.path): one for one in gap.contributors}
    together = Together.of(faces, moving, measure)
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
            one.owner, name_of(one.owner), one.path, one.dimension, 0.0, 0.0, one.uniform
        )
        lost = -mm * share
        if limit == MINUS:
            shared.append(replace(known, at_minus_mm=lost, at_plus_mm=max(known.at_plus_mm, lost)))
        else:
            shared.append(replace(known, at_plus_mm=lost, at_minus_mm=max(known.at_minus_mm, lost)))
    return stack_up(gap.nominal_mm, shared)


@dataclass(frozen=True, eq=False)
class Together:
    """What is left of a gap of faces when each dimension stands at one of its limits."""

    faces: tuple[_Corners, ...]
    measure: Callable[..., float]

    @classmethod
    def of(
        cls, faces: Sequence[Moving], moving: Sequence[Deviation], measure: Callable[..., float]
    ) -> Together | None:
        """Return what `measure` leaves of some faces when all of `moving` may be off.

        None where corners come and go, so that none is known to be the same.
        """
        found = [_Corners.of(face, moving) for face in faces]
        known = tuple(corners for corners in found if corners is not None)
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
            for limit, off in (
                (PLUS, one.dimension.plus_mm),
                (MINUS, -(one.dimension.minus_mm or 0.0)),
            ):
                then = face.when(one, off) if off else drawn
                if then is drawn or not off:
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
