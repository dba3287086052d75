"""Depth over a zone: where along it the next solid stands how far from the plate.

The footprint is the zone's whole length (or width), and across it the band of its fan frames as
they stand with the stack's slide. What belongs to the stack on the zone does not count, so that one
sees where a thicker part would still go.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from catalog.enclosure import ZoneSide
from geometry.layout import Side
from geometry.measures.envelope import DepthPiece
from geometry.measures.pose import Vec, Way
from geometry.measures.prism import PLANE, Prism, Rect, box
from geometry.measures.profile import DepthProfile, depth_profile
from geometry.measures.solid import Role
from geometry.placement import ZoneFrame
from geometry.scene import Scene


@dataclass(frozen=True)
class ZoneProfile:
    """The profile of one side of a zone along a direction of its plane.

    `along` is the world direction of the zone's u or v; places along it are counted from the
    zone's corner. `names` tells what the zone and the keys of the pieces are called.
    """

    zone: ZoneFrame
    side: Side
    along: Way
    across_mm: tuple[float, float]
    profile: DepthProfile
    names: dict[str, str]
    stack_mm: tuple[tuple[float, float, float], ...]
    """What the stack takes up: from, to along the side, and its height over the plate."""

    @property
    def way(self) -> Way:
        """The direction in which the depth is measured."""
        return self.zone.out_of_plate(self.side)

    def place_mm(self, t_mm: float) -> float:
        """Return a world coordinate along the side as a place counted from the zone's corner."""
        return self.along.sign * (t_mm - self.zone.pose.shift[self.along.axis]) + 0.0

    def pieces(self) -> tuple[tuple[float, float, DepthPiece], ...]:
        """Return the pieces with their ends counted from the zone's corner, in that order."""
        placed = []
        for piece in self.profile.pieces:
            start, end = sorted((self.place_mm(piece.t0), self.place_mm(piece.t1)))
            placed.append((start, end, piece))
        return tuple(sorted(placed, key=lambda one: one[0]))

    def ends_mm(self, piece: DepthPiece) -> tuple[float, float]:
        """Return the depth at the start and at the end of a piece, from the corner on (mm)."""
        first, last = piece.depth(piece.t0), piece.depth(piece.t1)
        return (first, last) if self.along.sign > 0 else (last, first)

    def window(self, t0_mm: float, t1_mm: float) -> Prism:
        """Return the footprint between two coordinates along the side, flat on the datum."""
        third = 3 - self.along.axis - self.way.axis
        low, high = [0.0] * 3, [0.0] * 3
        low[self.along.axis], high[self.along.axis] = t0_mm, t1_mm
        low[third], high[third] = self.across_mm
        low[self.way.axis] = high[self.way.axis] = datum_mm(self.zone, self.side)
        return box(low, high)

    def point(self, t_mm: float, depth_mm: float) -> Vec:
        """Return the world point at a coordinate along the side and a depth off the plate."""
        third = 3 - self.along.axis - self.way.axis
        at = [0.0, 0.0, 0.0]
        at[self.along.axis] = t_mm
        at[self.way.axis] = datum_mm(self.zone, self.side) + self.way.sign * depth_mm
        at[third] = sum(self.across_mm) / 2
        return (at[0], at[1], at[2])


def datum_mm(zone: ZoneFrame, side: Side) -> float:
    """Return the world level of the face on which the layers of a side are seated."""
    given = zone.zone.side(side)
    way = zone.out_of_plate(side)
    return zone.pose.shift[way.axis] + way.sign * (given or ZoneSide()).plate_mm


def zone_profile(
    scene: Scene, zone_id: str, side: Side = "inner", *, across: bool = False
) -> ZoneProfile:
    """Return the depth over a zone along its u, or along its v with `across`.

    Raises KeyError when there is no such zone, ValueError when it takes no layers on that side.
    """
    zone = scene.frames[zone_id]
    if zone.zone.side(side) is None:
        raise ValueError(f"zone {zone_id} takes no layers on its {side} side")
    way = zone.out_of_plate(side)
    along = zone.pose.y if across else zone.pose.x
    own = [stack.id for stack in scene.layout.stacks if stack.zone == zone_id]
    run, band = footprint_mm(scene, zone, across=across)
    first = PLANE[way.axis].index(along.axis) == 0
    (a0, a1), (b0, b1) = (run, band) if first else (band, run)
    others: list[tuple[str, tuple[Prism, ...]]] = []
    names = {zone.zone.id: scene.name_of(zone.zone.id)}
    for solid in (*scene.solids, scene.walls.beyond):
        if solid.role is not Role.AIR and solid.stack not in own:
            others.append((solid.id, solid.prisms))
            names[solid.id] = solid.name
    datum = datum_mm(zone, side)
    profile = depth_profile(Rect(a0, b0, a1, b1), datum, way, along.axis, others)
    stack = tuple(_stack_spans(scene, zone, side, along, datum))
    return ZoneProfile(zone, side, along, band, profile, names, stack)


def footprint_mm(
    scene: Scene, zone: ZoneFrame, *, across: bool
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return from where to where a footprint reaches along its side, and across it, in the world.

    The side runs along the zone's u, or along its v with `across`.
    """
    along, other = (zone.pose.y, zone.pose.x) if across else (zone.pose.x, zone.pose.y)
    length = zone.zone.width_mm if across else zone.zone.length_mm
    band = _on_world(zone, other, *_frames_mm(scene, zone, along_u=across))
    return _on_world(zone, along, 0.0, length), band


def _frames_mm(scene: Scene, zone: ZoneFrame, *, along_u: bool) -> tuple[float, float]:
    """Return from where to where the frames of a zone reach along u or v."""
    slide = 0.0
    for stack in scene.layout.stacks:
        if stack.zone == zone.zone.id:
            slide = stack.slide_u_mm if along_u else stack.slide_v_mm
    ends: list[float] = []
    for cell in zone.zone.cells:
        half = max(mount.frame_mm for mount in cell.accepts) / 2
        middle = (cell.u_mm if along_u else cell.v_mm) + slide
        ends += [middle - half, middle + half]
    return min(ends), max(ends)


def _on_world(zone: ZoneFrame, way: Way, lo: float, hi: float) -> tuple[float, float]:
    start = zone.pose.shift[way.axis]
    a, b = sorted((start + way.sign * lo, start + way.sign * hi))
    return a, b


def _stack_spans(
    scene: Scene, zone: ZoneFrame, side: Side, along: Way, datum: float
) -> Iterator[tuple[float, float, float]]:
    way = zone.out_of_plate(side)
    for stack in scene.layout.stacks:
        if stack.zone != zone.zone.id:
            continue
        for one in scene.items_of(stack):
            for solid in scene.solids_of[one.id] if one.side == side else ():
                if solid.hard:
                    b = solid.bounds
                    far = b[way.axis + 3] if way.sign > 0 else b[way.axis]
                    yield b[along.axis], b[along.axis + 3], way.sign * (far - datum)
