"""Drags in the shipped enclosures, filled: a check after each step equals one from nothing.

Each step is one that a drag makes: a stack slides in its slots, an item goes to another place of a
stack or comes out of it, a free part moves or goes into a stack, and the drag goes back to where it
began. Findings are compared in their order.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest
from filled_rooms import filled

from catalog.store import SHIPPED_ENCLOSURES, Library
from geometry.checks.runner import Checked, check_layout
from geometry.drop import Aim, Carried, Drop, DropPlaces, best_drop
from geometry.edits import EditError, move_free, set_slide
from geometry.layout import Layout
from geometry.scene import Scene

STEPS = 10
SEED = 61_405


@pytest.fixture(scope="module", params=SHIPPED_ENCLOSURES)
def room(request: pytest.FixtureRequest) -> Scene:
    return filled(Library(), request.param)


def steps(scene: Scene, rng: random.Random) -> Iterator[Layout]:
    """Yield what a few drags show, each made from the layout in which it began."""
    begin = scene.layout
    while True:
        stack = rng.choice(begin.stacks)
        item = rng.choice(scene.items_of(stack))
        free = rng.choice(begin.free).id if begin.free else None
        places = DropPlaces(scene, item.part, item.id).every()
        made = [
            lambda s=stack: set_slide(begin, s.id, rng.uniform(-9, 9), rng.uniform(-9, 9)),
            lambda i=item: Drop(i.part, i.id, at_mm=_somewhere(scene, rng)).edit(begin)[0],
            lambda f=free: move_free(begin, f, _somewhere(scene, rng)) if f else begin,
            lambda: begin,
        ]
        made += [
            lambda i=item, t=target: Drop(i.part, i.id, target=t).edit(begin)[0]
            for target in rng.sample(places, min(2, len(places)))
        ]
        for edit in rng.sample(made, len(made)):
            try:
                yield edit()
            except EditError:
                continue


def _somewhere(scene: Scene, rng: random.Random) -> tuple[float, float, float]:
    room = scene.walls.cavity
    x, y, z = (round(rng.uniform(room[k], room[k + 3]), 1) for k in range(3))
    return x, y, z


@pytest.mark.parametrize("judge", ["nominal", "worst case"])
def test_a_check_after_each_step_of_a_drag_equals_one_from_nothing(room: Scene, judge: str) -> None:
    rng = random.Random(SEED)
    settings = room.layout.settings.but(judge=judge)
    scene = check_layout(room.layout.but(settings=settings), remedies=False).scene
    checked: Checked | None = None
    kinds = set()
    drags = steps(scene, rng)
    for _ in range(STEPS if judge == "nominal" else 3):
        layout = next(drags)
        checked = check_layout(layout, checked, remedies=False)
        again = check_layout(layout, remedies=False)
        assert checked.report == again.report
        assert list(checked.scene.placed) == list(again.scene.placed)
        assert [s.id for s in checked.scene.solids] == [s.id for s in again.scene.solids]
        assert (checked.scene.bounds == again.scene.bounds).all()
        kinds |= {finding.kind for finding in checked.report.findings}
    # What is compared says something: parts share room, and stacks have a depth.
    assert {"leftover_depth", "overlap"} <= kinds


def test_places_near_the_pointer_are_those_among_all(room: Scene) -> None:
    rng = random.Random(SEED)
    taken = 0
    for _ in range(5):
        item = rng.choice(room.items_of(rng.choice(room.layout.stacks)))
        moving = rng.choice((item.id, None))
        every = DropPlaces(room, item.part, moving).every()
        near = DropPlaces(room, item.part, moving)
        for _ in range(12):
            axis = rng.randrange(3)
            at = list(_somewhere(room, rng))
            if every and rng.random() < 0.7:
                at = [v + rng.uniform(-60, 60) for v in rng.choice(every).middle]
            point = tuple(None if k == axis else v for k, v in enumerate(at))
            drops = [
                best_drop(room, Carried(item.part, moving), Aim(axis, point), targets=targets)
                for targets in (every, near, None)
            ]
            assert drops[1] == drops[0]
            assert drops[2] == drops[0]
            taken += drops[0].target is not None
    assert taken > 9
