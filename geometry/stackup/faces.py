"""Faces that decide a gap: the prisms of solids one by one, walls as wholes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from geometry.measures.pose import Way
from geometry.measures.solid import Solid
from geometry.stackup.deviation import Deviation, Prisms
from geometry.stackup.pair_gaps import ALL_AXES, Axes
from geometry.walls import OUTSIDE, WALL_NAMES

NOISE_MM = 1e-7
"""Changes below it are those of the arithmetic, not of the dimension."""

Solids = tuple[Solid, ...]


@dataclass(frozen=True)
class Face:
    """One prism of a solid by its place, or a wall as a whole: its pieces come and go."""

    solid: Solid
    place: int | None

    @property
    def prisms(self) -> Prisms:
        """The face's prisms as drawn."""
        return self.of(self.solid.prisms)

    def of(self, prisms: Prisms) -> Prisms:
        """Return the face's own share of the prisms that its solid has when something is off."""
        return prisms if self.place is None else (prisms[self.place],)


def greatest_mm(one: Deviation) -> float:
    """Return how far a dimension is off at most (mm)."""
    return max(one.dimension.plus_mm or 0.0, one.dimension.minus_mm or 0.0)


def axes_across(solids: Solids, way: Way) -> Axes:
    """Return the axes that matter to a move along `way`: more where outlines lie across it."""
    bent = {p.axis for s in solids for p in s.prisms if not p.is_box} - {way.axis}
    return ALL_AXES if bent else frozenset((way.axis,))


def faces(solids: Solids) -> Iterator[Face]:
    """Yield the faces of solids: each prism on its own, but walls as wholes."""
    for solid in solids:
        if solid.owner in WALL_NAMES or solid.owner == OUTSIDE:
            yield Face(solid, None)
        else:
            yield from (Face(solid, place) for place in range(len(solid.prisms)))


def all_prisms(solids: Solids, moved: Mapping[Solid, Prisms] | None = None) -> Prisms:
    """Return the prisms of solids in a row, those of moved ones as they then are."""
    moved = moved or {}
    return tuple(p for s in solids for p in moved.get(s, s.prisms))
