"""The places in stacks that can take a part: tried out on copies, once for each zone of a drag.

In a large room most zones are far from where a part is dragged. Those are not looked at before a
part comes near them, or before there is time (`DropPlaces`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from catalog.enclosure import Zone
from catalog.parts import Part, part_cells, top_cells
from catalog.shapes import MountSize, cell_sizes
from geometry.edits.base import EditError, find_free, find_spot, without_leftovers
from geometry.edits.body import body_bounds, body_middle
from geometry.edits.stacks import Turn, drop_in, insert_item, move_item, stack_on
from geometry.layout import Layout, Side, Stack
from geometry.measures.pose import Vec, Way
from geometry.measures.prism import Bounds
from geometry.part_solids import seat_thickness_mm
from geometry.placement import Placed, Placer, ZoneFrame
from geometry.references import SIDES
from geometry.scene import Scene
from geometry.slots import seat_fits


@dataclass(frozen=True)
class DropTarget:
    """A place in a stack that can take a part.

    `turns` are the quarter turns with which it fits equally, the best first. `fits` tells whether
    every hole of the part meets one that it matches; without that only some do. `hangs` tells
    whether a cell of it lies over nothing, `displaces` whether what is there moves outwards.
    `middle` is where the middle of its body comes to be, `out` the direction away from the plate,
    `reach_mm` half its thickness along `out` and half the length of its cells' frames across.
    """

    zone: str
    side: Side
    cell: str
    layer_index: int
    turns: tuple[Turn, ...]
    fits: bool
    hangs: bool
    displaces: bool
    middle: Vec
    out: Way
    reach_mm: Vec


class DropPlaces:
    """All places in stacks that can take `part`, looked for zone by zone as they are asked for.

    `moving` is its id when it is placed already; it is looked at as if it were taken away. There
    are none for parts without a hole pattern, and for locked ones.
    """

    def __init__(self, scene: Scene, part: Part, moving: str | None = None) -> None:
        self._scene, self._part, self._moving = scene, part, moving
        spot = find_spot(scene.layout, moving) if moving is not None else None
        self._turn: Turn = spot.item.turn if spot is not None else 0
        self._stacks = {stack.zone: stack for stack in scene.layout.stacks}
        own = cell_sizes(part_cells(part))
        self._zones = {
            zone.id: zone
            for zone in scene.layout.enclosure.zones
            if own and not own.isdisjoint(self._offered(zone))
        }
        self._found: dict[str, tuple[DropTarget, ...]] = {}
        self._fitting: tuple[str, ...] | None = None
        self._rooms: dict[str, tuple[Bounds, int]] = {}

    @property
    def found(self) -> tuple[DropTarget, ...]:
        """The places found so far."""
        return tuple(target for zone in self._zones for target in self._found.get(zone, ()))

    @property
    def zones(self) -> tuple[str, ...]:
        """The zones found so far that can take the part with every hole, in order."""
        if self._fitting is None:
            self._fitting = zones_for(self.found)
        return self._fitting

    def look_on(self) -> bool:
        """Look at one more zone; False when all were looked at before."""
        zone = next((zone for zone in self._zones if zone not in self._found), None)
        if zone is None:
            return False
        self._at_zone(zone)
        return True

    def every(self) -> tuple[DropTarget, ...]:
        """Return all places, those where every hole fits first."""
        while self.look_on():
            pass
        return tuple(sorted(self.found, key=lambda target: not target.fits))

    def near(
        self, wanted: Vec, view_axis: int, capture_mm: float, *, known_depth: bool
    ) -> tuple[DropTarget, ...]:
        """Return the places of all zones that may catch a part with its middle at `wanted`.

        Along the axis of sight a zone counts as near unless the depth is known and it is seen face
        on.
        """

        def near(room: Bounds, out: int) -> bool:
            for k in (0, 1, 2):
                told = k != view_axis or (k == out and known_depth)
                if told and not room[k] - capture_mm <= wanted[k] <= room[k + 3] + capture_mm:
                    return False
            return True

        zones = [zone for zone in self._zones if near(*self._room(zone))]
        return tuple(target for zone in zones for target in self._at_zone(zone))

    def _offered(self, zone: Zone) -> frozenset[MountSize]:
        """Return every hole pattern that a zone offers, or what is stacked on it."""
        return cell_sizes(zone.cells).union(
            *(cell_sizes(top_cells(one.part)) for one in self._items(zone.id))
        )

    def _items(self, zone: str) -> tuple[Placed, ...]:
        stack = self._stacks.get(zone)
        return self._scene.items_of(stack) if stack is not None else ()

    def _at_zone(self, zone: str) -> tuple[DropTarget, ...]:
        """Return the places of a zone, found at the first time that they are asked for."""
        if zone not in self._found:
            small = _concerned(self._scene.layout, zone, self._moving)
            tries = _Tries(self._scene, small, self._part, self._moving)
            self._found[zone] = tuple(
                target
                for side in SIDES
                for cell in self._zones[zone].cells
                for target in _at_cell(tries, (zone, side, cell.id), self._turn)
            )
            self._fitting = None
        return self._found[zone]

    def _room(self, zone: str) -> tuple[Bounds, int]:
        """Return bounds in which a part is that goes to a zone, and the axis along which it piles.

        They are rather too wide than too narrow.
        """
        known = self._rooms.get(zone)
        if known is None:
            frame, stack = self._scene.frames[zone], self._stacks.get(zone)
            room = _room(frame, stack, self._items(zone), self._part)
            known = self._rooms[zone] = (room, frame.inward.axis)
        return known


def _room(frame: ZoneFrame, stack: Stack | None, items: Sequence[Placed], part: Part) -> Bounds:
    """Return bounds in which a part is that goes to a zone, on a cell and up to the top.

    A stack may be slid to the end of its slots for its sake.
    """
    zone = frame.zone
    slid_mm = max(abs(stack.slide_u_mm), abs(stack.slide_v_mm)) if stack is not None else 0.0
    slots_mm = max(abs(end) for c in zone.cells for end in (*c.slot_u_mm, *c.slot_v_mm))
    across_mm, thick_mm = _size(part)
    spare_mm = across_mm + slid_mm + slots_mm
    middles = [(c.u_mm, c.v_mm) for c in zone.cells]
    middles += [seat.centre for one in items for seat in one.seats]
    (u0, v0), (u1, v1) = map(min, zip(*middles, strict=True)), map(max, zip(*middles, strict=True))
    tops = [one.top_mm for one in items]
    tops += [side.plate_mm for side in (zone.inner, zone.outer) if side is not None]
    high_mm = max(tops, default=0.0) + thick_mm
    ends = (
        frame.pose.point((u0 - spare_mm, v0 - spare_mm, -high_mm)),
        frame.pose.point((u1 + spare_mm, v1 + spare_mm, high_mm)),
    )
    x, y, z = zip(*ends, strict=True)
    return min(x), min(y), min(z), max(x), max(y), max(z)


def _size(part: Part) -> tuple[float, float]:
    """Return how far from its anchor a part may catch the pointer at most, across and along (mm).

    Across, that is from a cell to the middle of its body and from there to the end of its frames;
    half a frame more, since what is under it may be off its cell by so much.
    """
    least, most = body_bounds(part)
    middle, cells = body_middle(part), part_cells(part)
    off = max(abs(at - middle[k]) for c in cells for k, at in enumerate((c.u_mm, c.v_mm)))
    spans = ([c.u_mm for c in cells], [c.v_mm for c in cells])
    span = max(max(ends) - min(ends) for ends in spans)
    frame = max(mount.frame_mm for cell in cells for mount in cell.accepts)
    along = 2 * max(abs(least[2]), abs(most[2])) + seat_thickness_mm(part)
    return off + span / 2 + frame, along


def drop_targets(scene: Scene, part: Part, moving: str | None = None) -> tuple[DropTarget, ...]:
    """Return all places in stacks that can take `part`, those where every hole fits first.

    `moving` is its id when it is placed already.
    """
    return DropPlaces(scene, part, moving).every()


def zones_for(targets: Sequence[DropTarget]) -> tuple[str, ...]:
    """Return the zones that can take a part with every hole, in order: those to light up."""
    return tuple(dict.fromkeys(target.zone for target in targets if target.fits))


def put_in(
    layout: Layout,
    part: Part,
    moving: str | None,
    place: tuple[str, Side, int],
    cell: str,
    turn: Turn,
) -> tuple[Layout, str]:
    """Return the layout with a part put into a stack, and its id.

    `place` is zone, side and layer index. Raises EditError when it is refused.
    """
    if moving is None:
        return insert_item(layout, *place, part, cell, turn)
    if find_free(layout, moving) is not None:
        return drop_in(layout, moving, *place, cell, turn), moving
    return move_item(layout, moving, *place, cell, turn), moving


def _concerned(layout: Layout, zone: str, moving: str | None) -> Layout:
    """Return a layout of no more than what stands on a zone, and what `moving` stands in.

    Where a part sits in a stack hangs on nothing else, and an edit of a few parts costs little.
    """
    spot = find_spot(layout, moving) if moving is not None else None
    free = find_free(layout, moving) if moving is not None else None
    own = spot.stack.id if spot is not None else None
    stacks = tuple(one for one in layout.stacks if one.zone == zone or one.id == own)
    return without_leftovers(layout.but(stacks=stacks, free=(free,) if free is not None else ()))


def _at_cell(tries: _Tries, at: tuple[str, Side, str], turn: Turn) -> Iterator[DropTarget]:
    """Yield the places over one cell, from the plate outwards; places that coincide count once."""
    zone, side, cell = at
    part = tries.part
    stack = stack_on(tries.small, zone)
    layers = len(stack.side(side)) if stack is not None else 0
    known: set[Vec] = set()
    for index in range(layers + 1):
        place = (zone, side, index)
        best = tries.at(place, cell, turn)
        turns: tuple[Turn, ...] = _half_turns(turn)
        if len(part_cells(part)) > 1 and not (best and best.fits):
            across = tries.at(place, cell, _quarter(turn, 1))
            if across and (across.fits or not (best and best.meets)):
                best, turns = across, _half_turns(_quarter(turn, 1))
        elif len(part_cells(part)) == 1:
            turns = (*turns, *_half_turns(_quarter(turn, 1)))
        if best is None or not best.meets or best.middle in known:
            continue
        known.add(best.middle)
        yield DropTarget(
            zone,
            side,
            cell,
            index,
            turns,
            best.fits,
            best.hangs,
            best.displaces,
            best.middle,
            tries.scene.frames[zone].out_of_plate(side),
            best.reach_mm,
        )


def _half_turns(turn: Turn) -> tuple[Turn, Turn]:
    return (turn, _quarter(turn, 2))


def _quarter(turn: Turn, more: int) -> Turn:
    return (turn + more) % 4  # type: ignore[return-value]


@dataclass(frozen=True)
class _Tentative:
    middle: Vec
    reach_mm: Vec
    fits: bool
    meets: bool
    hangs: bool
    displaces: bool


class _Tries:
    """Puts a part into a stack in many ways, each on a copy; what they share is placed once."""

    def __init__(self, scene: Scene, small: Layout, part: Part, moving: str | None) -> None:
        self.scene, self.small, self.part = scene, small, part
        self._moving = moving
        self._placer: Placer | None = None

    def at(self, place: tuple[str, Side, int], cell: str, turn: Turn) -> _Tentative | None:
        """Put the part there and look how it sits; None when the edit is refused."""
        try:
            layout, placed_id = put_in(self.small, self.part, self._moving, place, cell, turn)
        except EditError:
            return None
        stack = stack_on(layout, place[0])
        assert stack is not None
        if self._placer is None:
            # Every try has the same parts in it.
            self._placer = Placer(layout)
        items = self._placer.place(stack)
        one = next(item for item in items if item.id == placed_id)
        good = [seat_fits(one, seat) for seat in one.seats]
        known = self.scene.placed
        moved = any(
            known[item.id].pose != item.pose
            for item in items
            if item.id != placed_id and item.id in known
        )
        middle = one.pose.point(body_middle(self.part))
        hangs = any(seat.on is None for seat in one.seats)
        return _Tentative(middle, _reach_mm(one), all(good), any(good), hangs, moved)


def _reach_mm(one: Placed) -> Vec:
    """Return half the thickness of an item, and half the length of its cells' frames, by axis."""
    assert one.frame is not None
    half_frame = max(m.frame_mm for seat in one.seats for m in seat.mount) / 2
    reach = [0.0, 0.0, 0.0]
    reach[one.frame.inward.axis] = (one.top_mm - one.base_mm) / 2
    for k, own in enumerate((one.frame.pose.x, one.frame.pose.y)):
        centres = [seat.centre[k] for seat in one.seats]
        reach[own.axis] = (max(centres) - min(centres)) / 2 + half_frame
    return (reach[0], reach[1], reach[2])
