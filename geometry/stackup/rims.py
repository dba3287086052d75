"""Walls as their faces and parts at the edges of openings, kept for each enclosure.

Besides the bars that may come between openings: as drawn there is none of these.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from itertools import product

from catalog.enclosure import Enclosure
from geometry.measures.prism import Prism
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.part_solids import shape_prism
from geometry.recent import Recent
from geometry.stackup.bars import Bar, bars_of
from geometry.stackup.combined_effects import Moving
from geometry.stackup.deviation import Deviation, Prisms, is_one_of
from geometry.stackup.enclosure_deviations import of_opening
from geometry.stackup.faces import Face
from geometry.stackup.rim_parts import Cluster, Hole, Rim
from geometry.stackup.rims_across import parts_at
from geometry.walls import WALL_NAMES


@dataclass(frozen=True)
class RimFace(Face):
    """A part of a prism of a wall at the edges of openings."""

    rim: Rim

    @property
    def prism(self) -> Prism:
        """The part as drawn."""
        return self.rim.prism

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the part when a dimension of the enclosure is off."""
        found = self.rim.when(one, off_mm)
        if found is not None:
            return found
        moved = one.moved(self.solid, off_mm)
        if moved is None or moved[self.place] == self.solid.prisms[self.place]:
            return self.rim.prism
        return self.rim.within(moved[self.place])

    @property
    def at_edges(self) -> tuple[Deviation, ...]:
        """What may be off in the openings at its edges."""
        return self.rim.moving

    @property
    def cut_by(self) -> Sequence[Hole]:
        """The openings that have an edge on it."""
        return self.rim.holes

    def cut_anew(self, opening: Moving, cut: Prism, off_mm: float) -> Prism:
        """Return the part when one of them is cut otherwise, off by so much at most."""
        hole = next(one for one in self.rim.holes if one is opening)
        return self.rim.recut(hole, cut, off_mm)


@dataclass(frozen=True)
class BarFace(Face):
    """A bar of a wall that may come between two openings, as it would stand."""

    bar: Bar

    @property
    def prism(self) -> Prism:
        """The bar where the faces of the wall are as drawn."""
        return self.bar.prism

    def when(self, one: Deviation, off_mm: float) -> Prism:
        """Return the bar when a dimension of the enclosure is off."""
        return self.bar.when(one, off_mm)


@dataclass(frozen=True, eq=False)
class Parted(Solid):
    """A wall as all its parts; the last prisms, so many, are bars that only may come."""

    bars: int = 0
    parts: tuple[Face, ...] = ()

    def is_bar(self, place: int) -> bool:
        """Whether a prism, by its place, is not there as drawn."""
        return place >= len(self.prisms) - self.bars


@dataclass(frozen=True, eq=False)
class Rims:
    """The openings of an enclosure, and the parts of its walls, kept for the next time."""

    enclosure: Enclosure
    holes: tuple[Hole, ...]
    _clusters: dict[tuple[str, int], tuple[Cluster, ...]] = field(default_factory=dict)
    _bars: dict[str, tuple[Bar, ...]] = field(default_factory=dict)

    def clusters(self, face: Face) -> tuple[Cluster, ...]:
        """Return the parts of a face of a wall, by places; none where it is no edge of any."""
        if not self.holes or face.solid.owner not in WALL_NAMES:
            return ()
        key = (face.solid.id, face.place)
        if key not in self._clusters:
            piece = face.solid.prisms[face.place]
            self._clusters[key] = tuple(parts_at(piece, self.holes))
        return self._clusters[key]

    def bars(self, wall: Solid) -> tuple[BarFace, ...]:
        """Return the bars that may come in a wall; none in what is no wall."""
        if len(self.holes) < 2 or wall.owner not in WALL_NAMES:
            return ()
        if wall.id not in self._bars:
            self._bars[wall.id] = tuple(bars_of(self.enclosure, wall.id, self.holes))
        return tuple(BarFace(wall, 0, bar) for bar in self._bars[wall.id])

    def ends_mm(self, wall: Solid) -> tuple[float, ...]:
        """Return how far openings at the ends of a wall let its bounds grow, side by side (mm).

        Bars between openings that take a whole end of it lie beyond that too.
        """
        ends = [0.0] * 6
        if wall.owner in WALL_NAMES:
            for hole, side in product(self.holes, range(6)):
                if abs(wall.bounds[side] - hole.prism.bounds[(side + 3) % 6]) <= LENGTH_EPS_MM:
                    ends[side] += hole.reach_mm
            for bar, side in product(self.bars(wall), range(6)):
                beyond = bar.prism.bounds[side] - wall.bounds[side]
                ends[side] = max(ends[side], beyond if side > 2 else -beyond)
        return tuple(ends)

    def parted(self, wall: Solid, own: Sequence[Deviation]) -> tuple[Solid, tuple[Deviation, ...]]:
        """Return a wall as a solid of all its parts and bars, with what may be off in it.

        `own` is what may be off in the wall itself.
        """
        parts: list[Face] = []
        for place in range(len(wall.prisms)):
            face = Face(wall, place)
            rims = [rim for cluster in self.clusters(face) for rim in cluster.rims]
            parts += [RimFace(wall, place, rim) for rim in rims] or [face]
        bars = self.bars(wall)
        if not bars and all(part.prism is wall.prisms[part.place] for part in parts):
            return wall, tuple(own)
        parts += bars
        told = {one.name: getattr(wall, one.name) for one in fields(wall) if one.init}
        told |= {"id": f"{wall.id}/rims", "prisms": tuple(part.prism for part in parts)}
        solid = Parted(**told, bars=len(bars), parts=tuple(parts))
        touches = is_one_of(solid.id)

        edges = [one for part in parts for one in part.at_edges]

        def of_parts(one: Deviation) -> Deviation:
            def move(_: Solid, off_mm: float) -> Prisms:
                return tuple(
                    part.when(one, off_mm) if one in own or one in part.at_edges else part.prism
                    for part in parts
                )

            return Deviation(one.owner, one.path, one.dimension, move, one.axes, touches)

        return solid, tuple(map(of_parts, dict.fromkeys((*own, *edges))))


_recent: Recent[Rims] = Recent(8)


def rims_of(enclosure: Enclosure) -> Rims:
    """Return the parts of the walls of an enclosure, kept for the next time."""

    def find() -> Rims:
        openings = enumerate(enclosure.openings)
        return Rims(
            enclosure,
            tuple(Hole(shape_prism(o.shape), tuple(of_opening(enclosure, k))) for k, o in openings),
        )

    return _recent.of(enclosure, find=find)
