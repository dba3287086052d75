"""Where the items of a layout stand: from zone, order, cell, slide and turn to poses.

Parts in a stack have no coordinates of their own, so a stack cannot be inconsistent.

On each side of a stack the items that span several cells are placed first: their first cell stands
at the zone cell that they name, slid with the stack. Items of one cell between them and the plate
then take the place of the spanning item's cell over them, as far as the slots of their own zone
cell allow, since one row of screws has to meet all of them. Where nothing spans, every item stands
at its zone cell, slid with the stack.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from catalog.enclosure import Enclosure, Obstacle, ObstacleState, Zone
from catalog.parts import Part
from catalog.shapes import Cell
from geometry.layout import FreePart, Item, Layer, Layout, Side, Stack
from geometry.measures.pose import Pose, Vec, Way, way
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.pose_on_plate import UV, PoseOnPlate
from geometry.recent import Recent
from geometry.seats import Seat, Support, drawn_towards, seat_on


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
    enclosure, states = layout.enclosure, layout.states
    return _frames.of(
        enclosure, states, beside=zone_id, find=lambda: _frame_of(enclosure, states, zone_id)
    )


_frames: Recent[ZoneFrame] = Recent(64)
"""Zones as they stand: placing a stack asks for its own at every move of a drag."""


def _frame_of(enclosure: Enclosure, states: Mapping[str, str], zone_id: str) -> ZoneFrame:
    for zone in enclosure.zones:
        if zone.id == zone_id:
            present, shift = owner_state(enclosure, zone.owner, states)
            u, v = way(zone.u), way(zone.v)
            at = zone.origin_mm
            origin = (at[0] + shift[0], at[1] + shift[1], at[2] + shift[2])
            return ZoneFrame(zone, Pose(u, v, u.cross(v), origin), present)
    raise KeyError(zone_id)


def place_free(layout: Layout, free: FreePart) -> Placed:
    """Return a free part as it stands."""
    pose = Pose.from_axes(way(free.x_to), way(free.z_to), free.at_mm)
    return Placed(free.id, layout.part(free.part), pose, free)


def place_stack(layout: Layout, stack: Stack) -> tuple[Placed, ...]:
    """Return the items of both sides of a stack, from the plate outwards."""
    room = (layout.enclosure, layout.states, layout.parts)
    return _stands.of(*room, stack, find=lambda: Placer(layout).place(stack))


_stands: Recent[tuple[Placed, ...]] = Recent(16)
"""Where stacks stand: an edit, and the scene of what it gives, ask for the same ones."""

_lying: Recent[PoseOnPlate] = Recent(256)
"""How parts lie, wherever they are put."""


@dataclass(frozen=True)
class _Footprint:
    """The square of one cell of a stacked item, and the level of the item's far face."""

    centre: UV
    half_mm: float
    top_mm: float

    def meets(self, centre: UV, half_mm: float) -> bool:
        reach = self.half_mm + half_mm - LENGTH_EPS_MM
        return abs(self.centre[0] - centre[0]) < reach and abs(self.centre[1] - centre[1]) < reach


