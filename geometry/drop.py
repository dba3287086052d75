"""Where a dragged part comes down: in a stack on a zone, in its slots, or free in the room.

The places that can take a part are tried out once, when it comes near them (`DropPlaces`); then
every move of the pointer only chooses among them (`best_drop`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, inf
from weakref import WeakKeyDictionary

from catalog.parts import Part
from geometry.drop_places import DropPlaces, DropTarget, drop_targets, put_in, zones_for
from geometry.edits.base import EditError, find_spot
from geometry.edits.body import body_bounds, body_middle
from geometry.edits.free import add_free, move_free
from geometry.edits.stacks import lift_out, set_slide
from geometry.finding import Report, StackDepth
from geometry.layout import FreePart, Layout
from geometry.measures.pose import Vec
from geometry.measures.prism import Bounds, box, place
from geometry.measures.solid import Role
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Placed, place_free
from geometry.recent import Recent
from geometry.scene import Scene, placed_solids
from geometry.slots import slot_range
from geometry.snap import ALL_AXES, Snapping, snap, snap_slide

__all__ = [
    "Aim",
    "Carried",
    "Drop",
    "DropPlaces",
    "DropTarget",
    "Pointer",
    "best_drop",
    "depth_of",
    "drop_targets",
    "zones_for",
]

Pointer = tuple[float | None, float | None, float | None]
"""A point in a view: None along the axis of sight."""

CAPTURE_MM = 40.0
"""How far from its place in a zone a part is caught by it."""

_NEW = "new-part"


@dataclass(frozen=True)
class Drop:
    """What letting go does: into a stack (`target`), along slots (`slide_mm`), or free (`at_mm`).

    `moving` is the id of a placed part, None for one from the library; `reasons` says in words
    what it snapped to.
    """

    part: Part
    moving: str | None
    target: DropTarget | None = None
    slide_mm: tuple[float, float] | None = None
    at_mm: Vec | None = None
    reasons: tuple[str, ...] = ()

    def edit(self, layout: Layout) -> tuple[Layout, str]:
        """Return the layout with the part dropped, and the part's id; EditError when refused."""
        if self.slide_mm is not None and self.moving is not None:
            spot = find_spot(layout, self.moving)
            if spot is None:
                raise EditError(f"{self.moving} is not in a stack any more")
            return set_slide(layout, spot.stack.id, *self.slide_mm), self.moving
        if self.target is not None:
            to = self.target
            place = (to.zone, to.side, to.layer_index)
            return put_in(layout, self.part, self.moving, place, to.cell, to.turns[0])
        assert self.at_mm is not None
        if self.moving is None:
            return add_free(layout, self.part, self.at_mm)
        return move_free(_lifted(layout, self.moving), self.moving, self.at_mm), self.moving

    @property
    def name(self) -> str:
        """What the edit is called in the list of undo steps."""
        if self.slide_mm is not None:
            return "Slide stack"
        return f"{'Add' if self.moving is None else 'Move'} {self.part.name}"


def _lifted(layout: Layout, moving: str) -> Layout:
    """Return the layout with a part lifted out of its stack, if it stands in one."""
    if find_spot(layout, moving) is None:
        return layout
    return _out.of(layout, beside=moving, find=lambda: lift_out(layout, moving))


_out: Recent[Layout] = Recent(4)
"""Layouts with a part lifted out: the moves of a drag all start from the same one."""


@dataclass(frozen=True)
class Carried:
    """What is dragged: a new part, held by the middle of its body, or a placed one (`moving`).

    A placed one is held where it was grabbed: `grab`, else by its middle too.
    """

    part: Part
    moving: str | None = None
    grab: Pointer | None = None

    def stands(self, scene: Scene) -> Placed:
        """Return the part as it stands before the drag; a new one on the floor, in the middle."""
        if self.moving is not None:
            return scene.placed[self.moving]
        probe = FreePart(id=_NEW, part=self.part.id, at_mm=(0.0, 0.0, 0.0))
        known = scene.layout.but(parts={self.part.id: self.part})
        body = place(box(*body_bounds(self.part)), place_free(known, probe).pose).bounds
        cavity = scene.walls.cavity
        at = [(cavity[k] + cavity[k + 3] - body[k] - body[k + 3]) / 2 for k in (0, 1)]
        return place_free(known, probe.but(at_mm=(at[0], at[1], cavity[2] - body[2])))


