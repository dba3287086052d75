"""The enclosure: cavity, walls, fixed obstacles, panels, openings and mount zones.

Frame: origin at the rear, access-side, floor corner of the cavity's bounding box; x to the front,
y from the access side inward, z up.
"""

from collections.abc import Iterable
from typing import Annotated, Literal, Self, get_args

from pydantic import Field, model_validator

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
    refusal,
    require_unique_ids,
)
from catalog.paths import require_known_paths, require_sizes_left
from catalog.shapes import Box, Cell, Plug, Shape, shape_bounds

Side = Literal["inner", "outer"]
"""A side of a zone's plate, and of the stack on it."""

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

    @model_validator(mode="after")
    def _is_a_place(self) -> Self:
        if self.u[1] == self.v[1]:
            raise refusal("v", f'"{self.v}" lies along u, "{self.u}"', "name another axis")
        if self.inner is None and self.outer is None:
            raise refusal("inner", "the zone takes layers on neither side", "give inner or outer")
        require_unique_ids("cells", (cell.id for cell in self.cells))
        for index, cell in enumerate(self.cells):
            if not (0 <= cell.u_mm <= self.length_mm and 0 <= cell.v_mm <= self.width_mm):
                raise refusal(
                    f"cells[{index}]",
                    f"its centre ({cell.u_mm:g}, {cell.v_mm:g}) lies outside the zone, "
                    f"{self.length_mm:g} x {self.width_mm:g}",
                    "u_mm and v_mm are taken from the corner origin_mm",
                )
        return self

    def side(self, side: Side) -> ZoneSide | None:
        """Return one side of the plate; None where it takes no layers there."""
        return self.inner if side == "inner" else self.outer


class ObstacleState(Model):
    """One state of an obstacle: taken out, or shifted from its drawn place."""

    id: Id
    name: Label
    out: bool = False
    shift_mm: Point = (0.0, 0.0, 0.0)


_IN_PLACE = ObstacleState.model_construct(id="in-place", name="in place")
"""As it is drawn. Not validated: that would build its validator wherever enclosures are loaded."""


class Cut(Model):
    """Material that has been cut off an obstacle: `off_mm` at one end, or all of it.

    `end` "-x" is the end with the least x; where it is None nothing of the obstacle is left.
    """

    end: Direction | None
    off_mm: Room


class Obstacle(Model):
    """Something fixed in the enclosure; the first of its states is the usual one.

    What stands on it (a peg on a bracket) names it as `owner` and goes where it goes. `way_out`
    is the direction in which it is taken out, over `way_out_mm`. `shapes` are what is left of it
    once all `cuts` have been made.
    """

    id: Id
    name: Label
    kind: Literal[
        "tray", "board", "card", "supply", "cage", "drive", "duct", "peg", "cable", "bracket",
        "frame", "other",
    ] = "other"  # fmt: skip
    shapes: Annotated[tuple[Shape, ...], Field(min_length=1)]
    plugs: tuple[Plug, ...] = ()
    states: Annotated[tuple[ObstacleState, ...], Field(min_length=1)] = (_IN_PLACE,)
    owner: Id | None = None
    way_out: Direction | None = None
    way_out_mm: Room = 0.0
    cuts: tuple[Cut, ...] = ()

    @model_validator(mode="after")
    def _ids_differ(self) -> Self:
        require_unique_ids("plugs", (plug.id for plug in self.plugs))
        require_unique_ids("states", (state.id for state in self.states))
        return self


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
    """An enclosure; cavity and outer shape are unions of shapes that share one axis.

    Boxes may have any. Ids differ over all obstacles, panels, openings, zones and so on.
    """

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

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        _require_unique_ids_in_all(self)
        _require_owners(self)
        _require_one_axis(self)
        _require_cavity_in_outer(self)
        require_known_paths(self, self.dimensions)
        require_sizes_left(self, self.dimensions)
        return self


RESERVED_IDS = (*get_args(WallName), "step", "outside")
"""What findings call the walls, a step in the cavity, and all that lies beyond."""

_WITH_IDS = ("obstacles", "panels", "openings", "outside", "zones", "no_drill")


def _require_unique_ids_in_all(enclosure: Enclosure) -> None:
    seen: dict[str, str] = {}
    for field in _WITH_IDS:
        for index, thing in enumerate(getattr(enclosure, field)):
            here = f"{field}[{index}]"
            if thing.id in RESERVED_IDS:
                raise refusal(
                    f"{here}.id", f'"{thing.id}" is the name of a wall', f'"{thing.id}-1" will do'
                )
            if thing.id in seen:
                raise refusal(
                    f"{here}.id",
                    f'the id "{thing.id}" is used for {seen[thing.id]} too',
                    "give each its own id",
                )
            seen[thing.id] = here


def _require_owners(enclosure: Enclosure) -> None:
    walls = get_args(WallName)
    panels = [panel.id for panel in enclosure.panels]
    owners = {obstacle.id: obstacle.owner for obstacle in enclosure.obstacles}
    for index, zone in enumerate(enclosure.zones):
        if zone.owner not in (*walls, *panels, *owners):
            raise refusal(
                f"zones[{index}].owner",
                f'"{zone.owner}" is no wall, panel or obstacle of this enclosure',
                f"name one of {_listed((*walls, *panels, *owners))}",
            )
    for index, obstacle in enumerate(enclosure.obstacles):
        field = f"obstacles[{index}].owner"
        if obstacle.owner is not None and obstacle.owner not in (*panels, *owners):
            raise refusal(
                field,
                f'"{obstacle.owner}" is no obstacle or panel of this enclosure',
                f"name one of {_listed((*panels, *owners))}",
            )
        passed: set[str] = set()
        one: str | None = obstacle.id
        while one is not None and one not in passed:
            passed.add(one)
            one = owners.get(one)
        if one is not None:
            raise refusal(field, f'"{one}" is owned by itself in a circle', "cut the circle")


def _listed(names: Iterable[str]) -> str:
    every = list(names)
    return ", ".join(every[:12]) + (", ..." if len(every) > 12 else "")


def _require_one_axis(enclosure: Enclosure) -> None:
    shapes = [
        (f"{field}[{index}].axis", shape)
        for field in ("cavity", "outer")
        for index, shape in enumerate(getattr(enclosure, field))
    ]
    axes = [(where, shape.axis) for where, shape in shapes if not isinstance(shape, Box)]
    for where, axis in axes:
        if axis != axes[0][1]:
            raise refusal(
                where,
                f'is "{axis}", but {axes[0][0]} is "{axes[0][1]}"',
                "all round and polygon shapes of cavity and outer lie along one axis",
            )


def _require_cavity_in_outer(enclosure: Enclosure) -> None:
    corners = [shape_bounds(shape) for shape in enclosure.outer]
    least = [min(low[k] for low, _ in corners) for k in range(3)]
    most = [max(high[k] for _, high in corners) for k in range(3)]
    for index, shape in enumerate(enclosure.cavity):
        low, high = shape_bounds(shape)
        for k in range(3):
            if low[k] < least[k] or high[k] > most[k]:
                raise refusal(
                    f"cavity[{index}]",
                    f"runs along {'xyz'[k]} from {low[k]:g} to {high[k]:g}, beyond the outer "
                    f"shape, {least[k]:g} to {most[k]:g}",
                    "the cavity lies inside the outer shape",
                )
