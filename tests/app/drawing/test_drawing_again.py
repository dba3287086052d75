"""A drawing made from what is known of the last one is the drawing made from nothing.

Every group is compared, so bodies, hidden edges, names, dimensions, leftover depths, marks and
balloons alike: nothing may differ, places of labels neither.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from large_rooms import hall

import app.drawing.owners as owners_module
from app.demo import demo_layout
from app.drawing.annotations import Crowd
from app.drawing.board import (
    BoardFrame,
    BoardMemory,
    BoardSettings,
    board_drawing,
    board_steps,
)
from app.drawing.board_making import Shows
from app.drawing.owners import Shown, owners_of
from catalog.store import Library
from geometry.checks.runner import Checked, check_layout
from geometry.edits import move_free, rotate, set_slide
from geometry.finding import Finding, Verdict
from geometry.layout import Layout
from geometry.scene import Scene

BLOCKED = Finding("overlap", Verdict.BLOCKED, (), "", "", (0.0, 0.0, 0.0))
Walk = Callable[[Layout, random.Random], Iterator[Layout]]


def some_free_parts(layout: Layout, rng: random.Random) -> Iterator[Layout]:
    """Yield layouts in which one free part after the other goes about in all directions."""
    for one in rng.sample(layout.free, min(3, len(layout.free))):
        x, y, z = one.at_mm
        for _ in range(6):
            x, y, z = (at + rng.choice((-37.0, -3.0, 0.0, 2.0, 41.0)) for at in (x, y, z))
            layout = move_free(layout, one.id, (x, y, z))
            yield layout


def some_stacks(layout: Layout, rng: random.Random) -> Iterator[Layout]:
    """Yield layouts in which stacks slide in their slots."""
    for stack in rng.sample(layout.stacks, min(3, len(layout.stacks))):
        for u_mm in (1.0, 3.0, -2.0, 0.0):
            layout = set_slide(layout, stack.id, u_mm, 0.0)
            yield layout


def some_turned_parts(layout: Layout, rng: random.Random) -> Iterator[Layout]:
    """Yield layouts in which free parts turn, so that names which fitted no longer do."""
    for one in rng.sample(layout.free, min(4, len(layout.free))):
        for about in ("+x", "+y", "+z", "+x"):
            layout = rotate(layout, one.id, 1, about)
            yield layout


def some_turnover(layout: Layout, rng: random.Random) -> Iterator[Layout]:
    """Yield layouts from which stacks go, to which they come back, and in which they change places.

    What one leaves over may then be dimensioned before or after that of another one.
    """
    for stack in rng.sample(layout.stacks, min(3, len(layout.stacks))):
        rest = [other for other in layout.stacks if other is not stack]
        yield layout.but(stacks=tuple(rest))
        yield layout
        yield layout.but(stacks=(*rest, stack))
    yield layout.but(stacks=layout.stacks[::-1])


def checks(layout: Layout, walk: Walk, seed: int) -> Iterator[Checked]:
    checked = check_layout(layout, remedies=False, worst_cases=False)
    yield checked
    for moved in walk(layout, random.Random(seed)):
        checked = check_layout(moved, checked, remedies=False, worst_cases=False)
        yield checked


@pytest.mark.parametrize("walk", [some_free_parts, some_stacks, some_turned_parts, some_turnover])
@pytest.mark.parametrize("parts", [0, 60])
@pytest.mark.parametrize("mm_per_px", [0.4, 1.2])
def test_a_drawing_made_from_the_last_one_is_that_made_from_nothing(
    walk: Walk, parts: int, mm_per_px: float
) -> None:
    layout = hall(parts) if parts else demo_layout(Library())
    frame = BoardFrame.of(layout, BoardSettings(end_view=parts == 0))
    sheet = frame.bounds if mm_per_px > 1.0 else None
    memory, steps = BoardMemory(), 0
    for checked in checks(layout, walk, seed=len(layout.enclosure.id) + parts):
        selection = frozenset([layout.free[0].id, layout.stacks[0].id])
        shown = Shows(selection & {one.id for one in (*checked.scene.layout.stacks, *layout.free)})
        again = board_drawing(checked, frame, mm_per_px, shown, memory=memory, sheet=sheet)
        anew = board_drawing(checked, frame, mm_per_px, shown, sheet=sheet)
        by_key = {group.key: group for group in anew.groups}
        for group in again.groups:
            assert group == by_key[group.key]
        assert again == anew
        steps += 1
    assert steps >= 5


@pytest.mark.parametrize("walk", [some_free_parts, some_stacks])
def test_drawings_left_off_leave_nothing_behind_in_the_next_one(walk: Walk) -> None:
    layout, rng, memory = hall(60), random.Random(5), BoardMemory()
    frame = BoardFrame.of(layout, BoardSettings())
    left_off = 0
    for number, checked in enumerate(checks(layout, walk, seed=5)):
        if number % 3:
            view = rng.choice(("side", "bottom"))
            before = memory.last(f"standing:{view}")
            for _ in board_steps(checked, frame, 0.6, Shows(), memory):
                # Left off once it is known how the owners of a view stand, and before they are.
                if memory.last(f"standing:{view}") is not before:
                    left_off += 1
                    break
        else:
            again = board_drawing(checked, frame, 0.6, memory=memory)
            assert again == board_drawing(checked, frame, 0.6)
    assert left_off >= 4


def test_only_owners_that_moved_are_looked_at_again(monkeypatch: pytest.MonkeyPatch) -> None:
    looked_at: list[str] = []
    plain = owners_module._as_before

    def counted(scene: Scene, owner: str, old: Shown | None) -> Shown:
        looked_at.append(owner)
        return plain(scene, owner, old)

    monkeypatch.setattr(owners_module, "_as_before", counted)
    memory, before, moves = BoardMemory(), None, 0
    for checked in checks(hall(60), some_free_parts, seed=4):
        looked_at.clear()
        owners = owners_of(checked.scene, memory)
        memory.forget_unused()
        if before is None:
            assert set(looked_at) == set(checked.scene.placed)
        else:
            since = checked.scene.since_then(before.scene)
            assert since is not None
            assert set(looked_at) == since.moved
            moves += bool(since.moved)
        assert [(one.owner, one.solids) for one in owners] == [
            (one.owner, one.solids) for one in owners_of(checked.scene)
        ]
        before = checked
    assert moves >= 4


@pytest.mark.parametrize("walk", [some_free_parts, some_stacks, some_turnover])
def test_who_stands_before_a_place_is_told_as_from_nothing(walk: Walk) -> None:
    layout, memory, changed = hall(60), BoardMemory(), 0
    frame = BoardFrame.of(layout, BoardSettings())
    places: list[Finding] = []
    crowd, counted = None, [[0]]
    for checked in checks(layout, walk, seed=3):
        owners = owners_of(checked.scene, memory)
        memory.forget_unused()
        crowd = Crowd(owners, crowd)
        # Just within two corners of each part where it stands at first.
        places = places or [
            replace(BLOCKED, place=(x + by, y + by, z + by))
            for one in owners
            for (x, y, z), by in ((one.bounds[:3], 0.5), (one.bounds[3:], -0.5))
        ]
        again = crowd.before(places, frame)
        assert again == Crowd(owners).before(places, frame)
        changed += again != counted
        counted = again
    assert changed >= 4