@dataclass(eq=False)
class Laid:
    """How one item of a layer comes to stand; `spots` are its cells with their places on the plate.

    `on` is what it stands on.
    """

    item_id: str
    lying: PoseOnPlate
    on: _Pile
    at: UV
    base_mm: float
    seat_mm: float

    @property
    def top_mm(self) -> float:
        return self.base_mm + self.lying.thickness_mm

    @cached_property
    def spots(self) -> tuple[UV, ...]:
        """Where its cells are."""
        return tuple((c[0] + self.at[0], c[1] + self.at[1]) for c, _ in self.lying.cells)

    @cached_property
    def prints(self) -> tuple[_Footprint, ...]:
        """The squares of its cells."""
        pairs = zip(self.spots, self.lying.halves_mm, strict=True)
        return tuple(_Footprint(centre, half, self.top_mm) for centre, half in pairs)

    def lies_over(self, below: Laid) -> bool:
        """Whether a square of a cell lies over one of an item that was laid before."""
        return any(
            its.meets(own.centre, own.half_mm) for own in self.prints for its in below.prints
        )

    @cached_property
    def lies(self) -> Pose:
        """How it stands in its zone."""
        own = self.lying.pose
        return Pose(own.x, own.y, own.z, (self.at[0], self.at[1], self.seat_mm))

    @cached_property
    def pose(self) -> Pose:
        """How it stands in the world."""
        return self.on.frame.pose.after(self.lies)

    @property
    def shift(self) -> Vec:
        """Where its origin is in the world."""
        return self.on.frame.pose.point((self.at[0], self.at[1], self.seat_mm))

    @cached_property
    def seats(self) -> tuple[Seat, ...]:
        """What its cells meet."""
        alone, below = not self.lying.spans, self.on.supports
        pairs = zip(self.spots, self.lying.cells, strict=True)
        return tuple(seat_on(centre, cell, below, alone=alone) for centre, (_, cell) in pairs)


@dataclass(eq=False)
class _Pile:
    """What some layers have come to: the last of them, and what lies below it.

    `plate` are the zone's cells, of which items of one cell are drawn to what spans them.
    """

    frame: ZoneFrame
    side: Side
    plate: Mapping[str, Support]
    below: _Pile | None = None
    laid: tuple[Laid, ...] = ()

    @cached_property
    def supports(self) -> Mapping[str, Support]:
        """What is on top over each cell of the zone."""
        found = dict(self.plate if self.below is None else self.below.supports)
        for one in self.laid:
            for seat in one.seats:
                top = one.lying.tops.get(seat.own_cell)
                if seat.cell is not None and top is not None:
                    u, v, _ = one.lies.point((top.u_mm, top.v_mm, 0.0))
                    found[seat.cell] = Support(one.item_id, (u, v), top)
        return found

    @cached_property
    def prints(self) -> tuple[_Footprint, ...]:
        """The squares of all cells of what was laid."""
        own = (square for one in self.laid for square in one.prints)
        return (*(() if self.below is None else self.below.prints), *own)

    def with_layer(self, layer: Sequence[_Lain]) -> _Pile:
        """Return the pile with one more layer on it."""
        laid = tuple(self._lay(item, lying) for item, lying in layer)
        return _Pile(self.frame, self.side, self.plate, self, laid)

    def _lay(self, item: Item, lying: PoseOnPlate) -> Laid:
        support = self.supports[item.cell]
        anchor = support.centre if lying.spans else support.stand
        first = lying.cells[0][0] if lying.cells else (0.0, 0.0)
        at = (anchor[0] - first[0], anchor[1] - first[1])
        plate = self.frame.zone.side(self.side)
        base = plate.plate_mm if plate is not None else 0.0
        for ((u, v), _), half in zip(lying.cells, lying.halves_mm, strict=True):
            centre = (u + at[0], v + at[1])
            for below in self.prints:
                if below.top_mm > base and below.meets(centre, half):
                    base = below.top_mm
        seat_n = (base if self.side == "inner" else -base) + lying.pose.shift[2]
        return Laid(item.id, lying, self, at, base, seat_n)


SIDES: tuple[Side, Side] = ("inner", "outer")

Parts = Mapping[str, Part]
"""Parts that stand in for those of some items, by the ids of the items."""


