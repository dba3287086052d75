"""A solid with all that may be off in it, and what each dimension does to its prisms."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field
from functools import cache, cached_property
from hashlib import blake2b

import numpy as np

from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.pose import IDENTITY, Pose, Vec, Way
from geometry.measures.prism import Core, Poly, Prism, shifted
from geometry.measures.solid import Solid
from geometry.stackup.deviation import Deviation, Effect
from geometry.stackup.faces import greatest_mm
from geometry.stackup.figures import BEGIN, Tolerances
from geometry.walls import OUTSIDE

Prisms = tuple[Prism, ...]

SAME_DIGITS = 9
"""What is the same to so many places after the point (mm) is alike."""

DIGEST_BYTES = 16
"""So long is what tells solids from others, that two of millions are as good as never mixed up."""


@dataclass(frozen=True, eq=False)
class Reshaped:
    """What a dimension does to the prisms of a solid, but for where it carries it.

    In the frame of its part, or in that of the world where no part is known. `cores` is how their
    cores change, shape (prisms, 7); `alike` which stay what they are; `same` which do not change at
    all; `odd` tells that pieces come or go.
    """

    cores: Floats
    alike: Bools
    same: Bools
    odd: bool = False

    @cached_property
    def told(self) -> bytes:
        """What tells it from others."""
        cores = self.cores.round(SAME_DIGITS) + 0.0
        rows = (cores.tobytes(), self.alike.tobytes(), self.same.tobytes(), bytes([self.odd]))
        return blake2b(b"".join(rows), digest_size=DIGEST_BYTES).digest()

    @classmethod
    def of(cls, before: Prisms, after: Prisms, by: Vec, pose: Pose = IDENTITY) -> Reshaped:
        """Return what makes some prisms of others, of a part in a pose that was carried by `by`."""
        count = len(before)
        if len(after) != count:
            none = np.zeros(count, dtype=bool)
            return cls(np.zeros((count, 7)), none, none, odd=True)
        pairs = list(zip(before, after, strict=True))
        cores = np.subtract([_core(q) for q in after], [_core(p) for p in before])
        alike = np.array([_alike(p, q) for p, q in pairs], dtype=bool)
        same = np.array([p == q for p, q in pairs], dtype=bool)
        return cls(_turned_back(cores.reshape(count, 7) - (*by, *by, 0.0), pose), alike, same)


@cache
def _turning(x: Way, y: Way, z: Way) -> tuple[Indices, Floats]:
    """Return which change of a core in the part frame each one is in the world, and its sign."""
    place, sign = np.arange(7), np.ones(7)
    for k, way in enumerate((x, y, z)):
        place[[way.axis, way.axis + 3]] = (k, k + 3) if way.sign > 0 else (k + 3, k)
        sign[[way.axis, way.axis + 3]] = way.sign
    return place, sign


def _turned(cores: Floats, pose: Pose) -> Floats:
    """Return changes of cores in the part frame as they are where the part stands in a pose."""
    place, sign = _turning(pose.x, pose.y, pose.z)
    found: Floats = cores[..., place] * sign
    return found


def _turned_back(cores: Floats, pose: Pose) -> Floats:
    """Return changes of cores where a part stands in a pose as they are in the part frame."""
    place, sign = _turning(pose.x, pose.y, pose.z)
    out = np.empty_like(cores)
    out[..., place] = cores * sign
    return out


Shapes = dict[Hashable, Reshaped]
"""What is known of shapes that dimensions give to solids, in the part frame, by what tells them."""


@dataclass(frozen=True, eq=False)
class Moved:
    """A dimension that moves one solid, and by how many mm it is off at its limits.

    `by` is how far it carries the solid at each, `shapes` what it makes of it there, None where it
    goes as a whole; `pose` is how the part stands that is shaped.
    """

    one: Deviation
    solid: Solid
    limits: tuple[float, ...]
    by: tuple[Vec, ...]
    shapes: tuple[Reshaped | None, ...]
    pose: Pose

    @classmethod
    def of(cls, one: Deviation, solid: Solid, known: Shapes) -> Moved | None:
        """Return what a dimension does to a solid; None where it does not move it."""
        limits: list[float] = []
        by: list[Vec] = []
        shapes: list[Reshaped | None] = []
        pose = IDENTITY
        for off in (one.dimension.plus_mm, -(one.dimension.minus_mm or 0.0)):
            done = _done(one, solid, off, known) if off else None
            if off and done is not None:
                limits.append(off)
                by.append(done[0].by)
                shapes.append(done[1])
                pose = done[0].pose
        if not limits:
            return None
        return cls(one, solid, tuple(limits), tuple(by), tuple(shapes), pose)

    @property
    def places(self) -> Bools:
        """Which prisms it changes."""
        out = np.zeros(len(self.solid.prisms), dtype=bool)
        for by, shape in zip(self.by, self.shapes, strict=True):
            out |= True if shape is None or any(by) else ~shape.same
        return out

    @property
    def ends(self) -> tuple[Prisms, ...]:
        """The prisms when the dimension stands at each of its limits."""
        return tuple(self.one.moved(self.solid, off) or self.solid.prisms for off in self.limits)

    def begun(self, off_mm: float) -> Prisms:
        """Return the prisms when the dimension is off by the beginning of a limit."""
        return self.one.moved(self.solid, off_mm * BEGIN) or self.solid.prisms


def _done(
    one: Deviation, solid: Solid, off_mm: float, known: Shapes
) -> tuple[Effect, Reshaped | None] | None:
    """Return what a dimension does to a solid, and what it makes of it; None for nothing."""
    effect = one.carry(solid, off_mm) if one.carry is not None else None
    if effect is None:
        prisms = one.moved(solid, off_mm)
        if prisms is None or prisms == solid.prisms:
            return None
        return _NOWHERE, Reshaped.of(solid.prisms, prisms, _NOWHERE.by)
    if effect.shape is None:
        return (effect, None) if any(effect.by) else None
    if effect.shape not in known:
        prisms = one.moved(solid, off_mm) or solid.prisms
        known[effect.shape] = Reshaped.of(solid.prisms, prisms, effect.by, effect.pose)
    return effect, known[effect.shape]


_NOWHERE = Effect((0.0, 0.0, 0.0))


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
        far: tuple[float, ...] | None = None,
    ) -> Kind:
        """Return a solid of a scene with its deviations, walls parted as for the check.

        `far` are the bounds that it never passes, where they are known already.
        """
        far = tolerances.far_out(solid) if far is None else far
        solid, deviations = tolerances.parted(solid)
        # Outer faces of walls are met from outside alone.
        inside = all(zone.outer is None for zone in tolerances.scene.layout.enclosure.zones)
        own = tuple(
            d for d in deviations if d.touches(solid) and not (inside and d.owner == OUTSIDE)
        )
        known = {} if known is None else known
        return cls(solid, far, own, outer, known)

    @cached_property
    def moves(self) -> dict[tuple[str, str], Moved]:
        """What each dimension that moves it does to it, by what tells the dimension."""
        every = (Moved.of(one, self.solid, self.known) for one in self.deviations)
        return {moved.one.key: moved for moved in every if moved is not None}

    def told(self, origin: Vec) -> bytes:
        """What tells it from all that are not alike in shape and in all that may be off.

        As seen from an origin, so that what is alike elsewhere is told the same.
        """
        moves = [
            (
                key,
                moved.limits,
                _rounded(mm for by in moved.by for mm in by),
                [None if shape is None else shape.told for shape in moved.shapes],
                (moved.pose.x.name, moved.pose.y.name, moved.pose.z.name),
                sorted(moved.one.axes),
            )
            for key, moved in self.moves.items()
        ]
        solid = self.solid
        shapes = [_seen_from(origin, prism) for prism in solid.prisms]
        far = _rounded(np.subtract(self.far, (*origin, *origin)).tolist())
        told = (solid.role.name, shapes, far, self.outer, moves)
        return blake2b(repr(told).encode(), digest_size=DIGEST_BYTES).digest()

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
    def cores(self) -> Floats:
        """The blocks that are rounded and the radii, shape (prisms, 7); bounds for polygons."""
        return np.array([_core(p) for p in self.solid.prisms], dtype=np.float64).reshape(-1, 7)

    @cached_property
    def shifts(self) -> Floats:
        """How these change, shape (prisms, dimensions, 2, 7)."""
        out = np.zeros((len(self.solid.prisms), len(self.moves), 2, 7))
        shaped: dict[Pose, list[tuple[int, int, Floats]]] = {}
        for d, one in enumerate(self.moves.values()):
            out[:, d, : len(one.by), :3] = out[:, d, : len(one.by), 3:6] = one.by
            for end, shape in enumerate(one.shapes):
                if shape is not None:
                    shaped.setdefault(one.pose, []).append((d, end, shape.cores))
        for pose, some in shaped.items():
            places, ends, cores = zip(*some, strict=True)
            out[:, places, ends] += _turned(np.stack(cores, axis=1), pose)
        return out

    @property
    def bent_mm(self) -> Floats:
        """How far any point of a prism that is no rounded block may be from where it is drawn (mm).

        For each of its prisms.
        """
        out = np.zeros(len(self.solid.prisms))
        for one in self.moves.values():
            out[one.places] += 2.0 * greatest_mm(one.one)
        return out

    @cached_property
    def likenesses(self) -> tuple[object, ...]:
        """What is the same for prisms that differ in nothing but where they stand.

        Alike are rounded blocks of one shape that as many dimensions change alike, whichever they
        are; None stands for others, which are like themselves alone.
        """
        cores, shifts = self.cores.copy(), np.moveaxis(self.shifts, 0, 1).round(6) + 0.0
        cores[:, :6] -= np.tile(cores[:, :3], 2)
        found: list[object] = []
        for place, prism in enumerate(self.solid.prisms):
            if not self.round[place]:
                found.append(None)
                continue
            changes = sorted(
                (tuple(sorted(one.one.axes)), one.limits, by.tobytes())
                for one, by in zip(self.moves.values(), shifts[:, place], strict=True)
                if by.any()
            )
            shape = (cores[place].round(6) + 0.0).tobytes()
            found.append((prism.axis, prism.is_box, shape, *changes))
        return tuple(found)


def _rounded(figures: Iterable[float]) -> tuple[float, ...]:
    return tuple(round(mm, SAME_DIGITS) + 0.0 for mm in figures)


def _seen_from(origin: Vec, prism: Prism) -> object:
    """Return what tells a prism from others, as seen from an origin."""
    x, y, z = (-mm for mm in origin)
    own = shifted(prism, (x, y, z))
    if isinstance(own.outline, Poly):
        rings = (own.outline.shell, *own.outline.holes)
        flat = [_rounded(mm for point in ring for mm in point) for ring in rings]
        return prism.axis, _rounded((own.lo, own.hi)), flat
    return prism.axis, prism.is_box, _rounded(own.core or own.bounds)


def _alike(prism: Prism, other: Prism) -> bool:
    return type(other.outline) is type(prism.outline) and (prism.is_box or other.axis == prism.axis)


def _core(prism: Prism) -> Core:
    return prism.core or (*prism.bounds, 0.0)
