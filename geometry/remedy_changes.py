"""Which edits are worth a try to mend a finding, the simplest first.

Whether one helps is seen by the check of the layout that it gives (`geometry.remedies`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import ceil

from catalog.enclosure import Obstacle, ObstacleState
from catalog.parts import Exchanger, Part
from geometry.checks.bolting import slide_room
from geometry.checks.words import called, mm_text, move_text, slide_text
from geometry.edits import (
    flip_port_end,
    move_free,
    new_holes_note,
    next_thickness,
    set_air,
    set_slide,
    set_state,
    state_words,
    turn_over,
)
from geometry.finding import Finding
from geometry.layout import FreePart, Item, Layout, Stack
from geometry.measures.overlap import Shift
from geometry.measures.pose import Vec, Way
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.search.mending.stack_changes import fan_plans
from geometry.stack_sides import out_way

Key = tuple[str, str]


@dataclass(frozen=True)
class Change:
    """An edit to try; a `last_resort` only when nothing simpler has helped.

    `of_port` is the part whose port side it moves, for the word on what it gives; `doing` says
    the same edit in a clause, for one that is not advised; `why` follows on what it gives, where
    its figure is more than the finding says is missing. `touches` is what it changes where the
    name does not tell: two things may have the same name.
    """

    name: str
    edit: Callable[[Layout], Layout]
    of_port: str | None = None
    doing: str = ""
    last_resort: bool = False
    why: str = ""
    touches: str = ""

    @property
    def key(self) -> Key:
        """What tells it from the other changes of a layout."""
        return self.name, self.touches


def changes_for(scene: Scene, finding: Finding) -> Iterator[Change]:
    """Yield the edits worth a try for a finding, the simplest first."""
    if finding.kind == "slide":
        yield from _slide_back(scene, finding)
        return
    if finding.kind == "air_sense":
        item = finding.ids[0]
        yield Change(f"Change the air direction of {called(scene, item)}", _air(item))
        return
    if finding.kind not in _OF_ROOM:
        return
    parts = [scene.placed[one] for one in finding.ids if one in scene.placed]
    if finding.kind == "port_end":
        for one in parts:
            yield from _port_changes(scene, one)
    yield from _moves(scene, finding)
    stacks = list(dict.fromkeys(one.stack.id for one in parts if one.stack is not None))
    for stack_id in stacks:
        yield from _slides(scene, scene.layout.stack(stack_id), finding)
    for stack_id in stacks:
        yield from _fans_on_one_face(scene, scene.layout.stack(stack_id))
    if finding.kind == "leftover_depth":
        yield from _thinner(scene, stacks)
    yield from _states(scene, finding)


_OF_ROOM = (
    "overlap", "outside_cavity", "clearance", "port_end", "leftover_depth", "plug_room",
    "worst_case",
)  # fmt: skip


def _port_changes(scene: Scene, one: Placed) -> Iterator[Change]:
    if not isinstance(one.part, Exchanger):
        return
    name, item = called(scene, one.id), one.id
    yield Change(
        f"Flip port end of {name}", lambda layout: flip_port_end(layout, item), item,
        doing=f"flipping the port end of {item}",
    )  # fmt: skip
    yield Change(
        f"Turn port face of {name}", lambda layout: turn_over(layout, item), item,
        doing=f"turning the port face of {item}",
    )  # fmt: skip
    yield Change(
        f"Flip port end and turn port face of {name}",
        lambda layout: turn_over(flip_port_end(layout, item), item),
        item,
        last_resort=True,
    )


def _moves(scene: Scene, finding: Finding) -> Iterator[Change]:
    """Yield the moves that bring free parts out of what they are in the way of, margin kept."""
    if finding.to_margin_mm is None:
        return
    mm, why = _short(scene, finding)
    if mm <= 0.0:
        return
    for part, way in _free_ways(scene, finding):
        use = scene.placed[part].use
        assert isinstance(use, FreePart)
        to = tuple(a + mm * w for a, w in zip(use.at_mm, way.vector, strict=True))
        yield Change(
            f"Move {called(scene, part)} {move_text(Shift(way, mm))}{new_holes_note(use)}",
            _move(part, (to[0], to[1], to[2])),
            why=why,
        )


def _free_ways(scene: Scene, finding: Finding) -> Iterator[tuple[str, Way]]:
    """Yield the free parts of a finding that may be moved, each with the way that parts it.

    The parting shift is that of the part at fault, the other goes the other way; where none
    shares room, what is in the way of a stack goes on along it.
    """
    frees = [one for one in finding.ids if one in scene.placed and scene.placed[one].free]
    frees = [one for one in frees if not scene.placed[one].use.locked]
    if finding.shift is not None:
        way = next(Way(k, 1 if v > 0 else -1) for k, v in enumerate(finding.shift) if v != 0.0)
        for one in frees:
            yield one, way if one == finding.ids[0] else -way
        return
    placed = (scene.placed[one] for one in finding.ids if one in scene.placed)
    item = next((one for one in placed if not one.free), None)
    if item is not None and finding.kind in ("leftover_depth", "worst_case"):
        yield from ((one, out_way(item)) for one in frees)


def _move(part: str, to: Vec) -> Callable[[Layout], Layout]:
    return lambda layout: move_free(layout, part, to)


def _air(item: str) -> Callable[[Layout], Layout]:
    return lambda layout: set_air(layout, item, "with")


def _slides(scene: Scene, stack: Stack, finding: Finding) -> Iterator[Change]:
    """Yield slides within the slots that part the pair, by the margin or as far as they go."""
    frame = scene.frames[stack.zone]
    if finding.to_margin_mm is None:
        return
    room = [slide_room(scene.items_of(stack), along) for along in (0, 1)]
    short, why = _short(scene, finding)
    for along, way in enumerate((frame.pose.x, frame.pose.y)):
        pushed = finding.shift[way.axis] * way.sign if finding.shift is not None else 0.0
        if finding.shift is not None and pushed == 0.0:
            continue
        signs = (1.0, -1.0) if pushed == 0.0 else (1.0,) if pushed > 0 else (-1.0,)
        for sign in signs:
            # The parting shift is that of the part at fault; the other stack goes the other way.
            mine = scene.placed[finding.ids[0]].stack if finding.ids[0] in scene.placed else None
            turned = -sign if mine is None or mine.id != stack.id else sign
            slide = [stack.slide_u_mm, stack.slide_v_mm]
            slide[along] += turned * short
            if room[along].holds(slide[along]):
                yield replace(_slide_change(scene, stack, (slide[0], slide[1])), why=why)


def _short(scene: Scene, finding: Finding) -> tuple[float, str]:
    """Return what is missing to the margin (mm), and why where it is more than the finding says.

    The worst case asks for more, in whole tenths; a finding that has its margin as drawn says so.
    """
    assert finding.to_margin_mm is not None
    drawn_mm, loss_mm = -finding.to_margin_mm, _loss_mm(scene, finding)
    why = (
        f"; {mm_text(drawn_mm)} would do as drawn, {mm_text(loss_mm)} more at worst"
        if loss_mm > 0.0 < drawn_mm
        else ""
    )
    return drawn_mm + loss_mm, why


def _loss_mm(scene: Scene, finding: Finding) -> float:
    """Return how much more room the worst case asks for, in whole tenths (mm)."""
    figure = finding.tolerance
    if figure is None or scene.layout.settings.judge == "nominal":
        return 0.0
    return ceil(10 * (figure.nominal.nominal_mm - figure.worst.worst_mm) - 0.01) / 10


def _slide_change(scene: Scene, stack: Stack, to: tuple[float, float]) -> Change:
    frame, (u, v) = scene.frames[stack.zone], to
    by = slide_text(frame, (u - stack.slide_u_mm, v - stack.slide_v_mm))
    return Change(
        f"Slide the stack on {scene.name_of(stack.zone)} {by}",
        lambda layout: set_slide(layout, stack.id, u, v),
        touches=stack.id,
    )


def _slide_back(scene: Scene, finding: Finding) -> Iterator[Change]:
    stack = scene.layout.stack(finding.ids[0])
    items = scene.items_of(stack)
    u_room, v_room = slide_room(items, 0), slide_room(items, 1)
    u = min(max(stack.slide_u_mm, u_room.least_mm), u_room.most_mm)
    v = min(max(stack.slide_v_mm, v_room.least_mm), v_room.most_mm)
    yield _slide_change(scene, stack, (u, v))


def _fans_on_one_face(scene: Scene, stack: Stack) -> Iterator[Change]:
    """Yield push-pull to push and to pull, named as the search for the smallest change names it."""
    if stack.locked:
        return
    for step in fan_plans(scene, stack):
        if " from push-pull to " in step.name:
            yield Change(step.name, step.edit, last_resort=True, touches=step.touches)


def _thinner(scene: Scene, stacks: list[str]) -> Iterator[Change]:
    parts = tuple(scene.layout.parts.values())
    for stack_id in stacks:
        for one in scene.items_of(scene.layout.stack(stack_id)):
            if isinstance(one.part, Exchanger) and isinstance(one.use, Item):
                yield _thinner_change(scene, one.id, parts)


def _thinner_change(scene: Scene, item: str, parts: tuple[Part, ...]) -> Change:
    return Change(
        f"Swap {called(scene, item)} for the next thinner one",
        lambda layout: next_thickness(layout, item, parts, -1),
    )


def _states(scene: Scene, finding: Finding) -> Iterator[Change]:
    """Yield the states of obstacles in the way; taken out comes after another place.

    Where a stack is in the way, nothing is taken out if changing that helps.
    """
    stacked = any(one in scene.placed and not scene.placed[one].free for one in finding.ids)
    for obstacle in scene.layout.enclosure.obstacles:
        if obstacle.id in finding.ids:
            for state in sorted(obstacle.states, key=lambda one: one.out):
                change = _state_change(obstacle, state)
                yield replace(change, last_resort=stacked and state.out)


def _state_change(obstacle: Obstacle, state: ObstacleState) -> Change:
    return Change(
        state_words(obstacle, state),
        lambda layout: set_state(layout, obstacle.id, state.id),
        touches=obstacle.id,
    )
