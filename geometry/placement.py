"""Where the items of a layout stand: from zone, order, cell, slide and turn to poses.

Parts in a stack have no coordinates of their own, so a stack cannot be inconsistent.

On each side of a stack the items that span several cells are placed first: their first cell stands
at the zone cell that they name, slid with the stack. Items of one cell between them and the plate
then take the place of the spanning item's cell over them, as far as the slots of their own zone
cell allow, since one row of screws has to meet all of them. Where nothing spans, every item stands
at its zone cell, slid with the stack.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from catalog.enclosure import Enclosure, Obstacle, ObstacleState, Zone
from catalog.parts import Part, part_cells, top_cells
from catalog.shapes import Cell, Mount
from geometry.layout import FreePart, Item, Layer, Layout, Side, Stack
from geometry.measures.pose import Pose, Vec, Way, way
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.part_solids import seat_thickness_mm

UV = tuple[float, float]


@dataclass(frozen=True)
class ZoneFrame:
    """A zone as it stands: its obstacle owner's state is applied.

    `pose` takes (u, v, n) to world coordinates. `present` is False when its bracket is out.
    """

    zone: Zone
    pose: Pose
    present: bool

    @property
    def inward(self) -> Way:
        """The direction n, from the plate into the enclosure."""
        return self.pose.z

    def out_of_plate(self, side: Side) -> Way:
        """Return the direction in which the layers of a side pile up."""
        return self.inward if side == "inner" else -self.inward

    def cell(self, cell_id: str) -> Cell:
        """Return a cell of the zone; KeyError when there is none."""
        for cell in self.zone.cells:
            if cell.id == cell_id:
                return cell
        raise KeyError(cell_id)


@dataclass(frozen=True)
class Seat:
    """How one cell of an item meets what it is bolted to.

    `cell` is the zone cell below, `on` the id of the zone or item that offers `accepts`; `mount`
    is the item's own pattern. `off_u_mm`, `off_v_mm` tell how far the item's holes have to stand
    from the supporter's hole or slot middle (the slide left out). They stand there but where a
    slot ends before they meet what spans them. `on` None means nothing is below.
    """

    own_cell: str
    centre: UV
    mount: tuple[Mount, ...]
    cell: str | None
    on: str | None
    accepts: tuple[Mount, ...] = ()
    slot_u_mm: tuple[float, float] = (0.0, 0.0)
    slot_v_mm: tuple[float, float] = (0.0, 0.0)
    off_u_mm: float = 0.0
    off_v_mm: float = 0.0


@dataclass(frozen=True)
class Placed:
    """A part as it stands. In a stack `frame`, `stack`, `side`, `layer` and `item` are set.

    `base_mm` and `top_mm` are its seat and its far face along the side's direction from the
    datum; `last_over` names the zone cells over which nothing further is stacked.
    """

    id: str
    part: Part
    pose: Pose
    use: Item | FreePart
    frame: ZoneFrame | None = None
    stack: Stack | None = None
    side: Side | None = None
    layer: Layer | None = None
    seats: tuple[Seat, ...] = ()
    base_mm: float = 0.0
    top_mm: float = 0.0
    last_over: tuple[str, ...] = ()

    @property
    def free(self) -> bool:
        """Whether it is placed by pose, not in a stack."""
        return self.stack is None


def obstacle_state(obstacle: Obstacle, states: Mapping[str, str]) -> ObstacleState:
    """Return the state an obstacle is in; its first where the layout names none."""
    wanted = states.get(obstacle.id)
    for state in obstacle.states:
        if state.id == wanted:
            return state
    return obstacle.states[0]


def owner_state(
    enclosure: Enclosure, owner: str | None, states: Mapping[str, str]
) -> tuple[bool, Vec]:
    """Return whether the owner chain of something is in place, and its shift (mm).

    Walls and panels are always in place; an obstacle goes where the one that owns it goes.
    """
    shift: Vec = (0.0, 0.0, 0.0)
    obstacles = {obstacle.id: obstacle for obstacle in enclosure.obstacles}
    seen: set[str] = set()
    while owner in obstacles and owner not in seen:
        seen.add(owner)
        state = obstacle_state(obstacles[owner], states)
        if state.out:
            return False, shift
        by = state.shift_mm
        shift = (shift[0] + by[0], shift[1] + by[1], shift[2] + by[2])
        owner = obstacles[owner].owner
    return True, shift


def zone_frame(layout: Layout, zone_id: str) -> ZoneFrame:
    """Return a zone of the layout as it stands; KeyError when there is none."""
    for zone in layout.enclosure.zones:
        if zone.id == zone_id:
            present, shift = owner_state(layout.enclosure, zone.owner, layout.states)
            u, v = way(zone.u), way(zone.v)
            at = zone.origin_mm
            origin = (at[0] + shift[0], at[1] + shift[1], at[2] + shift[2])
            return ZoneFrame(zone, Pose(u, v, u.cross(v), origin), present)
    raise KeyError(zone_id)


def place_all(layout: Layout) -> tuple[Placed, ...]:
    """Return every item and free part of the layout as it stands, in file order.

    Raises KeyError where a part, zone or cell is named that the layout does not have.
    """
    placed: list[Placed] = []
    for stack in layout.stacks:
        placed.extend(place_stack(layout, stack))
    placed.extend(place_free(layout, free) for free in layout.free)
    return tuple(placed)


def place_free(layout: Layout, free: FreePart) -> Placed:
    """Return a free part as it stands."""
    pose = Pose.from_axes(way(free.x_to), way(free.z_to), free.at_mm)
    return Placed(free.id, layout.part(free.part), pose, free)


def place_stack(layout: Layout, stack: Stack) -> tuple[Placed, ...]:
    """Return the items of both sides of a stack, from the plate outwards."""
    frame = zone_frame(layout, stack.zone)
    sides: tuple[Side, ...] = ("inner", "outer")
    return tuple(placed for side in sides for placed in _place_side(layout, stack, frame, side))


@dataclass(frozen=True)
class _Support:
    """What offers holes over a zone cell: the zone's own cell, or the item stacked last.

    An item of one cell is drawn along slots by `drawn` towards the cell of what spans it, and
    falls `short` of it where they end.
    """

    on: str
    centre: UV
    cell: Cell
    drawn: UV = (0.0, 0.0)
    short: UV = (0.0, 0.0)

    @property
    def stand(self) -> UV:
        """Where an item of one cell stands on it."""
        return (self.centre[0] + self.drawn[0], self.centre[1] + self.drawn[1])


@dataclass(frozen=True)
class _Footprint:
    """The square of one cell of a stacked item, and the level of the item's far face."""

    centre: UV
    half_mm: float
    top_mm: float

    def meets(self, centre: UV, half_mm: float) -> bool:
        reach = self.half_mm + half_mm - LENGTH_EPS_MM
        return abs(self.centre[0] - centre[0]) < reach and abs(self.centre[1] - centre[1]) < reach


