"""The parts of the board: walls, zones and solids of each view, with hidden edges and names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from app.drawing.hidden import hidden_primitives
from app.drawing.labels import label_box, label_patch, part_label
from app.drawing.making import (
    LEVEL_HIDDEN,
    LEVEL_KEEP_OUT,
    LEVEL_LABEL,
    LEVEL_SELECTED,
    LEVEL_SOLID,
    LEVEL_WALL,
    LEVEL_ZONE,
    LEVEL_ZONE_OVER,
    Line,
    Making,
)
from app.drawing.meetings import crossed, meeting, nearer_owners
from app.drawing.memory import Same
from app.drawing.primitives import Bounds, Group, Ink, Primitive, Text
from app.drawing.room import (
    faces_viewer,
    wall_primitives,
    zone_edge_label,
    zone_label,
    zone_primitives,
)
from app.drawing.silhouettes import drawn
from app.drawing.views import body_primitives, keep_out_primitives

if TYPE_CHECKING:
    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Shown
    from geometry.placement import ZoneFrame


def view_groups(
    making: Making,
    view: ViewFrame,
    ordered: tuple[Shown, ...],
    annotated: tuple[Bounds, ...],
    leaders: tuple[Line, ...],
) -> Iterator[Group | None]:
    """Yield the groups of one view, its owners painted in the order given; None to pause.

    Labels keep clear of the rectangles `annotated` and of `leaders`.
    """
    zones = _zones(making)
    owners: list[_OwnerGroups] = []
    for groups in _owner_groups(making, view, ordered, annotated, leaders):
        if groups is None:
            yield None
        else:
            owners.append(groups)
    yield _walls(making, view)
    yield from _zone_groups(making, view, zones, over=False)
    for groups in owners:
        yield from groups.bodies
    for groups in owners:
        yield from groups.hidden
    for groups in owners:
        yield from groups.keep_outs
    yield from _zone_groups(making, view, zones, over=True)
    for groups in owners:
        yield from groups.label
    named = tuple(box for groups in owners for box in groups.named)
    for zone, empty in zones:
        if empty:
            yield from _zone_name(making, view, zone, (*annotated, *named))
    for groups in owners:
        yield from groups.selected


STEP_OWNERS = 32
"""After how many owners that stand as they did one may pause."""


@dataclass(frozen=True)
class _OwnerGroups:
    """All groups of one owner in a view; `named` is where its label stands."""

    bodies: tuple[Group, ...]
    hidden: tuple[Group, ...]
    keep_outs: tuple[Group, ...]
    label: tuple[Group, ...]
    selected: tuple[Group, ...]
    named: tuple[Bounds, ...]


def _owner_groups(
    making: Making,
    view: ViewFrame,
    ordered: tuple[Shown, ...],
    annotated: tuple[Bounds, ...],
    leaders: tuple[Line, ...],
) -> Iterator[_OwnerGroups | None]:
    """Yield the groups of all owners of a view; those round which nothing changed as they were."""
    memory, drafting, selection = making.memory, making.drafting, making.shows.selection
    boxes, nearer = memory.get(
        f"nearer:{view.name}", (ordered, view), partial(_nearer, ordered, view)
    )
    yield None
    near_annotated, near_leaders = memory.get(
        f"notes:{view.name}",
        (boxes, annotated, leaders),
        lambda: (list(meeting(boxes, annotated)), crossed(boxes, leaders)),
    )
    yield None
    prefix = f"owner:{view.name}:"
    for number, (shown, over, near, passing) in enumerate(
        zip(ordered, nearer, near_annotated, near_leaders, strict=True)
    ):
        taken = tuple([annotated[k] for k in near]) if near else ()
        lines = tuple([leaders[k] for k in passing]) if passing else ()
        remade = memory.remade
        yield memory.get(
            prefix + shown.owner,
            (shown, over, taken, lines, shown.owner in selection, view, drafting),
            partial(_groups_of, making, view, shown, over, taken, lines),
        )
        if memory.remade != remade or number % STEP_OWNERS == 0:
            yield None


def _nearer(
    ordered: tuple[Shown, ...], view: ViewFrame
) -> tuple[list[Bounds], tuple[tuple[Shown, ...], ...]]:
    """Return the rectangles of owners in a view, and those that stand before each of them."""
    boxes = [shown.seen(view).box for shown in ordered]
    return boxes, nearer_owners(ordered, boxes)


def _groups_of(
    making: Making,
    view: ViewFrame,
    shown: Shown,
    over: tuple[Shown, ...],
    taken: tuple[Bounds, ...],
    lines: tuple[Line, ...],
) -> _OwnerGroups:
    label = _label(making, view, shown, over, taken, lines)
    return _OwnerGroups(
        _bodies(making, view, shown),
        _hidden(making, view, shown, over),
        _keep_outs(making, view, shown),
        label,
        tuple(_selected(making, view, shown)),
        tuple(label_box(p) for group in label for p in group.primitives if isinstance(p, Text)),
    )


def _walls(making: Making, view: ViewFrame) -> Group:
    enclosure = making.checked.scene.layout.enclosure
    (walls,) = making.kept(
        f"wall:{view.name}",
        (Same(enclosure), view),
        LEVEL_WALL,
        lambda: wall_primitives(enclosure, view, making.drafting),
    )
    return walls


def _zone_groups(
    making: Making, view: ViewFrame, zones: Sequence[tuple[ZoneFrame, bool]], *, over: bool
) -> Iterator[Group]:
    """Yield the zones that are drawn over the parts, or those under them."""
    for zone, empty in zones:
        if _over(zone, view, empty=empty) == over:
            yield from _zone(making, view, zone, empty=empty)


def _zones(making: Making) -> tuple[tuple[ZoneFrame, bool], ...]:
    """Return the zones that are in place, each with whether it is empty."""
    scene = making.checked.scene
    taken = {stack.zone for stack in scene.layout.stacks if stack.inner or stack.outer}
    return tuple(
        (zone, zone_id not in taken) for zone_id, zone in scene.frames.items() if zone.present
    )


def _over(zone: ZoneFrame, view: ViewFrame, *, empty: bool) -> bool:
    """Whether a zone is drawn over the parts: an empty one that no part can hide."""
    return empty and not faces_viewer(zone, view)


def _zone(making: Making, view: ViewFrame, zone: ZoneFrame, *, empty: bool) -> tuple[Group, ...]:
    return making.kept(
        f"zone:{view.name}:{zone.zone.id}",
        (Same(zone.zone), zone.pose, view, empty),
        LEVEL_ZONE_OVER if _over(zone, view, empty=empty) else LEVEL_ZONE,
        lambda: zone_primitives(zone, view, making.drafting, empty=empty),
    )


def _zone_name(
    making: Making, view: ViewFrame, zone: ZoneFrame, taken: tuple[Bounds, ...]
) -> Iterator[Group]:
    views = making.frame.views
    if any(one.toward.axis == zone.inward.axis for one in views):
        name = zone_label(zone, view, making.drafting, taken)
    else:  # a zone that no view shows face on is named once, beside its line
        name = zone_edge_label(zone, view, making.drafting, taken) if view == views[0] else None
    if name is not None:
        yield Group(f"zone-name:{view.name}:{zone.zone.id}", (name,), LEVEL_LABEL)


def _bodies(making: Making, view: ViewFrame, shown: Shown) -> tuple[Group, ...]:
    one = shown.placed
    use = one.use if one is not None else None
    air = one.stack.air if one is not None and one.stack is not None else None
    return making.kept(
        f"solid:{view.name}:{shown.owner}",
        (shown.solids, use, air, view),
        LEVEL_SOLID,
        lambda: body_primitives(shown, view, making.drafting),
    )


def _hidden(
    making: Making, view: ViewFrame, shown: Shown, over: tuple[Shown, ...]
) -> tuple[Group, ...]:
    return making.kept(
        f"hidden:{view.name}:{shown.owner}",
        (shown.solids, tuple(other.solids for other in over), view),
        LEVEL_HIDDEN,
        lambda: hidden_primitives(shown, over, view, making.drafting),
    )


def _keep_outs(making: Making, view: ViewFrame, shown: Shown) -> tuple[Group, ...]:
    if all(solid.hard for solid in shown.solids):
        return ()
    return making.kept(
        f"keep-out:{view.name}:{shown.owner}",
        (shown.solids, view),
        LEVEL_KEEP_OUT,
        lambda: keep_out_primitives(shown.solids, view, making.drafting),
    )


def _label(
    making: Making,
    view: ViewFrame,
    shown: Shown,
    over: tuple[Shown, ...],
    taken: tuple[Bounds, ...],
    lines: tuple[Line, ...],
) -> tuple[Group, ...]:
    def make() -> tuple[Primitive, ...]:
        label = part_label(shown, over, taken, lines, view, making.drafting)
        return (label_patch(label, shown.ink), label) if label is not None else ()

    return making.kept(
        f"label:{view.name}:{shown.owner}",
        (shown.solids, shown.label, tuple(other.solids for other in over), taken, lines, view),
        LEVEL_LABEL,
        make,
    )


def _selected(making: Making, view: ViewFrame, shown: Shown) -> Iterator[Group]:
    if shown.owner in making.shows.selection:
        line = making.drafting.wide(Ink.SELECTION)
        shapes = tuple(drawn(outline, line) for outline in shown.seen(view).outlines)
        yield Group(f"selected:{view.name}:{shown.owner}", shapes, LEVEL_SELECTED)
