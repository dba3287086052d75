"""Changes by an amount, found by the measures: slides, moves of free parts, trims of obstacles.

The measures give where a stack could stand, or how much of an obstacle would have to go, with all
dimensions as drawn; amounts a little beyond follow, for what tolerances take. Whether one does,
and what the least is, the full check says.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from functools import cache
from math import ceil, floor, inf

from catalog.enclosure import Obstacle
from catalog.model import Direction
from catalog.shapes import shape_bounds
from geometry.checks.bolting import slide_room
from geometry.checks.words import called, slide_text, way_text
from geometry.edits import (
    EditError,
    cut_out_obstacle,
    new_holes_note,
    nudge,
    set_slide,
    trim_obstacle,
    why_not_cut,
)
from geometry.edits.base import need_stack
from geometry.edits.cut import CUT_NOTE, END_WORDS
from geometry.layout import FreePart, Layout, Stack
from geometry.margins import judged, required_mm
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.growth import grown
from geometry.measures.pose import Way, way
from geometry.measures.prism import Prism, shifted
from geometry.measures.shifts import pair_shifts
from geometry.measures.solid import Solid
from geometry.measures.tolerance import meets
from geometry.part_solids import shape_prism
from geometry.placement import Placed, owner_state
from geometry.scene import Scene
from geometry.search.mending.holding import trim_held
from geometry.search.mending.steps import TENTH_MM, Sized, Step, not_below, slide_family
from geometry.search.mending.wanted import Wanted

FARTHEST_MM = 150.0
"""A free part is moved this far at most: beyond, it is another place and not a nudge."""

MOST_WINDOWS = 3
"""So many places to stand are looked at in each direction, the nearest first."""

TAKEN_BY_TOLERANCES = (0, 5, 15, 40, 120)
"""Tenths of a millimetre that are cut off beyond what the measures ask for."""

ENDS: tuple[Direction, ...] = ("-x", "+x", "-y", "+y", "-z", "+z")


def slides(scene: Scene, stack: Stack, wanted: Wanted) -> Iterator[Step]:
    """Yield the slides of a stack to where it could stand, by the places its slots leave."""
    items = scene.items_of(stack)
    frame = scene.frames[stack.zone]
    for along, at in enumerate((stack.slide_u_mm, stack.slide_v_mm)):
        room = slide_room(items, along)
        if not room.possible or room.most_mm - room.least_mm == inf:
            continue
        axis = frame.pose.x if along == 0 else frame.pose.y
        for sign, most in ((1, room.most_mm - at), (-1, at - room.least_mm)):
            way_on = axis if sign > 0 else -axis
            step = slide_by(scene, stack, along, sign)
            yield from _places(scene, stack.id, way_on, most, wanted, step)
            least = max(room.least_mm - at, at - room.most_mm)
            if most > 0 and least > 0:  # out of its slots: back to their nearer end
                yield step(ceil(least / TENTH_MM - 1e-6))


def slide_by(scene: Scene, stack: Stack, along: int, sign: int) -> Callable[[int], Step]:
    """Return the slide of a stack along u (0) or v (1), by an amount in tenths."""
    frame = scene.frames[stack.zone]
    family = slide_family(stack.id, along, sign)

    def by(tenths: int) -> Step:
        mm = sign * tenths * TENTH_MM
        du, dv = (mm, 0.0) if along == 0 else (0.0, mm)
        return Step(
            f"Slide the stack on {scene.name_of(stack.zone)} {slide_text(frame, (du, dv))}",
            1.0 + abs(mm) / 100,
            stack.id,
            lambda layout: _slid(layout, stack.id, du, dv),
            "slide",
            sized=Sized(family, tenths, by),
            knob=f"slide {stack.id} {along}",
        )

    return by


def _slid(layout: Layout, stack_id: str, du_mm: float, dv_mm: float) -> Layout:
    stack = need_stack(layout, stack_id)
    return set_slide(layout, stack_id, stack.slide_u_mm + du_mm, stack.slide_v_mm + dv_mm)


def moves(scene: Scene, one: Placed, wanted: Wanted) -> Iterator[Step]:
    """Yield the moves of a free part to where it could stand, along the six directions."""
    if not isinstance(one.use, FreePart) or one.use.locked:
        return
    for direction in ENDS:
        on = way(direction)
        yield from _places(scene, one.id, on, FARTHEST_MM, wanted, move_by(scene, one, on))


def move_by(scene: Scene, one: Placed, on: Way) -> Callable[[int], Step]:
    """Return the move of a free part along a direction, by an amount in tenths."""
    note = new_holes_note(one.use) if isinstance(one.use, FreePart) else ""

    def by(tenths: int) -> Step:
        mm = tenths * TENTH_MM
        dx, dy, dz = (mm * w for w in on.vector)
        return Step(
            f"Move {called(scene, one.id)} {mm:.1f} mm {way_text(on)}{note}",
            (8.0 if note else 3.0) + mm / 100,
            one.id,
            lambda layout: nudge(layout, one.id, (dx, dy, dz)),
            "move",
            sized=Sized(f"Move {one.id} {on.name}", tenths, by),
            knob=f"move {one.id} {on.axis}",
        )

    return by


def _places(
    scene: Scene,
    mover: str,
    on: Way,
    most_mm: float,
    wanted: Wanted,
    by: Callable[[int], Step],
) -> Iterator[Step]:
    """Yield steps to the nearest places along a way where a stack or free part could stand.

    Of each place its near end, its middle and its far end: tolerances may ask for more than the
    near end, and on both sides.
    """
    above = 0
    for low, high in places_along(scene, mover, on, most_mm, wanted)[:MOST_WINDOWS]:
        first, last = max(1, ceil(low / TENTH_MM - 1e-6)), floor(high / TENTH_MM + 1e-6)
        if last < first:
            continue
        for tenths in sorted({first, (first + last) // 2, last}):
            yield not_below(by(tenths), above)
        above = last


def places_along(
    scene: Scene,
    mover: str,
    on: Way,
    most_mm: float,
    wanted: Wanted,
    beside: Collection[str] | None = None,
) -> list[tuple[float, float]]:
    """Return the distances along a way (from, to) at which nothing is in the way, margins kept.

    What is short already and not to be mended does not count. With `beside` only what these own
    is in the way.
    """
    if most_mm < TENTH_MM / 2:
        return []
    settings = scene.layout.settings
    own = [s for s in scene.movable if mover in (s.stack, s.owner)]
    theirs = [s for s in scene.solids if s.owner != mover and (s.stack != mover or s.stack is None)]
    if beside is not None:
        theirs = [solid for solid in theirs if solid.owner in beside]
    spans: list[tuple[float, float]] = []
    for a in own:
        swept: dict[float, list[Prism]] = {}
        for b in theirs:
            if not judged(a, b):
                continue
            need = required_mm(settings, a, b)
            if need not in swept:
                swept[need] = [grown(p, need) for p in a.prisms]
            pairs = [
                (lo, hi) if on.sign > 0 else (-hi, -lo)
                for p in swept[need]
                for q in b.prisms
                for lo, hi in pair_shifts(p, q, on.axis)
            ]
            here = any(lo < -1e-6 and hi > 1e-6 for lo, hi in pairs)
            if here and not wanted.asks(scene, a, b):
                continue  # short already, and not asked to be mended
            spans += [(lo, hi) for lo, hi in pairs if hi > 0 and lo < most_mm]
    return _gaps(sorted(spans), most_mm)


def _gaps(spans: Sequence[tuple[float, float]], most_mm: float) -> list[tuple[float, float]]:
    """Return what is left of 0 to `most_mm` without some open intervals, given in order."""
    out = []
    at = 0.0
    for low, high in spans:
        if low > at:
            out.append((at, min(low, most_mm)))
        at = max(at, high)
    if at <= most_mm:
        out.append((at, most_mm))
    return out


def trims(scene: Scene, obstacle: Obstacle, wanted: Wanted) -> Iterator[Step]:
    """Yield the cuts of an obstacle that part it from what it shall be parted from, end by end.

    What is short of it and may stay so does not count; of what need not go by one cut each has its
    own. No end at which it is held is cut. Last comes cutting it out whole. Nothing is yielded for
    what must not be cut.
    """
    if why_not_cut(scene.layout.enclosure, obstacle):
        return
    whole = next((solid for solid in scene.fixed if solid.id == obstacle.id), None)
    if whole is not None:  # not taken out
        near = [one for one in scene.movable if is_short(scene, one, whole)]
        near = [one for one in near if wanted.asks(scene, one, whole)]
        for end in ENDS:
            by = _trim_by(obstacle, end)
            if not _is_free(scene, by(1)):
                continue
            most = ceil(_extent_mm(obstacle, end) / TENTH_MM - 1e-6) - 1
            for least in _least_trims(scene, whole, near, end, most):
                yield from (by(least + k) for k in TAKEN_BY_TOLERANCES if least + k <= most)
    yield Step(
        f"Cut out {obstacle.name}{CUT_NOTE}",
        90.0,
        obstacle.id,
        lambda layout: cut_out_obstacle(layout, obstacle.id),
        "cut out",
        knob=f"cut {obstacle.id}",
        parts=(_trim_family(obstacle), f"Cut out {obstacle.id}"),
    )


def _is_free(scene: Scene, trim: Step) -> bool:
    """Whether the least trim of an end leaves the obstacle held."""
    try:
        trim.edit(scene.layout)
    except EditError:
        return False
    return True


def _trim_family(obstacle: Obstacle) -> str:
    """Return the family of all trims of an obstacle: of two ends the lesser cut is enough."""
    return f"Trim {obstacle.id}"


def _trim_by(obstacle: Obstacle, end: Direction) -> Callable[[int], Step]:
    def by(tenths: int) -> Step:
        mm = tenths * TENTH_MM
        return Step(
            f"Trim {obstacle.name} by {mm:.1f} mm at its {END_WORDS[end]}{CUT_NOTE}",
            80.0 + mm / 1000,
            obstacle.id,
            lambda layout: trim_held(layout, obstacle.id, end, mm),
            "trim",
            sized=Sized(_trim_family(obstacle), tenths, by),
            knob=f"cut {obstacle.id}",
        )

    return by


def _extent_mm(obstacle: Obstacle, end: Direction) -> float:
    axis = way(end).axis
    corners = [shape_bounds(shape) for shape in obstacle.shapes]
    return max(c[1][axis] for c in corners) - min(c[0][axis] for c in corners)


def _least_trims(
    scene: Scene, whole: Solid, near: Sequence[Solid], end: Direction, most: int
) -> list[int]:
    """Return the least tenths of a trim that give each of some solids its margin, in order.

    One tenth where there are none: the worst case may ask for more. Those to whom not even the
    most gives it are left out.
    """
    layout = scene.layout
    _, to = owner_state(layout.enclosure, whole.id, layout.states)

    @cache
    def left(tenths: int) -> Solid:
        cut = trim_obstacle(layout, whole.id, end, tenths * TENTH_MM).enclosure
        (shapes,) = (one.shapes for one in cut.obstacles if one.id == whole.id)
        return replace(whole, prisms=tuple(shifted(shape_prism(s), to) for s in shapes))

    found = set() if near else {1}
    try:
        for one in near:
            low, high = 0, most
            if most < 1 or is_short(scene, one, left(most)):
                continue
            while high - low > 1:
                middle = (low + high) // 2
                short = is_short(scene, one, left(middle))
                low, high = (middle, high) if short else (low, middle)
            found.add(high)
    except EditError:
        return []
    return sorted(found)


def is_short(scene: Scene, a: Solid, b: Solid) -> bool:
    """Whether two solids have less than the margin between them that is asked for, as drawn."""
    if not judged(a, b):
        return False
    need = required_mm(scene.layout.settings, a, b)
    if any(
        a.bounds[k] - b.bounds[k + 3] > need or b.bounds[k] - a.bounds[k + 3] > need
        for k in range(3)
    ):
        return False
    return not meets(signed_gap_mm(a.prisms, b.prisms), need)