@dataclass(frozen=True)
class Aim:
    """Where the pointer is, in the view along an axis."""

    view_axis: int
    point: Pointer

    def middle(self, since: Vec, grab: Pointer | None) -> Vec:
        """Return where the middle of a body is wanted; along the axis of sight where it is now."""
        at = list(since)
        for axis in ALL_AXES:
            to, held = self.point[axis], grab[axis] if grab is not None else None
            if axis == self.view_axis or to is None:
                continue
            at[axis] = to if held is None else since[axis] + to - held
        return (at[0], at[1], at[2])

    @property
    def seen(self) -> tuple[int, ...]:
        """The axes that the view shows."""
        return tuple(axis for axis in ALL_AXES if axis != self.view_axis)


ON_GRID = Snapping(grid_mm=1.0)


def best_drop(
    scene: Scene,
    carried: Carried,
    aim: Aim,
    *,
    targets: Sequence[DropTarget] | DropPlaces | None = None,
    snapping: Snapping = ON_GRID,
) -> Drop:
    """Return what letting go where the pointer is would do.

    The place whose middle is nearest in the view is taken, if the pointer is over the part as it
    would stand there or within `CAPTURE_MM` of it. Places where all holes fit go before others,
    then those where every cell of the part lies over something; a zone seen edge-on goes before
    one seen face on, where depth cannot be told. An item of a stack stays in its zone until it has
    left its place there and the pointer the zone, or is over where the item would stand in another
    one, and far nearer to that (`_leaves`). Otherwise the part is free, and snaps. Where it snaps
    to nothing it is free, or slides freely in its slots. `targets` spares looking for them at
    every move; in `DropPlaces` those near are looked for.
    """
    part, moving, view_axis = carried.part, carried.moving, aim.view_axis
    one = carried.stands(scene)
    middle = one.pose.point(body_middle(part))
    wanted = aim.middle(middle, carried.grab)
    if targets is None:
        targets = DropPlaces(scene, part, moving)
    placed = moving is not None
    if isinstance(targets, DropPlaces):
        targets = targets.near(wanted, view_axis, CAPTURE_MM, known_depth=placed)
    if moving is not None and one.frame is not None:
        targets = _leaves(scene, moving, targets, aim, wanted)
    near = _nearest(targets, wanted, view_axis, known_depth=placed)
    if near is not None and moving is not None and _is_present(scene, moving, near):
        by_mm = _along_slots(scene, moving, middle, wanted)
        if by_mm is not None and one.stack is not None:
            slide = snap_slide(scene, one.stack, by_mm, snapping)
            to_mm = (slide.u_mm, slide.v_mm)
            return Drop(part, moving, slide_mm=to_mm, reasons=slide.reasons)
    if near is not None and snapping.enabled:
        return Drop(part, moving, target=near)
    shift = (wanted[0] - middle[0], wanted[1] - middle[1], wanted[2] - middle[2])
    solids = (
        scene.solids_of[moving] if moving is not None else tuple(placed_solids(one, scene.layout))
    )
    snapped = snap(scene, solids, shift, snapping, axes=aim.seen, placed=one)
    at, by = one.pose.shift, snapped.shift
    return Drop(
        part,
        moving,
        at_mm=(at[0] + by[0], at[1] + by[1], at[2] + by[2]),
        reasons=snapped.reasons,
    )


def depth_of(scene: Scene, report: Report, placed_id: str) -> StackDepth | None:
    """Return the depth of the side of a stack in which a part stands; None for a free part."""
    one = scene.placed.get(placed_id)
    if one is None or one.stack is None:
        return None
    own = (one.stack.id, one.side)
    return next((d for d in report.depths if (d.stack, d.side) == own and d.cells), None)


def _nearest(
    targets: Sequence[DropTarget],
    wanted: Vec,
    view_axis: int,
    *,
    known_depth: bool,
) -> DropTarget | None:
    """Return the place nearest to where the part's middle is wanted in the view."""

    def rank(target: DropTarget) -> tuple[bool, bool, bool, float, bool, float]:
        off = [target.middle[k] - wanted[k] for k in ALL_AXES]
        seen = sum(off[k] ** 2 for k in ALL_AXES if k != view_axis)
        depth = abs(off[view_axis]) if known_depth else _TOWARDS[view_axis] * off[view_axis]
        face_on = target.out.axis == view_axis
        worse = (not target.fits, target.hangs, face_on)
        return (*worse, round(seen, 6), target.displaces, depth)

    near = (t for t in targets if _within(t, wanted, view_axis, known_depth))
    return min(near, key=rank, default=None)


