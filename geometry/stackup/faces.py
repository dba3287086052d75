"""Faces that decide a gap: the prisms of solids one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from geometry.measures.pose import Way
from geometry.measures.prism import Prism
from geometry.measures.solid import Solid
from geometry.stackup.deviation import Deviation, Prisms
from geometry.stackup.pair_gaps import ALL_AXES, Axes

NOISE_MM = 1e-7
"""Changes below it are those of the arithmetic, not of the dimension."""

Solids = tuple[Solid, ...]


@dataclass(frozen=True)
class Face:
    """One prism of a solid by its place."""

    solid: Solid
    place: int

    @property
    def prism(self) -> Prism:
        """The prism as drawn."""
        return self.solid.prisms[self.place]

    @property
    def at_edges(self) -> tuple[Deviation, ...]:
        """What may be off in openings of which it has an edge, besides what is in its solid."""
        return ()

    def may_move(self, one: Deviation) -> bool:
        """Whether a dimension may move it."""
        return one.touches(self.solid)

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the prism when a dimension is off."""
        moved = one.moved(self.solid, off_mm)
        return self.prism if moved is None else moved[self.place]


def greatest_mm(one: Deviation) -> float:
    """Return how far a dimension is off at most (mm)."""
    return max(one.dimension.plus_mm or 0.0, one.dimension.minus_mm or 0.0)


def axes_across(solids: Solids, way: Way) -> Axes:
    """Return the axes that matter to a move along `way`: more where outlines lie across it."""
    bent = {p.axis for s in solids for p in s.prisms if not p.is_box} - {way.axis}
    return ALL_AXES if bent else frozenset((way.axis,))


def faces(solids: Solids) -> Iterator[Face]:
    """Yield the faces of solids, one a prism."""
    for solid in solids:
        yield from (Face(solid, place) for place in range(len(solid.prisms)))


def all_prisms(solids: Solids, moved: Mapping[Solid, Prisms] | None = None) -> Prisms:
    """Return the prisms of solids in a row, those of moved ones as they then are."""
    moved = moved or {}
    return tuple(p for s in solids for p in moved.get(s, s.prisms))
