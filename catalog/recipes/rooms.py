"""What the recipes of enclosures share: zones by world coordinates, fan holes, standing parts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from catalog.enclosure import (
    Obstacle,
    ObstacleState,
    Opening,
    OutsideSolid,
    WallName,
    Zone,
    ZoneSide,
)
from catalog.model import Direction, Point
from catalog.parts import Board, Supply
from catalog.recipes.boards import APERTURE_MM, APERTURE_OVER_BOARD_MM
from catalog.recipes.boxed_parts import FULL_HEIGHT_MM
from catalog.recipes.frames import mount
from catalog.shapes import Box, Cell, Cylinder, Extrusion, Plug, Shape

Slot = tuple[float, float]

_AXES = "xyz"

FLAT = ZoneSide()

WALL_AXIS: dict[WallName, str] = {
    "rear": "x", "front": "x", "access": "y", "far": "y", "floor": "z", "roof": "z",
}  # fmt: skip


def block(least: Sequence[float], most: Sequence[float]) -> Box:
    """Return the box between two corners (mm)."""
    size = [round(b - a, 4) for a, b in zip(least, most, strict=True)]
    return Box(at_mm=(least[0], least[1], least[2]), size_mm=(size[0], size[1], size[2]))


def zone(
    ident: str,
    name: str,
    owner: str,
    axes: tuple[Direction, Direction],
    corners: tuple[Point, Point],
    centres: Iterable[tuple[float, float]],
    frames: Sequence[int],
    slots: tuple[Slot, Slot] = ((0.0, 0.0), (0.0, 0.0)),
    inner: ZoneSide | None = FLAT,
    outer: ZoneSide | None = None,
) -> Zone:
    """Return a zone given in the enclosure's coordinates.

    `corners` are the least and the greatest corner of its rectangle, `centres` the cells' places
    along the axes of u and of v, in the order of u, then v. Slots run along u and along v.
    """
    u, v = axes
    least, most = corners
    origin = list(least)
    for direction in axes:
        if direction[0] == "-":
            k = _AXES.index(direction[1])
            origin[k] = most[k]
    iu, iv = _AXES.index(u[1]), _AXES.index(v[1])
    su, sv = (1 if u[0] == "+" else -1), (1 if v[0] == "+" else -1)
    cells = tuple(
        Cell(
            id=str(k + 1),
            u_mm=su * (a - origin[iu]),
            v_mm=sv * (b - origin[iv]),
            accepts=tuple(mount(frame) for frame in frames),
            slot_u_mm=slots[0],
            slot_v_mm=slots[1],
        )
        for k, (a, b) in enumerate(centres)
    )
    return Zone(
        id=ident,
        name=name,
        owner=owner,
        origin_mm=(origin[0], origin[1], origin[2]),
        u=u,
        v=v,
        length_mm=most[iu] - least[iu],
        width_mm=most[iv] - least[iv],
        cells=cells,
        inner=inner,
        outer=outer,
    )


def cell_centres(one: Zone) -> Iterator[Point]:
    """Yield the middles of a zone's cells in the enclosure's coordinates."""
    for cell in one.cells:
        at = list(one.origin_mm)
        for direction, length in ((one.u, cell.u_mm), (one.v, cell.v_mm)):
            at[_AXES.index(direction[1])] += length if direction[0] == "+" else -length
        yield (at[0], at[1], at[2])


def fan_openings(one: Zone, wall: WallName, through: tuple[float, float]) -> Iterator[Opening]:
    """Yield a round opening behind each cell of a zone, from end to end of `through` (mm)."""
    axis = WALL_AXIS[wall]
    for cell, centre in zip(one.cells, cell_centres(one), strict=True):
        at = list(centre)
        at[_AXES.index(axis)] = through[0]
        frame = min(m.frame_mm for m in cell.accepts)
        yield Opening(
            id=f"{one.id}-grille-{cell.id}",
            name=f"grille of {one.name}, cell {cell.id}",
            wall=wall,
            shape=Cylinder(
                axis=axis,  # type: ignore[arg-type]
                at_mm=(at[0], at[1], at[2]),
                diameter_mm=frame - 6.0,
                length_mm=round(through[1] - through[0], 4),
            ),
        )


def supply_cut(least: Point, most: Point) -> Opening:
    """Return the opening behind a power supply, a box between two corners (mm)."""
    shape = block(least, most)
    return Opening(id="supply-cut", name="cut for the power supply", wall="rear", shape=shape)


def card_cut(least: Point, most: Point) -> Opening:
    """Return the opening behind a card, a box between two corners (mm)."""
    shape = block(least, most)
    return Opening(id="card-cut", name="cut for the card's connectors", wall="rear", shape=shape)


def tube_grommets(
    across: Iterable[float], height: float, diameter: float, wall: float
) -> Iterator[Opening]:
    """Yield round openings in the rear wall, `wall` thick, at some y and at one height (mm)."""
    for k, y in enumerate(across):
        yield Opening(
            id=f"grommet-{k + 1}",
            name=f"tube grommet {k + 1}",
            wall="rear",
            shape=Cylinder(
                axis="x", at_mm=(-wall, y, height), diameter_mm=diameter, length_mm=wall
            ),
        )


def plate_with_windows(
    axis: str, span: tuple[float, float], corners: tuple[Point, Point], holes: Iterable[Point],
    half: float,
) -> Extrusion:  # fmt: skip
    """Return a flat plate across `axis` with an eight-cornered window round each hole's middle."""
    i, j = (k for k in range(3) if _AXES[k] != axis)
    (a0, b0), (a1, b1) = ((c[i], c[j]) for c in corners)
    cut = round(half * 0.4, 1)
    rings = []
    for hole in holes:
        a, b = hole[i], hole[j]
        rings.append(
            (
                (a - half + cut, b - half), (a + half - cut, b - half), (a + half, b - half + cut),
                (a + half, b + half - cut), (a + half - cut, b + half), (a - half + cut, b + half),
                (a - half, b + half - cut), (a - half, b - half + cut),
            )
        )  # fmt: skip
    return Extrusion(
        axis=axis,  # type: ignore[arg-type]
        outline_mm=((a0, b0), (a1, b0), (a1, b1), (a0, b1)),
        holes_mm=tuple(rings),
        from_mm=span[0],
        to_mm=span[1],
    )


