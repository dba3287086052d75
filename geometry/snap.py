"""Snapping: where a part that is dragged comes to rest when it is near something.

To holes and slots first, then to faces of solids and walls, then to the grid. Where a margin is
asked for it stands one margin off a face; only when it is pushed farther than that is caught does
it touch, which would be too tight. A face behind the end does not snap to what the end would still
be stuck in. Each axis snaps by itself. Bounding boxes stand for round and polygonal outlines, but
not where it is asked what is stuck.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from geometry.edits.base import tidy
from geometry.holes import Holes, holes_of, part_holes
from geometry.layout import Stack
from geometry.margins import required_mm
from geometry.measures.broadphase import bounds_array, near
from geometry.measures.overlap import shares_room
from geometry.measures.pose import AXES, Vec
from geometry.measures.prism import Bounds, bounds_meet, hull, shifted, whole_bounds, widened
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.slots import slot_range

ALL_AXES = (0, 1, 2)

HOLES, FACES, TOUCHING, GRID = 0, 1, 2, 3
"""Order of precedence."""


@dataclass(frozen=True)
class Snapping:
    """How near a thing must be to be snapped to, and the grid, 0 for none (mm)."""

    tolerance_mm: float = 3.0
    grid_mm: float = 0.0
    enabled: bool = True
    """False snaps to nothing."""


@dataclass(frozen=True)
class Snap:
    """The shift that a drag comes to (mm), and what each snapped axis snapped to, in words."""

    shift: Vec
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True)
class Slide:
    """The slide that a dragged stack comes to (mm), and what it snapped to, in words."""

    u_mm: float
    v_mm: float
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, order=True)
class _Catch:
    """One place to come to rest along one axis: how far on from the proposed shift, and why.

    Where a face behind the end stands off or touches something, `off` is the owner of that, in
    which the end may be stuck.
    """

    rank: int
    away_mm: float
    by_mm: float
    reason: str
    off: str = ""


def snap(
    scene: Scene,
    solids: Sequence[Solid],
    shift: Vec,
    snapping: Snapping,
    *,
    axes: Sequence[int] = ALL_AXES,
    placed: Placed | None = None,
) -> Snap:
    """Return where `solids` come to rest when they are dragged by `shift`.

    `axes` are those along which they may be moved (those that the view shows). `placed` is the
    part that they belong to; when left out it is looked up in the scene by their owner. The grid
    catches the least corner of their bodies. Where it snaps to nothing the shift is as proposed.
    """
    hard = [solid for solid in solids if solid.hard]
    if not snapping.enabled or not hard:
        return Snap(_tidied(shift))
    owners, tolerance_mm = {solid.owner for solid in solids}, snapping.tolerance_mm
    one = placed or scene.placed.get(hard[0].owner)
    holes = tuple(part_holes(one)) if one is not None else ()
    catches: dict[int, list[_Catch]] = {axis: [] for axis in axes}
    for axis, catch in (
        *_hole_catches(scene, holes, shift, axes, tolerance_mm, owners),
        *_face_catches(scene, hard, shift, axes, tolerance_mm, owners),
        *_grid_catches(hard, shift, axes, snapping.grid_mm),
    ):
        if catch.away_mm <= tolerance_mm + LENGTH_EPS_MM:
            catches[axis].append(catch)
    return _caught(scene, hard, shift, catches)


def snap_slide(
    scene: Scene,
    stack: Stack,
    by_mm: tuple[float, float],
    snapping: Snapping,
) -> Slide:
    """Return the slide that a stack comes to when it is dragged along u and v by `by_mm`.

    It snaps to the middle and the ends of its slots, to faces that it meets, and to the grid,
    which counts from the slots' middle.
    """
    frame = scene.frames[stack.zone]
    u, v = frame.pose.x, frame.pose.y
    raw = (stack.slide_u_mm + by_mm[0], stack.slide_v_mm + by_mm[1])
    if not snapping.enabled:
        return Slide(tidy(raw[0]), tidy(raw[1]))
    tolerance_mm, grid_mm = snapping.tolerance_mm, snapping.grid_mm
    items = scene.items_of(stack)
    owners = {one.id for one in items}
    hard = [s for one in items for s in scene.solids_of[one.id] if s.hard]
    shift = [0.0, 0.0, 0.0]
    for own, by in ((u, by_mm[0]), (v, by_mm[1])):
        shift[own.axis] += own.sign * by
    moved = (shift[0], shift[1], shift[2])
    faces = list(_face_catches(scene, hard, moved, (u.axis, v.axis), tolerance_mm, owners))
    found: list[float] = []
    reasons: list[str] = []
    for k, own in enumerate((u, v)):
        catches = [
            _Catch(HOLES, abs(at - raw[k]), at - raw[k], f"{'uv'[k]}: {words}")
            for at, words in _slot_stops(items, k)
        ]
        catches += [
            _Catch(c.rank, c.away_mm, own.sign * c.by_mm, c.reason, c.off)
            for axis, c in faces
            if axis == own.axis
        ]
        if grid_mm > 0:
            by = round(raw[k] / grid_mm) * grid_mm - raw[k]
            catches.append(_Catch(GRID, abs(by), by, f"{'uv'[k]}: grid"))
        best = None
        for c in sorted(c for c in catches if c.away_mm <= tolerance_mm + LENGTH_EPS_MM):
            if not _stuck(scene, hard, _further(moved, own.axis, own.sign * c.by_mm), c.off):
                best = c
                break
        found.append(tidy(raw[k] + (best.by_mm if best else 0.0)))
        reasons.extend([best.reason] if best else [])
    return Slide(found[0], found[1], tuple(reasons))


def _slot_stops(items: Sequence[Placed], along: int) -> Iterator[tuple[float, str]]:
    span = slot_range(items, along)
    if span is None or span[0] > span[1] + LENGTH_EPS_MM:
        return
    if span[0] <= 0.0 <= span[1]:
        yield 0.0, _centre_words(span) if span[0] < span[1] else "holes"
    if span[0] < span[1]:
        yield span[0], "end of a slot"
        yield span[1], "end of a slot"


def _caught(
    scene: Scene, hard: Sequence[Solid], shift: Vec, catches: dict[int, list[_Catch]]
) -> Snap:
    """Return the best catch of each axis, but for those off a thing in which one is still stuck."""
    left = {axis: sorted(found) for axis, found in sorted(catches.items()) if found}
    at = shift
    for axis, found in left.items():
        at = _further(at, axis, found[0].by_mm)
    for axis, found in left.items():
        while found and found[0].off and _stuck(scene, hard, at, found[0].off):
            by_mm = found.pop(0).by_mm
            at = _further(at, axis, (found[0].by_mm if found else 0.0) - by_mm)
    return Snap(_tidied(at), tuple(found[0].reason for found in left.values() if found))


def _further(shift: Vec, axis: int, by_mm: float) -> Vec:
    at = list(shift)
    at[axis] += by_mm
    return (at[0], at[1], at[2])


def _stuck(scene: Scene, hard: Sequence[Solid], shift: Vec, owner: str) -> bool:
    """Whether solids that are moved by a shift share room with those of an owner, if any."""
    if not owner:
        return False
    theirs = scene.solids_of.get(owner) or [s for s in scene.fixed if s.owner == owner]
    whole = _moved(hull([solid.bounds for solid in hard]), shift)
    met = [p for s in theirs if s.hard for p in s.prisms if bounds_meet(p.bounds, whole)]
    mine = [
        shifted(prism, shift)
        for solid in hard
        for prism in solid.prisms
        if any(bounds_meet(_moved(prism.bounds, shift), other.bounds) for other in met)
    ]
    return shares_room(mine, met)


def _tidied(shift: Vec) -> Vec:
    return (tidy(shift[0]), tidy(shift[1]), tidy(shift[2]))


# ---- holes ----


def _hole_catches(
    scene: Scene,
    own: Sequence[Holes],
    shift: Vec,
    axes: Sequence[int],
    tolerance_mm: float,
    owners: set[str],
) -> Iterator[tuple[int, _Catch]]:
    """Yield catches where a part's holes come near a pattern that they fit, on facing faces."""
    every = holes_of(scene) if own else {}
    for mine in own:
        facing = every.get(-mine.out)
        at = (mine.at[0] + shift[0], mine.at[1] + shift[1], mine.at[2] + shift[2])
        reach = tolerance_mm + LENGTH_EPS_MM
        for owner, target in facing.near(at, axes, reach) if facing is not None else ():
            if owner in owners or mine.mounts.isdisjoint(target.mounts):
                continue
            to = [target.at[k] - mine.at[k] - shift[k] for k in ALL_AXES]
            slots = {axis: (low, high) for axis, low, high in target.slots}
            if any(_beyond(to[k], slots.get(k, (0.0, 0.0)), tolerance_mm) for k in axes):
                continue
            for axis in axes:
                slot = None if axis == target.out.axis else slots.get(axis, (0.0, 0.0))
                for by, words in _stops(to[axis], slot):
                    reason = f"{AXES[axis]}: {words} of {target.name}"
                    yield axis, _Catch(HOLES, abs(by), by, reason)


