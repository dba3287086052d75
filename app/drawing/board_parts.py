"""The parts of the board: walls, zones and solids of each view, with hidden edges and names.

What is known of an owner in a view is kept from drawing to drawing. When a part moves, those that
it does not touch are as they were, and of those that it touches only what it changes is made anew.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain, compress
from operator import attrgetter, is_not, or_
from typing import TYPE_CHECKING, NamedTuple

from app.drawing.board_making import (
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
from app.drawing.hidden import Hidden, hidden_edges
from app.drawing.labels import (
    Setting,
    Spots,
    first_free,
    hurdles_before,
    label_patch,
    label_settings,
    label_spots,
)
from app.drawing.memory import Same
from app.drawing.primitives import Bounds, Group, Ink, Primitive
from app.drawing.rectangle_meetings import Standing, crossed, met, standing
from app.drawing.room import (
    Hurdles,
    faces_viewer,
    wall_primitives,
    zone_edge_label,
    zone_label,
    zone_primitives,
)
from app.drawing.silhouettes import drawn
from app.drawing.views import body_primitives, keep_out_primitives
from geometry.zone_names import zone_names

if TYPE_CHECKING:
    from app.drawing.annotations import Crowd
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Seen, Shown
    from geometry.placement import ZoneFrame

STEP_MADE = 32
"""After how many owners made anew one may pause."""


def view_groups(
    making: Making,
    view: ViewFrame,
    crowd: Crowd,
    annotated: tuple[Bounds, ...],
    leaders: tuple[Line, ...],
) -> Generator[None, None, list[Group]]:
    """Return the groups of one view, with pauses; the crowd's owners are painted from far to near.

    Labels keep clear of the rectangles `annotated` and of `leaders`.
    """
    bodies, names = yield from _owners(making, view, crowd.owners, annotated, leaders)
    zones = _zones(making)
    under, over = making.memory.get(
        f"zones:{view.name}",
        (Same(zones), view, making.drafting),
        lambda: _zone_groups(making, view, zones),
    )
    groups = [_walls(making, view), *under]
    for level in (_BODIES, _EDGES, _KEEP_OUTS):
        groups.extend(chain.from_iterable(map(level, bodies)))
    groups.extend(over)
    groups.extend(chain.from_iterable(map(_LABEL, names)))
    taken = (*annotated, *chain.from_iterable(map(_BOX, names)))
    enclosure = making.checked.scene.layout.enclosure
    called = making.memory.get("zone-names", Same(enclosure), lambda: zone_names(enclosure))
    for zone in (zone for zone, empty in zones if empty):
        name = called[zone.zone.id]
        groups.extend(_zone_name(making, view, zone, name, Hurdles(taken, leaders)))
    groups.extend(_selected(making, view, crowd))
    return groups


class _Body(NamedTuple):
    """What shows of an owner in a view beside its name; `over` is what hides it.

    Its name would fit in the `settings` if nothing stood before it; `spots` are where it may stand
    off what does. None where it finds no room at all.
    """

    shown: Shown
    over: tuple[Seen, ...]
    hidden: Hidden
    settings: tuple[Setting, ...]
    hurdles: tuple[Bounds, ...]
    spots: Spots | None
    bodies: tuple[Group, ...]
    edges: tuple[Group, ...]
    keep_outs: tuple[Group, ...]


class _Name(NamedTuple):
    """The name of an owner at the first of its `spots` that is off what is written over it.

    That is `taken` and `lines` of annotations; `box` is where the name stands.
    """

    spots: Spots | None
    taken: tuple[Bounds, ...]
    lines: tuple[Line, ...]
    label: tuple[Group, ...]
    box: tuple[Bounds, ...]


_BODIES, _EDGES, _KEEP_OUTS = (attrgetter(name) for name in ("bodies", "edges", "keep_outs"))
_LABEL, _BOX, _SHOWN = (attrgetter(name) for name in ("label", "box", "shown"))


@dataclass(frozen=True, eq=False)
class _Known:
    """The owners of a view as they were drawn last, with the view and the sizes of annotation.

    `places` are those at which they stood. There are `names` of those that have room for one;
    `written_over` are those over which something else is written.
    """

    view: ViewFrame
    drafting: Drafting
    places: Mapping[Shown, int]
    bodies: Mapping[Shown, _Body]
    names: Mapping[Shown, _Name]
    written_over: frozenset[Shown] = frozenset()


def _owners(
    making: Making,
    view: ViewFrame,
    owners: tuple[Shown, ...],
    annotated: tuple[Bounds, ...],
    leaders: tuple[Line, ...],
) -> Generator[None, None, tuple[list[_Body], list[_Name]]]:
    """Return the owners of a view and their names, those round which nothing changed as before."""
    memory, drafting = making.memory, making.drafting
    stands = memory.get(
        f"standing:{view.name}",
        (owners, Same(view)),
        lambda: standing(owners, view, memory.last(f"standing:{view.name}")),
    )
    yield
    known: _Known | None = memory.last(f"owners:{view.name}")
    if known is None or known.view is not view or known.drafting != drafting:
        known = _Known(view, drafting, {}, {}, {})
    bodies = yield from _all_bodies(making, stands, known)
    named = [body for body in bodies if body.spots is not None]
    names, written_over = yield from _all_names(making, stands, named, known, annotated, leaders)
    memory.keep(
        f"owners:{view.name}",
        _Known(
            view,
            drafting,
            stands.places,
            dict(zip(stands.ordered, bodies, strict=True)),
            dict(zip(map(_SHOWN, named), names, strict=True)),
            written_over,
        ),
    )
    return bodies, names


def _all_bodies(
    making: Making, stands: Standing, known: _Known
) -> Generator[None, None, list[_Body]]:
    """Return all owners of a view, from far to near, with pauses."""
    drafting, over = making.drafting, stands.over
    found = list(map(known.bodies.get, stands.ordered))
    anew = [
        place
        for place in stands.anew_since(known.places)
        for old in (found[place],)
        if old is None or old.over != over[place]
    ]
    for start in range(0, len(anew), STEP_MADE):
        places = anew[start : start + STEP_MADE]
        was = [found[place] for place in places]
        near = [hurdles_before(stands.seen[place], over[place]) for place in places]
        edges = hidden_edges(
            stands, places, near, [old.hidden if old is not None else None for old in was], drafting
        )
        for place, hurdles, hidden, old in zip(places, near, edges, was, strict=True):
            shown = stands.ordered[place]
            found[place] = _body(shown, over[place], hurdles, hidden, old, stands.view, drafting)
        making.memory.remade += len(places)
        yield
    return [body for body in found if body is not None]


def _body(
    shown: Shown,
    over: tuple[Seen, ...],
    hurdles: tuple[Bounds, ...],
    hidden: Hidden,
    old: _Body | None,
    view: ViewFrame,
    drafting: Drafting,
) -> _Body:
    """Return what shows of an owner; of what it was before, that of which nothing changed."""
    place = f"{view.name}:{shown.owner}"
    if old is not None and hidden.primitives is old.hidden.primitives:
        edges = old.edges
    else:
        edges = _group(f"hidden:{place}", LEVEL_HIDDEN, hidden.primitives)
    if old is not None:
        settings, bodies, keep_outs = old.settings, old.bodies, old.keep_outs
    else:
        settings = label_settings(shown, view, drafting)
        bodies = _group(f"solid:{place}", LEVEL_SOLID, body_primitives(shown, view, drafting))
        rooms = keep_out_primitives(shown.solids, view, drafting)
        keep_outs = _group(f"keep-out:{place}", LEVEL_KEEP_OUT, rooms)
    spots = None
    if settings:
        spots = old.spots if old is not None and hurdles == old.hurdles else None
        spots = spots or Spots(label_spots(shown, settings, hurdles, view, drafting))
    return _Body(shown, over, hidden, settings, hurdles, spots, bodies, edges, keep_outs)


def _all_names(
    making: Making,
    stands: Standing,
    named: list[_Body],
    known: _Known,
    annotated: tuple[Bounds, ...],
    leaders: tuple[Line, ...],
) -> Generator[None, None, tuple[list[_Name], frozenset[Shown]]]:
    """Return the names of owners that have room for one, off what is written over them.

    And those over which anything is.
    """
    every = list(map(_SHOWN, named))
    boxes = stands.boxes[list(map(stands.places.__getitem__, every))]
    near, passing = met(boxes, annotated), crossed(boxes, leaders)
    yield
    names = list(map(known.names.get, every))
    anew = map(is_not, named, map(known.bodies.get, every))
    over_before = map(known.written_over.__contains__, every)
    touched = compress(range(len(named)), map(or_, anew, over_before))
    for place in {*touched, *near, *passing}:
        body, old = named[place], names[place]
        taken = tuple([annotated[k] for k in near[place]]) if place in near else ()
        lines = tuple([leaders[k] for k in passing[place]]) if place in passing else ()
        if old is None or (old.spots, old.taken, old.lines) != (body.spots, taken, lines):
            names[place] = _name(body, taken, lines, stands.view)
            making.memory.remade += 1
    over_now = frozenset([every[place] for place in (*near, *passing)])
    return [name for name in names if name is not None], over_now


def _name(
    body: _Body, taken: tuple[Bounds, ...], lines: tuple[Line, ...], view: ViewFrame
) -> _Name:
    """Return the name of an owner where that is free, if it is anywhere."""
    spots = body.spots
    spot = first_free(spots or (), taken, lines)
    if spot is None:
        return _Name(spots, taken, lines, (), ())
    key = f"label:{view.name}:{body.shown.owner}"
    label = Group(key, (label_patch(spot.box, body.shown.ink), spot.text), LEVEL_LABEL)
    return _Name(spots, taken, lines, (label,), (spot.box,))


def _group(key: str, level: int, primitives: tuple[Primitive, ...]) -> tuple[Group, ...]:
    """Return a group; nothing to draw gives none."""
    return (Group(key, primitives, level),) if primitives else ()


def _selected(making: Making, view: ViewFrame, crowd: Crowd) -> Iterator[Group]:
    line = making.drafting.wide(Ink.SELECTION)
    for shown in crowd.those(making.shows.selection):
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
    taken = frozenset([stack.zone for stack in scene.layout.stacks if stack.inner or stack.outer])
    zones: tuple[tuple[ZoneFrame, bool], ...] = making.memory.get(
        "zones",
        (Same(scene.frames), taken),
        lambda: tuple(
            (zone, zone_id not in taken) for zone_id, zone in scene.frames.items() if zone.present
        ),
    )
    return zones


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
    making: Making,
    view: ViewFrame,
    zone: ZoneFrame,
    name: str,
    hurdles: Hurdles,
) -> Iterator[Group]:
    views = making.frame.views
    drafting = making.drafting
    if any(one.toward.axis == zone.inward.axis for one in views):
        text = zone_label(zone, name, view, drafting, hurdles)
    elif view == views[0]:  # a zone that no view shows face on is named once, beside its line
        text = zone_edge_label(zone, name, view, drafting, hurdles)
    else:
        text = None
    if text is not None:
        yield Group(f"zone-name:{view.name}:{zone.zone.id}", (text,), LEVEL_LABEL)