_TOWARDS = (-1.0, 1.0, 1.0)
"""By view axis: the factor that makes what is nearer to the viewer less."""


def _within(target: DropTarget, wanted: Vec, view_axis: int, known_depth: bool) -> bool:
    for axis in ALL_AXES:
        along_out = axis == target.out.axis
        if axis == view_axis and not (along_out and known_depth):
            continue
        if abs(target.middle[axis] - wanted[axis]) > target.reach_mm[axis] + CAPTURE_MM:
            return False
    return True


def _leaves(
    scene: Scene,
    moving: str,
    targets: Sequence[DropTarget],
    aim: Aim,
    wanted: Vec,
) -> tuple[DropTarget, ...]:
    """Return the places of the zone in which an item stands, and those it may leave that zone for.

    In a view that shows its zone face on, places of zones seen edge-on lie across it, and layers
    of their stacks so near to its own place that the first millimetres of a slide come to them.
    """
    one = scene.placed[moving]
    assert one.frame is not None
    home = one.frame.zone.id
    seen = aim.seen

    def off(target: DropTarget) -> float:
        return hypot(*(target.middle[k] - wanted[k] for k in seen))

    # Where it fits, if anywhere: hanging over the end of its zone it is not at home.
    own = [t for t in targets if t.zone == home]
    own_mm = min(map(off, [t for t in own if t.fits and not t.hangs] or own), default=inf)
    if own_mm <= CAPTURE_MM:
        return tuple(own)
    known = _grounds.setdefault(scene, {})
    if moving not in known:
        known[moving] = _ground(scene, one)
    gone = not _inside(known[moving], aim.point, seen)

    def open_to_it(target: DropTarget) -> bool:
        if gone:
            return off(target) < own_mm
        return _over(target, aim.point, seen) and off(target) + CAPTURE_MM < own_mm

    return tuple(t for t in targets if t.zone == home or open_to_it(t))


def _ground(scene: Scene, one: Placed) -> Bounds:
    """Return bounds of the zone in which an item stands, with its stack as it stands."""
    assert one.frame is not None
    assert one.stack is not None
    zone, pose = one.frame.zone, one.frame.pose
    corners = [pose.point((u, v, 0.0)) for u in (0.0, zone.length_mm) for v in (0.0, zone.width_mm)]
    for item in scene.items_of(one.stack):
        for solid in scene.solids_of[item.id]:
            if solid.role in (Role.BODY, Role.PORT_END):
                corners += [solid.bounds[:3], solid.bounds[3:]]
    x, y, z = zip(*corners, strict=True)
    return min(x), min(y), min(z), max(x), max(y), max(z)


_grounds: WeakKeyDictionary[Scene, dict[str, Bounds]] = WeakKeyDictionary()
"""The ground on which items stand: a drag asks for that of its own at every move."""


def _inside(room: Bounds, point: Pointer, seen: Sequence[int]) -> bool:
    return all(room[k] <= at <= room[k + 3] for k in seen if (at := point[k]) is not None)


def _over(target: DropTarget, point: Pointer, seen: Sequence[int]) -> bool:
    """Whether a point of a view is over a part as it would stand at a place."""
    off = ((k, abs(at - target.middle[k])) for k in seen if (at := point[k]) is not None)
    return all(mm <= target.reach_mm[k] for k, mm in off)


def _is_present(scene: Scene, moving: str, target: DropTarget) -> bool:
    """Whether a target is where the stacked part is now."""
    spot = find_spot(scene.layout, moving)
    if spot is None or (spot.stack.zone, spot.side) != (target.zone, target.side):
        return False
    now = scene.placed[moving]
    middle = now.pose.point(body_middle(now.part))
    return not target.displaces and middle == target.middle


def _along_slots(scene: Scene, moving: str, middle: Vec, wanted: Vec) -> tuple[float, float] | None:
    """Return how far a stack is dragged along the slots that it has; None when it has none."""
    one = scene.placed[moving]
    if one.stack is None or one.frame is None:
        return None
    items = scene.items_of(one.stack)
    by = [0.0, 0.0]
    slots = False
    for k, own in enumerate((one.frame.pose.x, one.frame.pose.y)):
        span = slot_range(items, k)
        if span is not None and span[1] - span[0] > LENGTH_EPS_MM:
            by[k] = own.sign * (wanted[own.axis] - middle[own.axis])
            slots = True
    return (by[0], by[1]) if slots else None