class Stand:
    """Turns shapes and plugs of a part so that it stands in an enclosure.

    Lying: part X, Y, Z along x, y, z. Upright: part X along x, Y up along z, Z out along -y.
    `at` is where the middle of the part's seat face comes to lie.
    """

    def __init__(self, at: Point, *, upright: bool) -> None:
        self._at = at
        self._upright = upright

    def point(self, p: Point) -> Point:
        """Return the place of a point of the part frame."""
        x, y, z = (p[0], -p[2], p[1]) if self._upright else p
        at = self._at
        return (round(at[0] + x, 4), round(at[1] + y, 4), round(at[2] + z, 4))

    def box(self, shape: Shape) -> Box:
        """Return a box of the part frame as it stands."""
        assert isinstance(shape, Box), "only boxes stand on the shipped boards and supplies"
        one = self.point(shape.at_mm)
        far = self.point(
            (
                shape.at_mm[0] + shape.size_mm[0],
                shape.at_mm[1] + shape.size_mm[1],
                shape.at_mm[2] + shape.size_mm[2],
            )
        )
        return block(
            [min(a, b) for a, b in zip(one, far, strict=True)],
            [max(a, b) for a, b in zip(one, far, strict=True)],
        )

    def plug(self, plug: Plug) -> Plug:
        """Return a plug of the part frame as it stands."""
        if not self._upright:
            return plug.but(at_mm=self.point(plug.at_mm))
        facings: dict[Direction, Direction] = {
            "+x": "+x", "-x": "-x", "+y": "+z", "-y": "-z", "+z": "-y", "-z": "+y",
        }  # fmt: skip
        swap = plug.facing[1] == "x"
        return plug.but(
            at_mm=self.point(plug.at_mm),
            facing=facings[plug.facing],
            width_mm=plug.height_mm if swap else plug.width_mm,
            height_mm=plug.width_mm if swap else plug.height_mm,
        )


def shell(cavity: Point, wall: float, front: float | None = None) -> tuple[Box, Box]:
    """Return the cavity from the origin to `cavity` and the outer box, walls `wall` thick (mm)."""
    ahead = wall if front is None else front
    most = (cavity[0] + ahead, cavity[1] + wall, cavity[2] + wall)
    return block((0.0, 0.0, 0.0), cavity), block((-wall, -wall, -wall), most)


