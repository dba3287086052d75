"""The single changes to a layout that a fitter would try first, each with what it costs to do.

Flip or turn an exchanger, slide a stack or put it one cell along, move a free part, put in thinner
parts or a smaller pump, take the fans off one face or put them on the other side of the plate,
move a pump to another fan, move a whole stack to another zone, take an obstacle out or cut it.
None is judged here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from catalog.enclosure import Obstacle
from catalog.parts import Exchanger, Fan, Part, Pump, PumpReservoir, part_cells
from catalog.shapes import cell_sizes
from geometry.checks.words import called
from geometry.edits import (
    EditError,
    flip_port_end,
    next_thickness,
    rotate,
    set_air,
    set_state,
    swap_part,
    turn_over,
)
from geometry.edits.base import need_use
from geometry.edits.body import body_bounds
from geometry.finding import Finding
from geometry.layout import Item, Layout, Stack
from geometry.placement import Placed, obstacle_state
from geometry.remedies import changes_for
from geometry.scene import Scene
from geometry.search.mending.measured import moves, slides, trims
from geometry.search.mending.stack_changes import fan_plans, other_fans, other_places, through_plate
from geometry.search.mending.steps import Edit, Step, cheapest_first


def steps_for(
    scene: Scene, findings: Sequence[Finding], parts: Sequence[Part], *, cutting: bool = False
) -> list[Step]:
    """Return the changes worth a try for some findings, cheapest first, each once.

    Without `cutting` none of them changes the enclosure but by the states of its obstacles.
    """
    return cheapest_first(_all_steps(scene, findings, parts, cutting=cutting))


def relaxing_steps(
    scene: Scene, findings: Sequence[Finding], parts: Sequence[Part], *, cutting: bool
) -> list[Step]:
    """Return what may be relaxed so that a layout fits: obstacles, fans' faces, pumps, places.

    Other parts stay, and so do zones and cells: another choice of these is another option. Slides
    are told by `sliding_steps`.
    """
    concerned = _stacks(scene, findings)
    steps: list[Step] = []
    for stack in concerned:
        steps += fan_plans(scene, stack)
        steps += through_plate(scene, stack)
        for one in scene.items_of(stack):
            steps += smaller_pumps(scene, one, parts)
    for one in _free_parts(scene, findings):
        steps += moves(scene, one, findings)
        steps += smaller_pumps(scene, one, parts)
    steps += _states(scene, findings)
    if cutting:
        steps += _cuts(scene, findings)
    return cheapest_first(steps)


def sliding_steps(scene: Scene, findings: Sequence[Finding]) -> list[Step]:
    """Return the slides of all stacks that some findings concern, cheapest first."""
    of_all = (slides(scene, stack, findings) for stack in _stacks(scene, findings))
    return cheapest_first(step for of_one in of_all for step in of_one)


def _stacks(scene: Scene, findings: Sequence[Finding]) -> list[Stack]:
    """Return the unlocked stacks that some findings concern."""
    named = dict.fromkeys(one for finding in findings for one in finding.ids)
    stacks = [scene.placed[one].stack for one in named if one in scene.placed]
    stacks += [s for s in scene.layout.stacks if s.id in named]
    return [s for s in {s.id: s for s in stacks if s is not None}.values() if not s.locked]


def _free_parts(scene: Scene, findings: Sequence[Finding]) -> list[Placed]:
    """Return the free parts that some findings concern."""
    named = dict.fromkeys(one for finding in findings for one in finding.ids)
    return [scene.placed[one] for one in named if one in scene.placed and scene.placed[one].free]


def _all_steps(
    scene: Scene, findings: Sequence[Finding], parts: Sequence[Part], *, cutting: bool
) -> Iterator[Step]:
    for stack in _stacks(scene, findings):
        yield from slides(scene, stack, findings)
        for one in scene.items_of(stack):
            yield from _on_item(scene, one, parts)
            yield from smaller_pumps(scene, one, parts)
            yield from other_fans(scene, one)
        yield from fan_plans(scene, stack)
        yield from through_plate(scene, stack)
        yield from other_places(scene, stack)
    for one in _free_parts(scene, findings):
        yield from moves(scene, one, findings)
        yield from smaller_pumps(scene, one, parts)
    for finding in findings:
        for change in changes_for(scene, finding):
            if not change.name.startswith(LOOKED_FOR_HERE):
                parts_of = _parts_of(change.name)
                yield Step(change.name, 30.0, finding.ids[0], change.edit, "turn", parts=parts_of)
    yield from _states(scene, findings)
    if cutting:
        yield from _cuts(scene, findings)


LOOKED_FOR_HERE = ("Slide ", "Move ", "Set ", "Swap ")
"""So begin changes that a finding offers too, and that are looked for here more closely."""


def _states(scene: Scene, findings: Sequence[Finding]) -> Iterator[Step]:
    """Yield the other states of the obstacles that are in the way, and of what carries them."""
    layout = scene.layout
    obstacles = {obstacle.id: obstacle for obstacle in layout.enclosure.obstacles}
    for obstacle in _in_the_way(scene, findings):
        carried_by: str | None = obstacle.id
        while carried_by in obstacles:
            one = obstacles[carried_by]
            for state in one.states:
                if state != obstacle_state(one, layout.states):
                    yield Step(
                        f"Take out {one.name}" if state.out else f"Set {one.name}: {state.name}",
                        50.0 if state.out else 45.0,
                        one.id,
                        _set_state(one.id, state.id),
                        "state",
                        parts=(f"Set {one.id}: {state.id}",),
                    )
            carried_by = one.owner


def _cuts(scene: Scene, findings: Sequence[Finding]) -> Iterator[Step]:
    for obstacle in _in_the_way(scene, findings):
        yield from trims(scene, obstacle)


def _in_the_way(scene: Scene, findings: Sequence[Finding]) -> list[Obstacle]:
    named = {one for finding in findings for one in finding.ids}
    return [one for one in scene.layout.enclosure.obstacles if one.id in named]


def _parts_of(name: str) -> tuple[str, ...]:
    """Return the names of the flip and the turn of which a change is made; none for others."""
    both = "Flip port end and turn port face of "
    if not name.startswith(both):
        return ()
    what = name.removeprefix(both)
    return (f"Flip port end of {what}", f"Turn port face of {what}")


def _on_item(scene: Scene, one: Placed, parts: Sequence[Part]) -> Iterator[Step]:
    if not isinstance(one.use, Item) or one.use.locked:
        return
    name, item = called(scene, one.id), one.id
    if isinstance(one.part, Exchanger):
        yield Step(
            f"Flip port end of {name}", 5.0, item, lambda lay: flip_port_end(lay, item), "turn"
        )
        yield Step(f"Turn port face of {name}", 6.0, item, lambda lay: turn_over(lay, item), "turn")
        yield from _thinner(scene.layout, (item,), name, parts, 20.0)
    if isinstance(one.part, Fan):
        if one.use.air == "against":
            yield Step(
                f"Change the air direction of {name}",
                2.0,
                item,
                lambda lay: set_air(lay, item, "with"),
                "turn",
            )
        layer = one.layer
        if layer is not None and layer.items[0].id == item:
            ids = tuple(i.id for i in layer.items)
            which = f"{name} and the fans beside it" if len(ids) > 1 else name
            yield from _thinner(scene.layout, ids, which, parts, 15.0)
    if isinstance(one.part, Pump | PumpReservoir):
        for turns in (1, 2, 3):
            yield Step(
                f"Turn {name} by {90 * turns} degrees",
                4.0 + turns % 2,
                item,
                lambda lay, n=turns: rotate(lay, item, n),  # type: ignore[misc]
                "turn",
            )


MOST_THINNER = 3
"""So many thicknesses below are looked at."""


def _thinner(
    layout: Layout, ids: tuple[str, ...], name: str, parts: Sequence[Part], cost: float
) -> Iterator[Step]:
    """Yield the swaps of parts alike for the next thinner ones, and for those below these."""
    passed: tuple[str, ...] = ()
    for _ in range(MOST_THINNER):
        try:
            for item in ids:
                layout = next_thickness(layout, item, parts, -1)
        except EditError:
            return
        part = layout.part(need_use(layout, ids[0]).part)
        passed = (*passed, f"Swap {ids[0]} for {part.id}")
        yield Step(
            f"Swap {name} for {part.name}",
            cost + len(passed) - 1,
            ids[0],
            _swapped(ids, part),
            "part",
            parts=passed,
        )


def _swapped(ids: tuple[str, ...], part: Part) -> Edit:
    def swapped(layout: Layout) -> Layout:
        for item in ids:
            layout = swap_part(layout, item, part)
        return layout

    return swapped


def smaller_pumps(scene: Scene, one: Placed, parts: Sequence[Part]) -> Iterator[Step]:
    """Yield the swaps of a pump for smaller ones that are held alike, the next smaller first."""
    if not isinstance(one.part, Pump | PumpReservoir) or one.use.locked:
        return
    mine = _size_mm3(one.part)
    smaller = sorted(
        (
            p
            for p in parts
            if isinstance(p, type(one.part)) and _held_alike(p, one.part) and _size_mm3(p) < mine
        ),
        key=lambda p: (-_size_mm3(p), p.id),
    )
    passed: tuple[str, ...] = ()
    for part in smaller[:MOST_THINNER]:
        passed = (*passed, f"Swap {one.id} for {part.id}")
        yield Step(
            f"Swap {called(scene, one.id)} for {part.name}",
            18.0 + len(passed) - 1,
            one.id,
            _swapped((one.id,), part),
            "pump",
            parts=passed,
        )


def _size_mm3(part: Part) -> float:
    least, most = body_bounds(part)
    return (most[0] - least[0]) * (most[1] - least[1]) * (most[2] - least[2])


def _held_alike(one: Part, other: Part) -> bool:
    """Whether two parts have the same holes, or none."""
    mine, theirs = (cell_sizes(part_cells(p)) for p in (one, other))
    return bool(mine & theirs) if mine or theirs else True


def _set_state(obstacle: str, state: str) -> Edit:
    return lambda layout: set_state(layout, obstacle, state)
