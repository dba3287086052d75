"""A solid with all that may be off in it, and what each dimension does to its prisms."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Floats
from geometry.measures.prism import Core, Prism
from geometry.measures.solid import Solid
from geometry.stackup.deviation import Deviation
from geometry.stackup.faces import greatest_mm
from geometry.stackup.figures import BEGIN, Tolerances

Prisms = tuple[Prism, ...]

_OUTWARD = np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0, 1.0])
"""Signs with which changes of least and greatest places, and of the radius, make a prism larger."""


@dataclass(frozen=True, eq=False)
class Moved:
    """A dimension and the prisms of one solid when it stands at its limits, with these."""

    one: Deviation
    solid: Solid
    ends: tuple[tuple[float, Prisms], ...]

    def begun(self, off_mm: float) -> Prisms:
        """Return the prisms when the dimension is off by the beginning of a limit."""
        return self.one.moved(self.solid, off_mm * BEGIN) or self.solid.prisms


@dataclass(frozen=True, eq=False)
class Kind:
    """A solid where it was first placed, with all that may be off in it."""

    solid: Solid
    far: tuple[float, ...]
    deviations: tuple[Deviation, ...]
    outer: bool = False

    @classmethod
    def of(cls, tolerances: Tolerances, solid: Solid, *, outer: bool = False) -> Kind:
        """Return a solid of a scene with its deviations."""
        own = tuple(d for d in tolerances.of(solid.owner) if d.touches(solid))
        return cls(solid, tolerances.far_out(solid), own, outer)

    @cached_property
    def moves(self) -> dict[tuple[str, str], Moved]:
        """What each dimension that moves it does to it, by what tells the dimension."""
        found = {}
        for one in self.deviations:
            known = one.dimension
            limits = [off for off in (known.plus_mm, -(known.minus_mm or 0.0)) if off]
            ends = tuple(
                (off, p) for off in limits if (p := one.moved(self.solid, off)) is not None
            )
            if any(p != self.solid.prisms for _, p in ends):
                found[one.key] = Moved(one, self.solid, ends)
        return found

    @cached_property
    def odd(self) -> bool:
        """Whether pieces of it come and go."""
        count = len(self.solid.prisms)
        return any(len(p) != count for one in self.moves.values() for _, p in one.ends)

    @cached_property
    def round(self) -> Bools:
        """Which of its prisms are rounded blocks and stay so however much they are off."""
        prisms = self.solid.prisms
        if self.odd:
            return np.zeros(len(prisms), dtype=bool)
        moved = [p for one in self.moves.values() for _, p in one.ends]
        stay = [
            p.core is not None and all(_alike(p, m[k]) for m in moved) for k, p in enumerate(prisms)
        ]
        return np.array(stay, dtype=bool)

    @cached_property
    def plain(self) -> Bools:
        """Which of its prisms are boxes and stay so however much they are off."""
        found: Bools = self.round & np.array([p.is_box for p in self.solid.prisms], dtype=bool)
        return found

    @cached_property
    def cores(self) -> Floats:
        """The blocks that are rounded and the radii, shape (prisms, 7); bounds for polygons."""
        return np.array([_core(p) for p in self.solid.prisms], dtype=np.float64).reshape(-1, 7)

    @cached_property
    def shifts(self) -> Floats:
        """How these change, shape (prisms, dimensions, 2, 7)."""
        out = np.zeros((len(self.solid.prisms), len(self.moves), 2, 7))
        for d, one in enumerate(self.moves.values()):
            for end, (_, moved) in enumerate(one.ends):
                if len(moved) == len(out):
                    out[:, d, end] = np.subtract([_core(p) for p in moved], self.cores)
        return out

    @cached_property
    def losses(self) -> Floats:
        """How far faces of each block may stand out too far, and how much each radius may be too
        large, shape (prisms, 7).
        """
        out = self.shifts * _OUTWARD
        total: Floats = np.maximum(out.max(axis=2, initial=0.0), 0.0).sum(axis=1)
        return total

    @cached_property
    def likenesses(self) -> tuple[object, ...]:
        """What is the same for prisms that differ in nothing but where they stand.

        Alike are rounded blocks of one shape that as many dimensions change alike, whichever they
        are; others are like themselves alone.
        """
        cores, shifts = self.cores.copy(), np.moveaxis(self.shifts, 0, 1).round(6) + 0.0
        cores[:, :6] -= np.tile(cores[:, :3], 2)
        found: list[object] = []
        for place, prism in enumerate(self.solid.prisms):
            if not self.round[place]:
                found.append((id(self), place))
                continue
            changes = sorted(
                (tuple(sorted(one.one.axes)), tuple(off for off, _ in one.ends), by.tobytes())
                for one, by in zip(self.moves.values(), shifts[:, place], strict=True)
                if by.any()
            )
            shape = (cores[place].round(6) + 0.0).tobytes()
            found.append((prism.axis, prism.is_box, shape, *changes))
        return tuple(found)

    @cached_property
    def square(self) -> Bools:
        """Which of its prisms every dimension moves along one axis at most."""
        off = np.abs(self.shifts[..., :6]).max(axis=2, initial=0.0)
        axes = np.maximum(off[..., :3], off[..., 3:]) > 0.0
        found: Bools = (axes.sum(axis=2) <= 1).all(axis=1)
        return found

    @cached_property
    def reach(self) -> Floats:
        """How far any point of each prism may be from where it is drawn (mm)."""
        off = np.abs(self.shifts)
        far = np.maximum(off[..., :3], off[..., 3:6])
        by = np.sqrt((far**2).sum(axis=-1)) + off[..., 6]
        most = by.max(axis=2, initial=0.0).sum(axis=1)
        # A corner between two sides that are not square may go farther than each of them.
        bent = sum(2.0 * greatest_mm(one.one) for one in self.moves.values())
        found: Floats = np.where(self.round, most, bent)
        return found


def _alike(prism: Prism, other: Prism) -> bool:
    return type(other.outline) is type(prism.outline) and (prism.is_box or other.axis == prism.axis)


def _core(prism: Prism) -> Core:
    return prism.core or (*prism.bounds, 0.0)