def feet(length: float, width: float, wall: float, height: float) -> OutsideSolid:
    """Return four feet under a box of the given cavity length and width (mm)."""
    size = 30.0
    return OutsideSolid(
        id="feet",
        name="feet",
        shapes=tuple(
            block((x, y, -wall - height), (x + size, y + size, -wall))
            for x in (10.0, length - 10.0 - size)
            for y in (10.0, width - 10.0 - size)
        ),
    )


IN_PLACE = ObstacleState(id="in-place", name="in place")
TAKEN_OUT = ObstacleState(id="out", name="taken out", out=True)

STANDOFF_MM = 6.35
"""Room between a tray and a board's back: 0.25 in (ATX specification 2.1)."""

FINGERS_MM = 3.2
"""Card's edge fingers above the board, in the slot (assumed)."""


def connector_aperture(part: Board, at: Point, wall: float, *, upright: bool) -> Opening:
    """Return the cut for a board's rear connectors.

    Along the board it lies in the middle of the connectors.
    """
    stand = Stand(at, upright=upright)
    connectors = part.bodies[0]
    assert isinstance(connectors, Box)
    middle = connectors.at_mm[1] + connectors.size_mm[1] / 2
    low, half = part.height_mm + APERTURE_OVER_BOARD_MM, APERTURE_MM[0] / 2
    high = low + APERTURE_MM[1]
    cut = stand.box(block((0.0, middle - half, low), (1.0, middle + half, high)))
    least, size = cut.at_mm, cut.size_mm
    return Opening(
        id="connector-aperture",
        name="aperture for the board's connectors",
        wall="rear",
        shape=Box(at_mm=(-wall, least[1], least[2]), size_mm=(wall, size[1], size[2])),
    )


def standing_card(
    board: Board, at: Point, span: tuple[float, float], along: tuple[float, float], *,
    upright: bool,
) -> Obstacle:  # fmt: skip
    """Return a full-height card on a board, with its power plug at the top edge.

    `span` is its place along the board's Y, from the middle; `along` its ends in x.
    """
    stand = Stand(at, upright=upright)
    bottom = board.height_mm + FINGERS_MM
    top = round(bottom + FULL_HEIGHT_MM, 4)
    body = stand.box(block((along[0] - at[0], span[0], bottom), (along[1] - at[0], span[1], top)))
    plug = Plug(
        id="power",
        name="card power plug",
        at_mm=(along[1] - at[0] - 50.0, (span[0] + span[1]) / 2, top),
        facing="+z",
        width_mm=30.0,
        height_mm=12.0,
        plug_mm=14.0,
        bend_mm=25.0,
    )
    return Obstacle(
        id="card",
        name="card, two slots",
        kind="card",
        shapes=(body,),
        plugs=(stand.plug(plug),),
        states=(IN_PLACE, TAKEN_OUT),
        owner="board",
    )


def standing_board(part: Board, at: Point, *, upright: bool, owner: str) -> Obstacle:
    """Return a board with all that stands on it as an obstacle; `at` is the middle of its back."""
    stand = Stand(at, upright=upright)
    slab = Box(
        at_mm=(-part.length_mm / 2, -part.width_mm / 2, 0.0),
        size_mm=(part.length_mm, part.width_mm, part.height_mm),
    )
    return Obstacle(
        id="board",
        name=part.name[0].lower() + part.name[1:],
        kind="board",
        shapes=tuple(stand.box(shape) for shape in (slab, *part.bodies)),
        plugs=tuple(stand.plug(plug) for plug in part.plugs),
        owner=owner,
    )


def standing_supply(part: Supply, least: Point) -> Obstacle:
    """Return a power supply lying on its seat, cables towards +x; `least` is its least corner."""
    middle = (
        least[0] + part.length_mm / 2,
        least[1] + part.width_mm / 2,
        least[2],
    )
    stand = Stand(middle, upright=False)
    slab = Box(
        at_mm=(-part.length_mm / 2, -part.width_mm / 2, 0.0),
        size_mm=(part.length_mm, part.width_mm, part.height_mm),
    )
    return Obstacle(
        id="supply",
        name="power supply",
        kind="supply",
        shapes=(stand.box(slab),),
        plugs=tuple(stand.plug(plug) for plug in part.plugs),
    )
