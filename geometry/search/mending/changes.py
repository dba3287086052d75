"""The single changes to a layout that a fitter would try first, each with what it costs to do.

Flip or turn a part, slide a stack or put it one cell along, move a free part, put in thinner parts
or a smaller pump, take the fans off one face, put them on the other side of the plate or in another
order, move a pump to another fan, move a whole stack to another zone, take an obstacle out or cut
it. None is judged here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from catalog.enclosure import Obstacle
from catalog.parts import Part
from geometry.checks.words import called
from geometry.edits import set_state, state_words
from geometry.finding import Finding
from geometry.layout import Stack
from geometry.placement import Placed, obstacle_state
from geometry.scene import Scene
from geometry.search.mending.measured import moves, slides, trims
from geometry.search.mending.part_changes import other_thickness, smaller_pumps
from geometry.search.mending.sharing import shared_moves, shared_slides
from geometry.search.mending.stack_changes import (
    fan_plans,
    other_cells,
    other_fans,
    other_order,
    other_places,
    through_plate,
)
from geometry.search.mending.steps import Edit, Step, cheapest_first
from geometry.search.mending.turns import free_turns, stacked_turns
from geometry.search.mending.wanted import Wanted
from geometry.zone_names import zone_names

NOT_TRIED = (
    "Not tried: other fittings, plugs and screws, parts of another face, parts added, removed "
    "or lifted out of a stack, a smaller margin, and three changes at once."
)
"""What is done by hand in a layout, and is not among the changes here."""


def steps_for(
    scene: Scene,
    wanted: Wanted,
    parts: Sequence[Part],
    *,
    cutting: bool = False,
    at_once: bool = False,
) -> list[Step]:
    """Return the changes worth a try for some findings, cheapest first, each once.

    Without `cutting` none of them changes the enclosure but by the states of its obstacles. With
    `at_once` each shall mend them all, so only what all of them concern is changed.
    """
    concerned = [concerned_by(scene, finding) for finding in wanted.findings]
    named = [frozenset(finding.ids) for finding in wanted.findings]
    join = frozenset[str].intersection if at_once else frozenset[str]().union
    among = _Among(join(*concerned), join(*named)) if named else _Among()
    return cheapest_first(_all_steps(scene, wanted, parts, among, cutting=cutting))


def shares_for(scene: Scene, wanted: Wanted) -> list[Step]:
    """Return the slides and moves that do a part of what some findings miss, cheapest first."""
    concerned = _all_concerned(scene, wanted.findings)
    steps = [step for s in _stacks(scene, concerned) for step in shared_slides(scene, s, wanted)]
    for one in _free_parts(scene, concerned):
        steps += shared_moves(scene, one, wanted)
    return cheapest_first(steps)


def relaxing_steps(
    scene: Scene, wanted: Wanted, parts: Sequence[Part], *, cutting: bool
) -> list[Step]:
    """Return what may be relaxed so that a layout fits: obstacles, fans' faces, pumps, places.

    Other parts stay, and so do zones and cells: another choice of these is another option. Slides
    are told by `sliding_steps`.
    """
    findings = wanted.findings
    concerned = _all_concerned(scene, findings)
    steps: list[Step] = []
    for stack in _stacks(scene, concerned):
        steps += fan_plans(scene, stack)
        steps += through_plate(scene, stack, fans_only=True)
        for one in scene.items_of(stack):
            steps += smaller_pumps(scene, one, parts)
    for one in _free_parts(scene, concerned):
        steps += moves(scene, one, wanted)
        steps += smaller_pumps(scene, one, parts)
    steps += _states(scene, findings, concerned)
    if cutting:
        steps += _cuts(scene, wanted, concerned)
    return cheapest_first(steps)


def sliding_steps(scene: Scene, wanted: Wanted) -> list[Step]:
    """Return the slides of all stacks that some findings concern, cheapest first."""
    concerned = _stacks(scene, _all_concerned(scene, wanted.findings))
    return cheapest_first(step for one in concerned for step in slides(scene, one, wanted))


def concerned_by(scene: Scene, finding: Finding) -> frozenset[str]:
    """Return the ids of the stacks, free parts and obstacles by which a finding can be mended.

    What carries an obstacle, or the zone of a stack, is among them.
    """
    layout = scene.layout
    stacks = {stack.id: stack for stack in layout.stacks}
    found: set[str] = set()
    for one in finding.ids:
        placed = scene.placed.get(one)
        stack = stacks.get(one) if placed is None else placed.stack
        if stack is not None:
            found |= {stack.id, *_carriers(scene, scene.frames[stack.zone].zone.owner)}
        elif placed is not None:
            found.add(one)
        else:
            found.update(_carriers(scene, one))
    return frozenset(found)


def _carriers(scene: Scene, owner: str | None) -> Iterator[str]:
    """Yield an obstacle and those that carry it, nearest first; nothing for a wall."""
    obstacles = {obstacle.id: obstacle for obstacle in scene.layout.enclosure.obstacles}
    while owner in obstacles:
        yield owner
        owner = obstacles[owner].owner


@dataclass(frozen=True)
class _Among:
    """What may be changed: stacks, free parts and obstacles, and parts that lie otherwise.

    A part of a stack that is turned or put on another fan moves no other.
    """

    concerned: frozenset[str] = frozenset()
    named: frozenset[str] = frozenset()


def locked_among(scene: Scene, findings: Sequence[Finding]) -> tuple[str, ...]:
    """Name what some findings concern that is locked, and so is not changed to mend them."""
    concerned, names = _all_concerned(scene, findings), zone_names(scene.layout.enclosure)
    found: list[str] = []
    for stack in scene.layout.stacks:
        if stack.id in concerned and stack.locked:
            found.append(f"the stack on {names[stack.zone]}")
        elif stack.id in concerned:
            items = scene.items_of(stack)
            found += [called(scene, one.id) for one in items if one.use.locked]
    free = (one for one in scene.layout.free if one.id in concerned and one.locked)
    return (*found, *(called(scene, one.id) for one in free))


def _all_concerned(scene: Scene, findings: Sequence[Finding]) -> frozenset[str]:
    return frozenset().union(*(concerned_by(scene, finding) for finding in findings))


def _stacks(scene: Scene, concerned: Collection[str]) -> list[Stack]:
    """Return the unlocked stacks among what is concerned."""
    return [s for s in scene.layout.stacks if s.id in concerned and not s.locked]


def _free_parts(scene: Scene, concerned: Collection[str]) -> list[Placed]:
    """Return the free parts among what is concerned."""
    return [scene.placed[free.id] for free in scene.layout.free if free.id in concerned]


def _all_steps(
    scene: Scene,
    wanted: Wanted,
    parts: Sequence[Part],
    among: _Among,
    *,
    cutting: bool,
) -> Iterator[Step]:
    concerned = among.concerned
    for stack in _stacks(scene, concerned):
        for some in _each(wanted, {stack.id, *(one.id for one in scene.items_of(stack))}):
            yield from slides(scene, stack, some)
        for one in scene.items_of(stack):
            if one.id in among.named:
                yield from stacked_turns(scene, one)
                yield from smaller_pumps(scene, one, parts)
                yield from other_fans(scene, one)
            yield from other_thickness(scene, one, parts)
            yield from other_cells(scene, one)
        yield from fan_plans(scene, stack)
        yield from through_plate(scene, stack)
        yield from other_order(scene, stack)
        yield from other_places(scene, stack)
    for one in _free_parts(scene, concerned):
        for some in _each(wanted, {one.id}):
            yield from moves(scene, one, some)
        yield from free_turns(scene, one)
        yield from other_thickness(scene, one, parts)
        yield from smaller_pumps(scene, one, parts)
    yield from _states(scene, wanted.findings, concerned)
    if cutting:
        yield from _cuts(scene, wanted, concerned)


def _each(wanted: Wanted, mine: set[str]) -> Iterator[Wanted]:
    """Yield the findings together, and where some name a thing each of these by itself too.

    A slide or a move that mends one of them is enough where another change mends the rest.
    """
    yield wanted
    if len(wanted.findings) > 1:
        yield from (wanted.alone(one) for one in wanted.findings if mine & set(one.ids))


def _states(
    scene: Scene, findings: Sequence[Finding], concerned: Collection[str]
) -> Iterator[Step]:
    """Yield the other states of obstacles in the way, of what carries them, and of what carries
    a stack: that is not taken out, since its zone would be gone.
    """
    layout = scene.layout
    named = (one for finding in findings for one in finding.ids)
    in_the_way = {one for obstacle in named for one in _carriers(scene, obstacle)}
    for one in layout.enclosure.obstacles:
        for state in one.states if one.id in concerned else ():
            if state == obstacle_state(one, layout.states):
                continue
            if not state.out or one.id in in_the_way:
                yield Step(
                    state_words(one, state),
                    50.0 if state.out else 45.0,
                    one.id,
                    _set_state(one.id, state.id),
                    "state",
                    parts=(f"Set {one.id}: {state.id}",),
                )


def _set_state(obstacle: str, state: str) -> Edit:
    return lambda layout: set_state(layout, obstacle, state)


def _cuts(scene: Scene, wanted: Wanted, concerned: Collection[str]) -> Iterator[Step]:
    for obstacle in _in_the_way(scene, wanted.findings):
        if obstacle.id in concerned:
            yield from trims(scene, obstacle, wanted)


def _in_the_way(scene: Scene, findings: Sequence[Finding]) -> list[Obstacle]:
    named = {one for finding in findings for one in finding.ids}
    return [one for one in scene.layout.enclosure.obstacles if one.id in named]
