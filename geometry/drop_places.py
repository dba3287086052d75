"""The places in stacks that can take a part: tried out on copies, once when a drag begins."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from catalog.enclosure import Zone
from catalog.parts import Part, part_cells, top_cells
from catalog.shapes import Cell
from geometry.edits.base import EditError, find_free, find_spot, without_leftovers
from geometry.edits.body import body_middle
from geometry.edits.stacks import Turn, drop_in, insert_item, move_item, stack_on
from geometry.layout import Layout, Side
from geometry.measures.pose import Vec, Way
from geometry.placement import Placed, place_stack
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


def drop_targets(scene: Scene, part: Part, moving: str | None = None) -> tuple[DropTarget, ...]:
    """Return all places in stacks that can take `part`, those where every hole fits first.

    `moving` is its id when it is placed already; it is looked at as if it were taken away. Empty
    for parts without a hole pattern, and for locked ones.
    """
    if not part_cells(part):
        return ()
    spot = find_spot(scene.layout, moving) if moving is not None else None
    turn: Turn = spot.item.turn if spot is not None else 0
    found: list[DropTarget] = []
    for zone in scene.layout.enclosure.zones:
        if _mounts(part_cells(part)).isdisjoint(_offered(scene, zone)):
            continue
        small = _concerned(scene.layout, zone.id, moving)
        for side in SIDES:
            for cell in zone.cells:
                found.extend(_at_cell(scene, small, part, moving, (zone.id, side, cell.id), turn))
    return tuple(sorted(found, key=lambda target: not target.fits))


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


def _mounts(cells: Iterable[Cell]) -> set[tuple[float, float]]:
    return {(mount.frame_mm, mount.pitch_mm) for cell in cells for mount in cell.accepts}


def _offered(scene: Scene, zone: Zone) -> set[tuple[float, float]]:
    """Return every hole pattern that a zone offers, or what is stacked on it."""
    offered = _mounts(zone.cells)
    for one in scene.placed.values():
        if one.frame is not None and one.frame.zone.id == zone.id:
            offered |= _mounts(top_cells(one.part))
    return offered


def _at_cell(
    scene: Scene,
    small: Layout,
    part: Part,
    moving: str | None,
    at: tuple[str, Side, str],
    turn: Turn,
) -> Iterator[DropTarget]:
    """Yield the places over one cell, from the plate outwards; places that coincide count once."""
    zone, side, cell = at
    stack = stack_on(small, zone)
    layers = len(stack.side(side)) if stack is not None else 0
    known: set[Vec] = set()
    for index in range(layers + 1):
        place = (zone, side, index)
        best = _tried(scene, small, part, moving, place, cell, turn)
        turns: tuple[Turn, ...] = _half_turns(turn)
        if len(part_cells(part)) > 1 and not (best and best.fits):
            across = _tried(scene, small, part, moving, place, cell, _quarter(turn, 1))
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
            scene.frames[zone].out_of_plate(side),
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


def _tried(
    scene: Scene,
    small: Layout,
    part: Part,
    moving: str | None,
    place: tuple[str, Side, int],
    cell: str,
    turn: Turn,
) -> _Tentative | None:
    """Put the part there on a copy and look how it sits; None when the edit is refused."""
    try:
        layout, placed_id = put_in(small, part, moving, place, cell, turn)
    except EditError:
        return None
    stack = stack_on(layout, place[0])
    assert stack is not None
    items = place_stack(layout, stack)
    one = next(item for item in items if item.id == placed_id)
    good = [seat_fits(one, seat) for seat in one.seats]
    moved = any(
        scene.placed[item.id].pose != item.pose
        for item in items
        if item.id != placed_id and item.id in scene.placed
    )
    middle = one.pose.point(body_middle(part))
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