def _beyond(to: float, slot: tuple[float, float], tolerance_mm: float) -> bool:
    """Whether a screw that stands `to` short of its hole is farther off than is caught."""
    return not slot[0] - tolerance_mm <= -to <= slot[1] + tolerance_mm


def _stops(to: float, slot: tuple[float, float] | None) -> Iterator[tuple[float, str]]:
    """Yield how much further on holes meet; `slot` None stands for faces that meet."""
    if slot is None or slot[0] == slot[1]:
        yield to, "face" if slot is None else "holes"
        return
    yield to, _centre_words(slot)
    yield to + slot[0], "end of the slots"
    yield to + slot[1], "end of the slots"


def _centre_words(slot: tuple[float, float]) -> str:
    return "middle of the slots" if slot[0] == -slot[1] else "centre of the cell"


# ---- faces and grid ----


def _face_catches(
    scene: Scene,
    hard: Sequence[Solid],
    shift: Vec,
    axes: Sequence[int],
    tolerance_mm: float,
    owners: set[str],
) -> Iterator[tuple[int, _Catch]]:
    """Yield catches where a face comes to touch another, or to stand one margin off it."""
    settings = scene.layout.settings
    mine = [(s, _moved(p.bounds, shift)) for s in hard for p in s.prisms]
    reach = tolerance_mm + max((settings.margin_mm, *(m.margin_mm for m in settings.margins)))
    ends = _moved(whole_bounds([p for s in hard for p in s.prisms]), shift)
    most = tolerance_mm + LENGTH_EPS_MM
    for other, bounds in _near(scene, [b for _, b in mine], reach, owners):
        for solid, own in mine:
            facing = [axis for axis in axes if _face_each_other(own, bounds, axis)]
            if not facing:
                continue
            margin = required_mm(settings, solid, other)
            for axis in facing:
                above = bounds[axis + 3] - own[axis]
                below = bounds[axis] - own[axis + 3]
                for by, sign, inside in (
                    (above, 1.0, own[axis] - ends[axis]),
                    (below, -1.0, ends[axis + 3] - own[axis + 3]),
                ):
                    off = by + sign * margin
                    stuck_in = other.owner if inside > LENGTH_EPS_MM else ""
                    if abs(by) <= most:
                        words = f"{AXES[axis]}: touching {other.name}{_which_face(inside)}"
                        # What touches already stays so while it is dragged along.
                        touches = margin <= 0 or abs(by) <= LENGTH_EPS_MM
                        rank = FACES if touches else TOUCHING
                        yield axis, _Catch(rank, abs(by), by, words, stuck_in)
                    if margin > 0 and abs(off) <= most:
                        which = _which_face(inside)
                        words = f"{AXES[axis]}: {margin:g} mm off {other.name}{which}"
                        yield axis, _Catch(FACES, abs(off), off, words, stuck_in)


