"""Where a dragged part comes down: in a stack on a zone, in its slots, or free in the room.

The places that can take a part are tried out once, when it comes near them (`DropPlaces`); then
every move of the pointer only chooses among them (`best_drop`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, inf
from weakref import WeakKeyDictionary

from catalog.model import Direction
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
from geometry.snap import ALL_AXES, snap, snap_slide

__all__ = [
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
    x_to: Direction = "+x"
    z_to: Direction = "+z"
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
            return add_free(layout, self.part, self.at_mm, self.x_to, self.z_to)
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


def best_drop(
    scene: Scene,
    part: Part,
    view_axis: int,
    point: Pointer,
    *,
    targets: Sequence[DropTarget] | DropPlaces | None = None,
    moving: str | None = None,
    grab: Pointer | None = None,
    x_to: Direction = "+x",
    z_to: Direction = "+z",
    capture_mm: float = CAPTURE_MM,
    tolerance_mm: float = 3.0,
    grid_mm: float = 1.0,
    snapping: bool = True,
) -> Drop:
    """Return what letting go at `point` would do in the view along `view_axis`.

    A new part is held by the middle of its body, a placed one (`moving`) where it was grabbed.
    The place whose middle is nearest in the view is taken, if `point` is over the part as it would
    stand there or within `capture_mm` of it. Places where all holes fit go before others, then
    those where every cell of the part lies over something; a zone seen edge-on goes before one
    seen face on, where depth cannot be told. An item of a stack stays in its zone until it has
    left its place there and the pointer the zone, or is over where the item would stand in another
    one, and far nearer to that (`_leaves`). Otherwise the part is free, and snaps. With
    `snapping` False it snaps to nothing: it is free, or slides freely in its
    slots. `targets` spares looking for them at every move; in `DropPlaces` those near are looked
    for.
    """
    middle = _present_middle(scene, part, moving, x_to, z_to)
    wanted = _wanted(middle, point, grab, view_axis)
    if targets is None:
        targets = DropPlaces(scene, part, moving)
    placed = moving is not None
    if isinstance(targets, DropPlaces):
        targets = targets.near(wanted, view_axis, capture_mm, known_depth=placed)
    if moving is not None and scene.placed[moving].frame is not None:
        targets = _leaves(scene, moving, targets, point, wanted, view_axis, capture_mm)
    near = _nearest(targets, wanted, view_axis, capture_mm, known_depth=placed)
    if near is not None and moving is not None and _is_present(scene, moving, near):
        by_mm = _along_slots(scene, moving, middle, wanted)
        stack = scene.placed[moving].stack
        if by_mm is not None and stack is not None:
            slide = snap_slide(
                scene, stack, by_mm, tolerance_mm=tolerance_mm, grid_mm=grid_mm, enabled=snapping
            )
            to_mm = (slide.u_mm, slide.v_mm)
            return Drop(part, moving, slide_mm=to_mm, reasons=slide.reasons)
    if near is not None and snapping:
        return Drop(part, moving, target=near)
    shift = (wanted[0] - middle[0], wanted[1] - middle[1], wanted[2] - middle[2])
    axes = [axis for axis in ALL_AXES if axis != view_axis]
    one = _stands(scene, part, moving, x_to, z_to)
    solids = (
        scene.solids_of[moving] if moving is not None else tuple(placed_solids(one, scene.layout))
    )
    snapped = snap(
        scene,
        solids,
        shift,
        tolerance_mm=tolerance_mm,
        grid_mm=grid_mm,
        enabled=snapping,
        axes=axes,
        placed=one,
    )
    at, by = one.pose.shift, snapped.shift
    return Drop(
        part,
        moving,
        at_mm=(at[0] + by[0], at[1] + by[1], at[2] + by[2]),
        x_to=one.pose.x.name,
        z_to=one.pose.z.name,
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
    capture_mm: float,
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

    near = (t for t in targets if _within(t, wanted, view_axis, capture_mm, known_depth))
    return min(near, key=rank, default=None)


_TOWARDS = (-1.0, 1.0, 1.0)
"""By view axis: the factor that makes what is nearer to the viewer less."""


def _within(
    target: DropTarget, wanted: Vec, view_axis: int, capture_mm: float, known_depth: bool
) -> bool:
    for axis in ALL_AXES:
        along_out = axis == target.out.axis
        if axis == view_axis and not (along_out and known_depth):
            continue
        if abs(target.middle[axis] - wanted[axis]) > target.reach_mm[axis] + capture_mm:
            return False
    return True


def _leaves(
    scene: Scene,
    moving: str,
    targets: Sequence[DropTarget],
    point: Pointer,
    wanted: Vec,
    view_axis: int,
    capture_mm: float,
) -> tuple[DropTarget, ...]:
    """Return the places of the zone in which an item stands, and those it may leave that zone for.

    In a view that shows its zone face on, places of zones seen edge-on lie across it, and layers
    of their stacks so near to its own place that the first millimetres of a slide come to them.
    """
    one = scene.placed[moving]
    assert one.frame is not None
    home = one.frame.zone.id
    seen = [axis for axis in ALL_AXES if axis != view_axis]

    def off(target: DropTarget) -> float:
        return hypot(*(target.middle[k] - wanted[k] for k in seen))

    # Where it fits, if anywhere: hanging over the end of its zone it is not at home.
    own = [t for t in targets if t.zone == home]
    own_mm = min(map(off, [t for t in own if t.fits and not t.hangs] or own), default=inf)
    if own_mm <= capture_mm:
        return tuple(own)
    known = _grounds.setdefault(scene, {})
    if moving not in known:
        known[moving] = _ground(scene, one)
    gone = not _inside(known[moving], point, seen)

    def open_to_it(target: DropTarget) -> bool:
        if gone:
            return off(target) < own_mm
        return _over(target, point, seen) and off(target) + capture_mm < own_mm

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


# ---- free in the room ----


def _stands(
    scene: Scene, part: Part, moving: str | None, x_to: Direction, z_to: Direction
) -> Placed:
    """Return the part as it stands before the drag; a new one on the floor, in the middle."""
    if moving is not None:
        return scene.placed[moving]
    probe = FreePart(id=_NEW, part=part.id, at_mm=(0.0, 0.0, 0.0), x_to=x_to, z_to=z_to)
    known = scene.layout.but(parts={part.id: part})
    body = place(box(*body_bounds(part)), place_free(known, probe).pose).bounds
    cavity = scene.walls.cavity
    at = [(cavity[k] + cavity[k + 3] - body[k] - body[k + 3]) / 2 for k in (0, 1)]
    return place_free(known, probe.but(at_mm=(at[0], at[1], cavity[2] - body[2])))


def _present_middle(
    scene: Scene, part: Part, moving: str | None, x_to: Direction, z_to: Direction
) -> Vec:
    one = _stands(scene, part, moving, x_to, z_to)
    return one.pose.point(body_middle(part))


def _wanted(middle: Vec, point: Pointer, grab: Pointer | None, view_axis: int) -> Vec:
    """Return where the middle of the body is wanted; along the axis of sight where it is now."""
    at = list(middle)
    for axis in ALL_AXES:
        to, since = point[axis], grab[axis] if grab is not None else None
        if axis == view_axis or to is None:
            continue
        at[axis] = to if since is None else middle[axis] + to - since
    return (at[0], at[1], at[2])