def _place_side(layout: Layout, stack: Stack, frame: ZoneFrame, side: Side) -> Iterator[Placed]:
    supports = {
        cell.id: _Support(
            frame.zone.id, (cell.u_mm + stack.slide_u_mm, cell.v_mm + stack.slide_v_mm), cell
        )
        for cell in frame.zone.cells
    }
    known: dict[_Way, _Lying] = {}
    supports = _drawn_to_spanning(layout, stack, side, supports, known)
    plate = frame.zone.inner if side == "inner" else frame.zone.outer
    ground_mm = plate.plate_mm if plate is not None else 0.0
    footprints: list[_Footprint] = []
    placed: list[Placed] = []
    for layer in stack.side(side):
        laid: list[tuple[Placed, list[_Footprint]]] = []
        for item in layer.items:
            held = (stack, side, layer)
            laid.append(
                _place_item(layout, frame, held, item, supports, footprints, ground_mm, known)
            )
        for one, prints in laid:
            placed.append(one)
            footprints.extend(prints)
            _offer_cells(one, frame, supports)
    last_on = {cell: support.on for cell, support in supports.items()}
    for one in placed:
        over = tuple(c for c, on in last_on.items() if on == one.id)
        yield replace(one, last_over=over) if over else one


def _place_item(
    layout: Layout,
    frame: ZoneFrame,
    held: tuple[Stack, Side, Layer],
    item: Item,
    supports: Mapping[str, _Support],
    footprints: list[_Footprint],
    ground_mm: float,
    known: dict[_Way, _Lying],
) -> tuple[Placed, list[_Footprint]]:
    stack, side, layer = held
    lying, thickness, cells = _lying(layout, side, item, known)
    part = layout.part(item.part)
    support = supports[item.cell]
    anchor = support.centre if len(cells) > 1 else support.stand
    first = cells[0][0] if cells else (0.0, 0.0)
    at = (anchor[0] - first[0], anchor[1] - first[1])
    spots = [((c[0] + at[0], c[1] + at[1]), cell) for c, cell in cells]
    base = ground_mm
    prints = []
    for centre, cell in spots:
        half = max(mount.frame_mm for mount in cell.accepts) / 2
        base = max([base, *(f.top_mm for f in footprints if f.meets(centre, half))])
        prints.append((centre, half))
    top = base + thickness
    seat_n = (base if side == "inner" else -base) + lying.shift[2]
    pose = frame.pose.after(Pose(lying.x, lying.y, lying.z, (at[0], at[1], seat_n)))
    seats = tuple(_seat(centre, cell, supports, alone=len(spots) == 1) for centre, cell in spots)
    one = Placed(
        item.id, part, pose, item, frame, stack, side, layer, seats, base_mm=base, top_mm=top
    )
    return one, [_Footprint(centre, half, top) for centre, half in prints]