def _which_face(inside_mm: float) -> str:
    """Return the words for a face that lies inside the end of what is dragged, as a lug's does."""
    if inside_mm <= LENGTH_EPS_MM:
        return ""
    return f" with a face {inside_mm:.1f} mm behind its end"


def _near(
    scene: Scene, own: Sequence[Bounds], reach_mm: float, owners: set[str]
) -> Iterator[tuple[Solid, Bounds]]:
    """Yield the prisms' bounds of hard solids within reach of any of one's own, with the solid."""
    room = hull(own)
    reached = widened(room, reach_mm)
    for index in near(room, scene.bounds, reach_mm).tolist():
        solid = scene.solids[index]
        if not solid.hard or solid.owner in owners:
            continue
        for prism in solid.prisms:
            if bounds_meet(prism.bounds, reached):
                yield solid, prism.bounds


def _face_each_other(a: Bounds, b: Bounds, axis: int) -> bool:
    """Whether two boxes meet when one is pushed along `axis`."""
    u, v = (axis + 1) % 3, (axis + 2) % 3
    return (
        min(a[u + 3], b[u + 3]) - max(a[u], b[u]) > LENGTH_EPS_MM
        and min(a[v + 3], b[v + 3]) - max(a[v], b[v]) > LENGTH_EPS_MM
    )


def _moved(b: Bounds, by: Vec) -> Bounds:
    return (b[0] + by[0], b[1] + by[1], b[2] + by[2], b[3] + by[0], b[4] + by[1], b[5] + by[2])


def _grid_catches(
    hard: Sequence[Solid], shift: Vec, axes: Sequence[int], grid_mm: float
) -> Iterator[tuple[int, _Catch]]:
    if grid_mm <= 0:
        return
    bodies = [solid for solid in hard if solid.role is not Role.FITTING] or hard
    least = bounds_array(bodies)[:, :3].min(axis=0)
    for axis in axes:
        at = float(least[axis]) + shift[axis]
        by = round(at / grid_mm) * grid_mm - at
        yield axis, _Catch(GRID, abs(by), by, f"{AXES[axis]}: grid")
