"""A solid with all that may be off in it, and what each dimension does to its prisms."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from geometry.measures.broadphase import Bools, Floats
from geometry.measures.pose import Pose, Vec
from geometry.measures.prism import Core, Prism
from geometry.measures.solid import Solid
from geometry.stackup.deviation import Deviation
from geometry.stackup.faces import NOISE_MM, greatest_mm
from geometry.stackup.figures import BEGIN, Tolerances

Prisms = tuple[Prism, ...]

_OUTWARD = np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0, 1.0])
"""Signs with which changes of least and greatest places, and of the radius, make a prism larger."""


@dataclass(frozen=True, eq=False)
class Reshaped:
    """What a dimension does to the prisms of a solid, but for where it carries it.

    `cores` is how their cores change, shape (prisms, 7); `alike` which stay what they are; `odd`
    tells that pieces come or go.
    """

    cores: Floats
    alike: Bools
    odd: bool = False

    @classmethod
    def of(cls, before: Prisms, after: Prisms, by: Vec) -> Reshaped:
        """Return what makes some prisms of others, which were carried by a vector besides."""
        count = len(before)
        if len(after) != count:
            return cls(np.zeros((count, 7)), np.zeros(count, dtype=bool), odd=True)
        pairs = list(zip(before, after, strict=True))
        cores = np.subtract([_core(q) for q in after], [_core(p) for p in before])
        alike = np.array([_alike(p, q) for p, q in pairs], dtype=bool)
        return cls(cores.reshape(count, 7) - (*by, *by, 0.0), alike)

    def turned(self, pose: Pose) -> Reshaped:
        """Return the same of a part that stands in a pose, of which this is in the part frame."""
        cores = self.cores.copy()
        for k, way in enumerate((pose.x, pose.y, pose.z)):
            ends = (k, k + 3) if way.sign > 0 else (k + 3, k)
            cores[:, [way.axis, way.axis + 3]] = way.sign * self.cores[:, ends]
        return replace(self, cores=cores)

    def turned_back(self, pose: Pose) -> Reshaped:
        """Return the same in the frame of the part that stands in a pose."""
        cores = self.cores.copy()
        for k, way in enumerate((pose.x, pose.y, pose.z)):
            ends = (k, k + 3) if way.sign > 0 else (k + 3, k)
            cores[:, ends] = way.sign * self.cores[:, [way.axis, way.axis + 3]]
        return replace(self, cores=cores)


Shapes = dict[Hashable, Reshaped]
"""What is known of shapes that dimensions give to solids, in the part frame, by what tells them."""


@dataclass(frozen=True, eq=False)
class Moved:
    """A dimension that moves one solid, and by how many mm it is off at its limits.

    `by` is how far it carries the solid at each, `shapes` what it makes of it there; None where it
    goes as a whole.
    """

    one: Deviation
    solid: Solid
    limits: tuple[float, ...]
    by: tuple[Vec, ...]
    shapes: tuple[Reshaped | None, ...]

    @classmethod
    def of(cls, one: Deviation, solid: Solid, known: Shapes) -> Moved | None:
        """Return what a dimension does to a solid; None where it does not move it."""
        limits: list[float] = []
        found: list[tuple[Vec, Reshaped | None]] = []
        for off in (one.dimension.plus_mm, -(one.dimension.minus_mm or 0.0)):
            done = _done(one, solid, off, known) if off else None
            if off and done is not None:
                limits.append(off)
                found.append(done)
        if not limits:
            return None
        by, shapes = zip(*found, strict=True)
        return cls(one, solid, tuple(limits), by, shapes)

    @property
    def ends(self) -> tuple[Prisms, ...]:
        """The prisms when the dimension stands at each of its limits."""
        return tuple(self.one.moved(self.solid, off) or self.solid.prisms for off in self.limits)

    def begun(self, off_mm: float) -> Prisms:
        """Return the prisms when the dimension is off by the beginning of a limit."""
        return self.one.moved(self.solid, off_mm * BEGIN) or self.solid.prisms


def _done(
    one: Deviation, solid: Solid, off_mm: float, known: Shapes
) -> tuple[Vec, Reshaped | None] | None:
    """Return how far a dimension carries a solid, and what it makes of it; None for nothing."""
    effect = one.carry(solid, off_mm) if one.carry is not None else None
    if effect is None:
        prisms = one.moved(solid, off_mm)
        if prisms is None or prisms == solid.prisms:
            return None
        return _NOWHERE, Reshaped.of(solid.prisms, prisms, _NOWHERE)
    if effect.shape is None:
        return (effect.by, None) if any(effect.by) else None
    shape = known.get(effect.shape)
    if shape is None:
        prisms = one.moved(solid, off_mm) or solid.prisms
        shape = Reshaped.of(solid.prisms, prisms, effect.by).turned_back(effect.pose)
        known[effect.shape] = shape
    return effect.by, shape.turned(effect.pose)


_NOWHERE: Vec = (0.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Kind:
    """A solid where it was first placed, with all that may be off in it.

    `known` is what is known of solids that are shaped alike.
    """

    solid: Solid
    far: tuple[float, ...]
    deviations: tuple[Deviation, ...]
    outer: bool = False
    known: Shapes = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        tolerances: Tolerances,
        solid: Solid,
        *,
        outer: bool = False,
        known: Shapes | None = None,
    ) -> Kind:
        """Return a solid of a scene with its deviations."""
        own = tuple(d for d in tolerances.of(solid.owner) if d.touches(solid))
        known = {} if known is None else known
        return cls(solid, tolerances.far_out(solid), own, outer, known)

    @cached_property
    def moves(self) -> dict[tuple[str, str], Moved]:
        """What each dimension that moves it does to it, by what tells the dimension."""
        every = (Moved.of(one, self.solid, self.known) for one in self.deviations)
        return {moved.one.key: moved for moved in every if moved is not None}

    @cached_property
    def _shapes(self) -> list[Reshaped]:
        found = (shape for one in self.moves.values() for shape in one.shapes)
        return [shape for shape in found if shape is not None]

    @cached_property
    def odd(self) -> bool:
        """Whether pieces of it come and go."""
        return any(shape.odd for shape in self._shapes)

    @cached_property
    def round(self) -> Bools:
        """Which of its prisms are rounded blocks and stay so however much they are off."""
        stay = np.array([p.core is not None for p in self.solid.prisms], dtype=bool)
        for shape in self._shapes:
            stay &= shape.alike
        return stay & (not self.odd)

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
            out[:, d, : len(one.by), :3] = out[:, d, : len(one.by), 3:6] = one.by
            for end, shape in enumerate(one.shapes):
                if shape is not None:
                    out[:, d, end] += shape.cores
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
                (tuple(sorted(one.one.axes)), one.limits, by.tobytes())
                for one, by in zip(self.moves.values(), shifts[:, place], strict=True)
                if by.any()
            )
            shape = (cores[place].round(6) + 0.0).tobytes()
            found.append((prism.axis, prism.is_box, shape, *changes))
        return tuple(found)

    @cached_property
    def square(self) -> Bools:
        """Which of its prisms every dimension moves along one axis at most, or grows at one limit.

        What it takes from a gap is then what it takes along each axis, added up.
        """
        off = np.abs(self.shifts).max(axis=2, initial=0.0)
        axes = np.maximum(off[..., :3], off[..., 3:6]) > NOISE_MM
        along_one = axes.sum(axis=2) + (off[..., 6] > NOISE_MM) <= 1
        plus, minus = np.moveaxis(np.maximum(self.shifts * _OUTWARD, 0.0), 2, 0)
        grown = (minus <= plus + NOISE_MM).all(axis=2) | (plus <= minus + NOISE_MM).all(axis=2)
        found: Bools = (along_one | grown).all(axis=1)
        return found

    @cached_property
    def _farthest(self) -> Floats:
        """How far each dimension moves any point of each prism, (prisms, dimensions), as drawn."""
        off = np.abs(self.shifts)
        far = np.maximum(off[..., :3], off[..., 3:6])
        by = np.sqrt((far**2).sum(axis=-1)) + off[..., 6]
        found: Floats = by.max(axis=2, initial=0.0)
        return found

    @cached_property
    def reach(self) -> Floats:
        """How far any point of each prism may be from where it is drawn (mm)."""
        # A corner between two sides that are not square may go farther than each of them.
        bent = sum(2.0 * greatest_mm(one.one) for one in self.moves.values())
        found: Floats = np.where(self.round, self._farthest.sum(axis=1), bent)
        return found

    @cached_property
    def sway(self) -> Floats:
        """The squares of how far each dimension moves each prism, summed (mm2)."""
        found: Floats = (self._farthest**2).sum(axis=1)
        return found


def _alike(prism: Prism, other: Prism) -> bool:
    return type(other.outline) is type(prism.outline) and (prism.is_box or other.axis == prism.axis)


def _core(prism: Prism) -> Core:
    return prism.core or (*prism.bounds, 0.0)