def _drawn_to_spanning(
    layout: Layout,
    stack: Stack,
    side: Side,
    supports: Mapping[str, _Support],
    known: dict[_Way, _Lying],
) -> dict[str, _Support]:
    """Return the zone's cells with what draws items of one cell towards those that span them.

    Of several spanning items over a cell the one nearest the plate counts.
    """
    drawn = dict(supports)
    spanned: dict[str, UV] = {}
    for item in (item for layer in stack.side(side) for item in layer.items):
        cells = _lying(layout, side, item, known)[2]
        if len(cells) < 2:
            continue
        at = spanned.get(item.cell, supports[item.cell].centre)
        first = cells[0][0]
        for own, cell in cells:
            centre = (own[0] - first[0] + at[0], own[1] - first[1] + at[1])
            below = _seat(centre, cell, supports, alone=False).cell
            if below is not None and below not in spanned:
                spanned[below] = centre
                drawn[below] = _drawn(supports[below], centre, stack)
    return drawn


def _drawn(support: _Support, to: UV, stack: Stack) -> _Support:
    moved = []
    for k, slide in enumerate((stack.slide_u_mm, stack.slide_v_mm)):
        least, most = support.cell.slot_u_mm if k == 0 else support.cell.slot_v_mm
        wanted = to[k] - support.centre[k] if least < most else 0.0
        moved.append((wanted, min(max(wanted, min(least - slide, 0.0)), max(most - slide, 0.0))))
    (want_u, u), (want_v, v) = moved
    return replace(support, drawn=(u, v), short=(want_u - u, want_v - v))


_Way = tuple[str, int, bool]
"""A part by its id, how often it is turned, and whether it is turned over."""

_Lying = tuple[Pose, float, list[tuple[UV, Cell]]]
"""How a part lies in (u, v, n), its thickness (mm), and its cells in order with their places."""


def _lying(layout: Layout, side: Side, item: Item, known: dict[_Way, _Lying]) -> _Lying:
    """Return how an item lies, worked out once for all items of one side that lie alike."""
    way = (item.part, item.turn, item.turned_over)
    if way not in known:
        part = layout.part(item.part)
        thickness = seat_thickness_mm(part)
        pose = _lying_pose(side, item, thickness)
        known[way] = (pose, thickness, _cells_in_order(pose, part))
    return known[way]


def _cells_in_order(lying: Pose, part: Part) -> list[tuple[UV, Cell]]:
    """Return the cells of a part as it lies, with their places, in the order of u, then v."""
    return sorted(
        ((_plane(lying, cell), cell) for cell in part_cells(part)),
        key=lambda pair: (round(pair[0][0], 3), round(pair[0][1], 3)),
    )


def _lying_pose(side: Side, item: Item, thickness_mm: float) -> Pose:
    """Return how the item lies in (u, v, n), seat at n = 0, before it is moved to its cell."""
    out = Way(2, 1 if side == "inner" else -1)
    turned = Pose.from_axes(Way(0, 1), out)
    quarter_ways = (Way(0, 1), turned.y, Way(0, -1), -turned.y)
    x = quarter_ways[item.turn]
    if not item.turned_over:
        return Pose.from_axes(x, out)
    return Pose.from_axes(x, -out, (0.0, 0.0, out.sign * thickness_mm))


def _plane(pose: Pose, cell: Cell) -> UV:
    at = pose.point((cell.u_mm, cell.v_mm, 0.0))
    return (at[0], at[1])


def _seat(centre: UV, cell: Cell, supports: Mapping[str, _Support], *, alone: bool) -> Seat:
    """Find what lies under one cell of an item: the nearest support within half a frame.

    `alone` tells that the item has no other cell, so that it is drawn along its slots.
    """
    own = {(mount.frame_mm, mount.pitch_mm) for mount in cell.accepts}
    reach = max(mount.frame_mm for mount in cell.accepts) / 2

    def away(support: _Support) -> float:
        at = support.stand if alone else support.centre
        return max(abs(centre[0] - at[0]), abs(centre[1] - at[1]))

    def rank(pair: tuple[str, _Support]) -> tuple[bool, float]:
        fits = any((m.frame_mm, m.pitch_mm) in own for m in pair[1].cell.accepts)
        return (not fits, away(pair[1]))

    near = [pair for pair in supports.items() if away(pair[1]) < reach]
    if not near:
        return Seat(cell.id, centre, cell.accepts, None, None)
    zone_cell, support = min(near, key=rank)
    short = support.short if alone else (0.0, 0.0)
    return Seat(
        cell.id,
        centre,
        cell.accepts,
        zone_cell,
        support.on,
        support.cell.accepts,
        support.cell.slot_u_mm,
        support.cell.slot_v_mm,
        centre[0] - support.centre[0] + short[0],
        centre[1] - support.centre[1] + short[1],
    )


def _offer_cells(one: Placed, frame: ZoneFrame, supports: dict[str, _Support]) -> None:
    """Put the item's far-face cells in the place of those that it covers."""
    tops = dict(zip((c.id for c in part_cells(one.part)), top_cells(one.part), strict=False))
    for seat in one.seats:
        if seat.cell is not None and seat.own_cell in tops:
            top = tops[seat.own_cell]
            at = frame.pose.local(one.pose.point((top.u_mm, top.v_mm, 0.0)))
            supports[seat.cell] = _Support(one.id, (at[0], at[1]), top)