class Placer:
    """Places stacks of one layout; layers with which several begin alike are placed once."""

    def __init__(self, layout: Layout) -> None:
        self._layout = layout
        self._frames: dict[str, ZoneFrame] = {}
        self._lying: dict[tuple[Side, int, int, bool], PoseOnPlate] = {}
        self._plates: dict[object, _Pile] = {}
        # Here and not with the piles below them: those would hold each other for ever.
        self._above: dict[object, _Pile] = {}

    def place(self, stack: Stack) -> tuple[Placed, ...]:
        """Return the items of both sides of a stack, from the plate outwards."""
        frame = self._frame(stack.zone)
        return tuple(one for side in SIDES for one in self._placed(stack, side, frame))

    def stand(self, stack: Stack, side: Side, instead: Parts | None = None) -> Iterator[Laid]:
        """Yield how the items of one side stand, with other parts `instead` of some."""
        for pile in self._piles(stack, side, instead or {}):
            yield from pile.laid

    def _placed(self, stack: Stack, side: Side, frame: ZoneFrame) -> Iterator[Placed]:
        layers = stack.side(side)
        if not layers:
            return
        piles = list(self._piles(stack, side, {}))
        last_on = {cell: support.on for cell, support in piles[-1].supports.items()}
        for layer, pile in zip(layers, piles, strict=True):
            for item, one in zip(layer.items, pile.laid, strict=True):
                yield Placed(
                    item.id, one.lying.part, one.pose, item, frame, stack, side, layer, one.seats,
                    one.base_mm, one.top_mm, tuple(c for c, on in last_on.items() if on == item.id),
                )  # fmt: skip

    def _piles(self, stack: Stack, side: Side, instead: Parts) -> Iterator[_Pile]:
        """Yield for each layer of a side what the layers so far have come to."""
        layers = [
            [(item, self._lies(side, item, instead)) for item in layer.items]
            for layer in stack.side(side)
        ]
        pile = self._plate(stack, side, [pair for layer in layers for pair in layer])
        for layer in layers:
            key = (id(pile), *((item.id, item.cell, id(lying)) for item, lying in layer))
            known = self._above.get(key)
            if known is None:
                known = self._above[key] = pile.with_layer(layer)
            pile = known
            yield pile

    def _frame(self, zone_id: str) -> ZoneFrame:
        if zone_id not in self._frames:
            self._frames[zone_id] = zone_frame(self._layout, zone_id)
        return self._frames[zone_id]

    def _lies(self, side: Side, item: Item, instead: Parts) -> PoseOnPlate:
        part = instead.get(item.id) or self._layout.part(item.part)
        # What is kept holds its part, so that no other part takes its number.
        key = (side, id(part), item.turn, item.turned_over)
        known = self._lying.get(key)
        if known is None:
            known = self._lying[key] = _lying.of(
                part, beside=key, find=lambda: PoseOnPlate.of(part, side, item)
            )
        return known

    def _plate(self, stack: Stack, side: Side, items: Sequence[_Lain]) -> _Pile:
        """Return the bare plate, its cells drawn towards those of the items that span cells."""
        spanning = [(item, lying) for item, lying in items if lying.spans]
        slide_mm = (stack.slide_u_mm, stack.slide_v_mm)
        over = ((item.cell, lying.spots) for item, lying in spanning)
        key = (stack.zone, side, slide_mm, *over)
        known = self._plates.get(key)
        if known is None:
            frame = self._frame(stack.zone)
            supports = {
                cell.id: Support(
                    frame.zone.id, (cell.u_mm + slide_mm[0], cell.v_mm + slide_mm[1]), cell
                )
                for cell in frame.zone.cells
            }
            drawn = _drawn_to_spanning(spanning, supports, slide_mm)
            known = self._plates[key] = _Pile(frame, side, drawn)
        return known


_Lain = tuple[Item, PoseOnPlate]


def _drawn_to_spanning(
    spanning: Sequence[_Lain], supports: Mapping[str, Support], slide_mm: UV
) -> dict[str, Support]:
    """Return the zone's cells with what draws items of one cell towards those that span them.

    Of several spanning items over a cell the one nearest the plate counts.
    """
    drawn = dict(supports)
    spanned: dict[str, UV] = {}
    for item, lying in spanning:
        at = spanned.get(item.cell, supports[item.cell].centre)
        first = lying.cells[0][0]
        for own, cell in lying.cells:
            centre = (own[0] - first[0] + at[0], own[1] - first[1] + at[1])
            below = seat_on(centre, cell, supports, alone=False).cell
            if below is not None and below not in spanned:
                spanned[below] = centre
                drawn[below] = drawn_towards(supports[below], centre, slide_mm)
    return drawn
