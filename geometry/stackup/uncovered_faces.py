"""Faces of an item where it lies bare beside what is stacked over it.

Only there its depth is measured (`geometry.item_travel`). An edge at which it begins is that of
what lies over it, and goes with that; a face that is covered as drawn stays so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from geometry.item_travel import ItemTravel
from geometry.measures.prism import PLANE, Prism, Rect
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.deviation import Deviation
from geometry.stackup.faces import Face, Solids, faces
from geometry.uncovered_prisms import uncovered_prisms


@dataclass(frozen=True)
class UncoveredFace(Face):
    """A rectangle of a box that lies bare, seen along the axis of the piece."""

    piece: Prism
    covers: Solids

    @property
    def prism(self) -> Prism:
        """The piece as drawn."""
        return self.piece

    def may_move(self, one: Deviation) -> bool:
        """Whether a dimension may move the box, or what lies over it."""
        return super().may_move(one) or any(one.touches(cover) for cover in self.covers)

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the piece when a dimension is off; as it was where nothing of it is left."""
        drawn, axis = self.solid.prisms[self.place].bounds, self.piece.axis
        then = super().when(one, off_mm).bounds if super().may_move(one) else drawn
        ends = list(self.piece.bounds)
        for k in (axis, axis + 3):
            ends[k] += then[k] - drawn[k]
        for k in (n + end for n in PLANE[axis] for end in (0, 3)):
            own = then[k] - drawn[k]
            at_cover = None if ends[k] == drawn[k] else self._cover_moved(k, one, off_mm)
            ends[k] += own if at_cover is None else at_cover
        i, j = PLANE[axis]
        if ends[i + 3] - ends[i] <= LENGTH_EPS_MM or ends[j + 3] - ends[j] <= LENGTH_EPS_MM:
            return self.piece
        rect = Rect(ends[i], ends[j], ends[i + 3], ends[j + 3])
        return Prism(axis, rect, ends[axis], ends[axis + 3])

    def _cover_moved(self, k: int, one: Deviation, off_mm: float) -> float | None:
        """Return how far the edge of a cover goes at which the piece has one of its bounds.

        None where it is none: round covers count as the rectangle within them.
        """
        edge = (k + 3) % 6
        for cover in self.covers:
            after = one.moved(cover, off_mm) or cover.prisms
            for p, q in zip(cover.prisms, after, strict=False):
                if abs(p.bounds[edge] - self.piece.bounds[k]) <= LENGTH_EPS_MM:
                    return q.bounds[edge] - p.bounds[edge]
        return None


def uncovered_faces(item: ItemTravel) -> Iterator[Face]:
    """Yield the faces of an item, of those that are covered in part what lies bare of them."""
    for solid in item.solids:
        if solid.hard:
            yield from _bare_of(solid, item) if item.covers else faces((solid,))


def _bare_of(solid: Solid, item: ItemTravel) -> Iterator[Face]:
    for place, prism in enumerate(solid.prisms):
        for piece in uncovered_prisms((prism,), item.covers, item.way):
            if piece is prism:
                yield Face(solid, place)
            else:
                yield UncoveredFace(solid, place, piece, item.covers)
