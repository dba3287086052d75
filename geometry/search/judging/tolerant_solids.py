"""What may be off in the solids of options: each solid once, at all places where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.measures.broadphase import Floats
from geometry.measures.prism import Prism
from geometry.measures.solid import Solid
from geometry.search.judging.units import ROLES, Ints, worst_over
from geometry.stackup.deviation import Deviation
from geometry.stackup.figures import BEGIN, Tolerances
from geometry.walls import WALL_NAMES

Bools = npt.NDArray[np.bool_]
Prisms = tuple[Prism, ...]
Vec = tuple[float, float, float]


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
    def plain(self) -> Bools:
        """Which of its prisms are boxes and stay so however much they are off."""
        prisms = self.solid.prisms
        if self.odd:
            return np.zeros(len(prisms), dtype=bool)
        moved = [p for one in self.moves.values() for _, p in one.ends]
        return np.array(
            [p.is_box and all(m[k].is_box for m in moved) for k, p in enumerate(prisms)], dtype=bool
        )

    @cached_property
    def shifts(self) -> Floats:
        """How the bounds of each prism change, shape (prisms, dimensions, 2, 6)."""
        prisms = self.solid.prisms
        out = np.zeros((len(prisms), len(self.moves), 2, 6))
        for d, one in enumerate(self.moves.values()):
            for end, (_, moved) in enumerate(one.ends):
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
            [(p.kinds[p.kind[n]], vec_of(p.shift[n])) for n in p.numbers[start:stop].tolist()]
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

    @cached_property
    def owners(self) -> tuple[Ints, Ints]:
        """The options of which each place is a part, place by place, and where each begins."""
        option = np.repeat(np.arange(self.size), np.diff(self.starts))
        order = np.argsort(self.numbers, kind="stable")
        starts = np.searchsorted(self.numbers[order], np.arange(len(self) + 1))
        return option[order].astype(np.intp), starts.astype(np.intp)

    def any_of(self, short: Bools, rows: Ints) -> Bools:
        """Return for each option whether any of its places is marked in some rows."""
        levels = worst_over((self.numbers, self.starts), len(self), short.view(np.uint8), rows)
        found: Bools = levels.astype(bool)
        return found


def vec_of(row: Floats) -> Vec:
    return (float(row[0]), float(row[1]), float(row[2]))
