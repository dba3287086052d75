"""Figures of leftover depths stand where they would if nothing were known of the drawing before."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from large_rooms import hall

from app.drawing.board import BoardFrame, BoardMemory
from app.drawing.board_making import Making, Noted, Shows
from app.drawing.depth_groups import depth_groups
from app.drawing.dimensions import Room
from app.drawing.drafting import Drafting
from app.drawing.primitives import Bounds
from geometry.checks.runner import Checked, check_layout
from geometry.finding import Finding, Leftover, Verdict

STEPS = 60


def figures(checked: Checked, room: Room, memory: BoardMemory, mm_per_px: float) -> list[Noted]:
    frame, drafting = BoardFrame.of(checked.scene.layout), Drafting.on_screen(mm_per_px)
    return list(depth_groups(Making(checked, frame, drafting, Shows(), memory), room))


def short_of(left: Leftover) -> Finding:
    """Return a finding by which a leftover depth is blocked."""
    kind, verdict = "leftover_depth", Verdict.BLOCKED
    return Finding(kind, verdict, (left.item,), "short", "", left.place, measured_mm=left.mm)


def beside(box: Bounds, rng: random.Random, drafting: Drafting) -> Bounds:
    """Return a rectangle as large as a balloon, on a figure or near it."""
    r, far = drafting.balloon_mm, 8 * drafting.cap_mm
    x = (box[0] + box[2]) / 2 + rng.uniform(-far, far)
    y = (box[1] + box[3]) / 2 + rng.uniform(-far, far)
    return (x - r, y - r, x + r, y + r)


@pytest.mark.parametrize("mm_per_px", [0.5, 2.0])
def test_what_comes_and_goes_round_figures_moves_them_as_from_nothing(mm_per_px: float) -> None:
    rng, memory = random.Random(7), BoardMemory()
    drafting = Drafting.on_screen(mm_per_px)
    checked = check_layout(hall(60), remedies=False, worst_cases=False)
    short = [short_of(depth.least) for depth in checked.report.depths[:4]]
    told = Checked(checked.scene, replace(checked.report, findings=tuple(short)))
    free = [box for _, boxes in figures(checked, Room(), BoardMemory(), mm_per_px) for box in boxes]
    pool = [beside(rng.choice(free), rng, drafting) for _ in range(40)]
    taken, spare = set(pool[:10]), set(pool[20:30])
    moved = kept = 0
    before: list[Noted] = []
    for step in range(STEPS):
        taken ^= {rng.choice(pool)}
        if step % 2:
            spare ^= {rng.choice(pool)}
        # What is found on an item may change the word behind its figure and nothing else.
        now = told if step % 7 == 6 else checked
        room = Room(tuple(sorted(taken)), tuple(sorted(spare)))
        again = figures(now, room, memory, mm_per_px)
        assert again == figures(now, room, BoardMemory(), mm_per_px)
        memory.forget_unused()
        moved += sum(one[1] != other[1] for one, other in zip(again, before, strict=False))
        kept += sum(one[0] is other[0] for one, other in zip(again, before, strict=False))
        before = again
    # Some are set elsewhere, but most stay the same objects.
    assert moved >= STEPS / 4
    assert kept >= STEPS * len(free) / 2
