"""The parts of the board: walls, zones and solids of each view, with hidden edges and names.

What is known of an owner in a view is kept from drawing to drawing. When a part moves, those that
it does not touch are as they were, and of those that it touches only what it changes is made anew.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from operator import attrgetter
from typing import TYPE_CHECKING

from app.drawing.hidden import Hidden, hidden_edges
from app.drawing.labels import (
    Spots,
    first_free,
    hurdles_before,
    label_box,
    label_fits,
    label_patch,
    label_spots,
)
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
from app.drawing.meetings import crossed, met, standing
from app.drawing.memory import Same
from app.drawing.primitives import Bounds, Group, Ink, Primitive
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
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Shown
    from geometry.placement import ZoneFrame

STEP_MADE = 8
"""After how many owners made anew one may pause."""


def view_groups(
    making: Making,
    view: ViewFrame,
    owners: tuple[Shown, ...],
    annotated: tuple[Bounds, ...],
    leaders: tuple[Line, ...],
) -> Generator[None, None, list[Group]]:
    """Return the groups of one view, with pauses; its owners are painted from far to near.

    Labels keep clear of the rectangles `annotated` and of `leaders`.
    """
    shown = yield from _owners(making, view, owners, annotated, leaders)
    zones = _zones(making)
    under, over = making.memory.get(
        f"zones:{view.name}",
        (
            Same(making.checked.scene.frames),
            tuple(empty for _, empty in zones),
            view,
            making.drafting,
        ),
        lambda: _zone_groups(making, view, zones),
    )
    groups = [_walls(making, view), *under]
    bodies = [one.body for one in shown]
    for level in (_BODIES, _EDGES, _KEEP_OUTS):
        groups.extend(chain.from_iterable(map(level, bodies)))
    groups.extend(over)
    groups.extend(chain.from_iterable(map(_LABEL, shown)))
    taken = (*annotated, *chain.from_iterable(map(_NAMED, shown)))
    groups.extend(group for zone, empty in zones if empty
                  for group in _zone_name(making, view, zone, taken))  # fmt: skip
    groups.extend(_selected(making, view, owners))
    return groups


@dataclass(frozen=True, eq=False, slots=True)
class _Body:
    """What shows of an owner in a view beside its label; `over` stands before it.

    `spots` are where its label may stand off other parts; None where it finds no room at all.
    """

    shown: Shown
    over: tuple[Shown, ...]
    hidden: Hidden
    hurdles: tuple[Bounds, ...]
    spots: Spots | None
    bodies: tuple[Group, ...]
    edges: tuple[Group, ...]
    keep_outs: tuple[Group, ...]


@dataclass(frozen=True, eq=False, slots=True)
class _Owner:
    """All groups of an owner in a view.

    `taken` and `lines` are what annotations need of its rectangle, which its label keeps off;
    `named` is where that stands.
    """

    body: _Body
    taken: tuple[Bounds, ...]
    lines: tuple[Line, ...]
    label: tuple[Group, ...]
    named: tuple[Bounds, ...]


_BODIES, _EDGES, _KEEP_OUTS = (attrgetter(name) for name in ("bodies", "edges", "keep_outs"))
_LABEL, _NAMED = attrgetter("label"), attrgetter("named")


@dataclass(frozen=True, eq=False)
class _Known:
    """The owners of a view as they were drawn last, with the view and the sizes of annotation.

    `places` are those at which they stood; of the `hemmed`, annotations meet their rectangles.
    """

    view: ViewFrame
    drafting: Drafting
    owners: Mapping[Shown, _Owner]
    places: Mapping[Shown, int]
    hemmed: tuple[Shown, ...]


def _owners(
    making: Making,
    view: ViewFrame,
    owners: tuple[Shown, ...],
    annotated: tuple[Bounds, ...],
    leaders: tuple[Line, ...],
) -> Generator[None, None, list[_Owner]]:
    """Return the owners of a view, those round which nothing changed as they were."""
    memory, drafting = making.memory, making.drafting
    stands = memory.get(
        f"standing:{view.name}",
        (owners, Same(view)),
        lambda: standing(owners, view, memory.last(f"standing:{view.name}")),
    )
    yield
    known: _Known | None = memory.last(f"owners:{view.name}")
    if known is not None and (known.view is not view or known.drafting != drafting):
        known = None
    near, passing = met(stands.boxes, annotated), crossed(stands.boxes, leaders)
    yield
    before: Mapping[Shown, _Owner] = known.owners if known is not None else {}
    found = list(map(before.get, stands.ordered))
    touched = {*stands.anew_since(known.places if known is not None else None), *near, *passing}
    if known is not None:
        touched.update(stands.places[shown] for shown in known.hemmed if shown in stands.places)
    hemmed: list[Shown] = []
    made = 0
    for place in sorted(touched):
        old, shown, over = found[place], stands.ordered[place], stands.over[place]
        taken = tuple([annotated[k] for k in near[place]]) if place in near else ()
        lines = tuple([leaders[k] for k in passing[place]]) if place in passing else ()
        if taken or lines:
            hemmed.append(shown)
        if old is not None and old.body.over is over:
            body = old.body
            if body.spots is None or (taken == old.taken and lines == old.lines):
                continue
        else:
            body = _body(shown, over, view, drafting, old.body if old is not None else None)
        found[place] = _labelled(body, taken, lines, view)
        memory.remade += 1
        made += 1
        if made % STEP_MADE == 0:
            yield
    owned = [one for one in found if one is not None]
    by_owner = dict(zip(stands.ordered, owned, strict=True))
    memory.keep(
        f"owners:{view.name}", _Known(view, drafting, by_owner, stands.places, tuple(hemmed))
    )
    return owned


def _body(
    shown: Shown,
    over: tuple[Shown, ...],
    view: ViewFrame,
    drafting: Drafting,
    old: _Body | None,
) -> _Body:
    """Return what shows of an owner; of what it was before, that of which nothing changed."""
    place = f"{view.name}:{shown.owner}"
    hidden = hidden_edges(shown, over, view, drafting, old.hidden if old is not None else None)
    if old is not None and hidden.primitives is old.hidden.primitives:
        edges = old.edges
    else:
        edges = _group(f"hidden:{place}", LEVEL_HIDDEN, hidden.primitives)
    if old is not None:
        fits, bodies, keep_outs = old.spots is not None, old.bodies, old.keep_outs
    else:
        fits = label_fits(shown, view, drafting)
        bodies = _group(f"solid:{place}", LEVEL_SOLID, body_primitives(shown, view, drafting))
        rooms = keep_out_primitives(shown.solids, view, drafting)
        keep_outs = _group(f"keep-out:{place}", LEVEL_KEEP_OUT, rooms)
    hurdles: tuple[Bounds, ...] = ()
    spots = None
    if fits:
        hurdles = hurdles_before(shown, over, view)
        spots = old.spots if old is not None and hurdles == old.hurdles else None
        spots = spots or Spots(label_spots(shown, hurdles, view, drafting))
    return _Body(shown, over, hidden, hurdles, spots, bodies, edges, keep_outs)


def _labelled(
    body: _Body, taken: tuple[Bounds, ...], lines: tuple[Line, ...], view: ViewFrame
) -> _Owner:
    """Return an owner with its label where that is free, if it has room for one at all."""
    if body.spots is None:
        return _Owner(body, (), (), (), ())
    text = first_free(body.spots, taken, lines)
    if text is None:
        return _Owner(body, taken, lines, (), ())
    key = f"label:{view.name}:{body.shown.owner}"
    patch = label_patch(text, body.shown.ink)
    return _Owner(body, taken, lines, _group(key, LEVEL_LABEL, (patch, text)), (label_box(text),))


def _group(key: str, level: int, primitives: tuple[Primitive, ...]) -> tuple[Group, ...]:
    """Return a group; nothing to draw gives none."""
    return (Group(key, primitives, level),) if primitives else ()


def _selected(making: Making, view: ViewFrame, owners: tuple[Shown, ...]) -> Iterator[Group]:
    line = making.drafting.wide(Ink.SELECTION)
    selection = making.shows.selection
    for shown in [one for one in owners if one.owner in selection]:
        shapes = tuple(drawn(outline, line) for outline in shown.seen(view).outlines)
        yield Group(f"selected:{view.name}:{shown.owner}", shapes, LEVEL_SELECTED)


def _walls(making: Making, view: ViewFrame) -> Group:
    enclosure = making.checked.scene.layout.enclosure
    (walls,) = making.kept(
        f"wall:{view.name}",
        (Same(enclosure), view),
        LEVEL_WALL,
        lambda: wall_primitives(enclosure, view, making.drafting),
    )
    return walls


def _zones(making: Making) -> tuple[tuple[ZoneFrame, bool], ...]:
    """Return the zones that are in place, each with whether it is empty."""
    scene = making.checked.scene
    taken = {stack.zone for stack in scene.layout.stacks if stack.inner or stack.outer}
    return tuple(
        (zone, zone_id not in taken) for zone_id, zone in scene.frames.items() if zone.present
    )


def _zone_groups(
    making: Making, view: ViewFrame, zones: tuple[tuple[ZoneFrame, bool], ...]
) -> tuple[list[Group], list[Group]]:
    """Return the zones that are drawn under the parts, and those over them.

    Over them is drawn an empty one that no part can hide.
    """
    sides: tuple[list[Group], list[Group]] = ([], [])
    for zone, empty in zones:
        over = empty and not faces_viewer(zone, view)
        shapes = zone_primitives(zone, view, making.drafting, empty=empty)
        level = LEVEL_ZONE_OVER if over else LEVEL_ZONE
        sides[over].extend(_group(f"zone:{view.name}:{zone.zone.id}", level, shapes))
    return sides


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
