"""The enclosure: cavity, walls, fixed obstacles, panels, openings and mount zones.

Frame: origin at the rear, access-side, floor corner of the cavity's bounding box; x to the front,
y from the access side inward, z up.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from catalog.model import (
    Dimensions,
    Direction,
    FrozenMap,
    Id,
    Label,
    Length,
    Model,
    Point,
    Room,
)
from catalog.shapes import Cell, Plug, Shape

WallName = Literal["rear", "front", "access", "far", "floor", "roof"]


class ZoneSide(Model):
    """One side of a zone's plate.

    Inner layers start `plate_mm` above the datum along n (0 for a flat plate); outer layers start
    `plate_mm` behind it. `depth_mm` is the maker's nominal depth, where one is given; the true
    depth is always measured.
    """

    plate_mm: Room = 0.0
    depth_mm: Length | None = None


class Zone(Model):
    """A flat place with holes or slots for fan-sized frames.

    `origin_mm` is the corner of the zone's rectangle, `u` and `v` its axes, n = u x v inward.
    `owner` is a wall's name, a panel's id, or the id of the obstacle (a bracket) that carries it.
    Cells are listed in the order of u, then v.
    """

    id: Id
    name: Label
    owner: Id
    origin_mm: Point
    u: Direction
    v: Direction
    length_mm: Length
    width_mm: Length
    cells: Annotated[tuple[Cell, ...], Field(min_length=1)]
    inner: ZoneSide | None = Field(default_factory=ZoneSide)
    outer: ZoneSide | None = None


class ObstacleState(Model):
    """One state of an obstacle: taken out, or shifted from its drawn place."""

    id: Id
    name: Label
    out: bool = False
    shift_mm: Point = (0.0, 0.0, 0.0)


class Obstacle(Model):
    """Something fixed in the enclosure; the first of its states is the usual one.

    What stands on it (a peg on a bracket) names it as `owner` and goes where it goes. `way_out`
    is the direction in which it is taken out, over `way_out_mm`.
    """

    id: Id
    name: Label
    kind: Literal[
        "tray", "board", "card", "supply", "cage", "drive", "duct", "peg", "cable", "bracket",
        "frame", "other",
    ] = "other"  # fmt: skip
    shapes: Annotated[tuple[Shape, ...], Field(min_length=1)]
    plugs: tuple[Plug, ...] = ()
    states: Annotated[tuple[ObstacleState, ...], Field(min_length=1)] = (
        ObstacleState(id="in-place", name="in place"),
    )
    owner: Id | None = None
    way_out: Direction | None = None
    way_out_mm: Room = 0.0


class Panel(Model):
    """A panel that comes off or swings open; `wall` is the side of the cavity that it closes."""

    id: Id
    name: Label
    wall: WallName
    held: Literal["lifts off", "hinged", "screwed", "slides"] = "lifts off"


class Opening(Model):
    """A cut through the walls: grille, grommet, cable slot."""

    id: Id
    name: Label
    wall: WallName
    shape: Shape


class OutsideSolid(Model):
    """Something outside the enclosure that takes up room: a foot, a rail, a handle."""

    id: Id
    name: Label
    shapes: Annotated[tuple[Shape, ...], Field(min_length=1)]


class NoDrill(Model):
    """A face that must not be drilled, and why."""

    id: Id
    wall: WallName
    reason: Label


class Enclosure(Model):
    """An enclosure; cavity and outer shape are unions of shapes that share one axis."""

    id: Id
    name: Label
    aliases: tuple[str, ...] = ()
    source: str = "common practice, no source"
    cavity: Annotated[tuple[Shape, ...], Field(min_length=1)]
    outer: Annotated[tuple[Shape, ...], Field(min_length=1)]
    obstacles: tuple[Obstacle, ...] = ()
    panels: tuple[Panel, ...] = ()
    openings: tuple[Opening, ...] = ()
    outside: tuple[OutsideSolid, ...] = ()
    zones: tuple[Zone, ...] = ()
    no_drill: tuple[NoDrill, ...] = ()
    dimensions: Dimensions = Field(default_factory=FrozenMap)
