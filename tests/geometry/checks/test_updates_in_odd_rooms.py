"""A check that takes over from the one before says what a check from nothing says.

Sessions in odd rooms: edits, locks, parts and the room changed in place, undo; some steps are
checked on what a drag left behind, whose worst cases are not known. A session comes from its seed,
so that one that fails can be looked at again by itself.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from odd_sessions import KINDS, Session

from geometry.checks.finding_figures import depth_figure
from geometry.checks.runner import Checked, check_layout
from geometry.finding import Report
from geometry.layout import Layout
from geometry.stackup.stack_ups import Figure

SEEDS = (*range(12), 1029)
"""In the last a part changes below others that stand as before, after a drag of the room."""
STEPS = 16
MANY_SEEDS = range(1000, 1080)
MANY_STEPS = 40

DRAG_SHARE = 0.3
REMEDY_SHARE = 0.15
"""So many steps are checked with their remedies, which take longer than all else."""


def dragged(layout: Layout, before: Checked) -> Checked:
    """Return what a drag to a layout leaves behind."""
    return check_layout(layout, before, remedies=False, worst_cases=False, volumes=False)


def figures(report: Report) -> dict[object, tuple[float | None, ...]]:
    """Return what each finding and each leftover depth is at worst and most likely (mm)."""
    told: dict[object, tuple[float | None, ...]] = {
        k: _numbers(finding.tolerance) for k, finding in enumerate(report.findings)
    }
    for depth in report.depths:
        for left in depth.cells:
            key = (left.stack, left.side, left.item, left.cell)
            told[key] = _numbers(depth_figure(report, left))
    return told


def _numbers(figure: Figure | None) -> tuple[float | None, ...]:
    if figure is None:
        return ()
    return (figure.nominal.nominal_mm, figure.worst.worst_mm, figure.likely_least_mm)


def same(updated: Checked, anew: Checked, step: str) -> None:
    """Whether two checks of a layout say the same, to the last figure."""
    assert updated.report == anew.report, step
    assert [one.id for one in updated.scene.solids] == [one.id for one in anew.scene.solids], step
    assert np.array_equal(updated.scene.bounds, anew.scene.bounds), step
    mine, theirs = figures(updated.report), figures(anew.report)
    assert mine.keys() == theirs.keys(), step
    for one, numbers in mine.items():
        assert numbers == pytest.approx(theirs[one], abs=1e-6), (step, one)


def follow(seed: int, steps: int) -> Counter[str]:
    """Compare the checks of a session step by step; return what was done and found."""
    session = Session.of(seed)
    draw, seen = session.draws.random, Counter[str]()
    before: Checked | None = None
    last = session.begin
    for step in session.steps(steps):
        base, told = before, f"seed {seed}: {step.name}"
        if before is not None and draw.random() < DRAG_SHARE:
            # It ends where it was shown last, or elsewhere.
            shown = step if draw.random() < 0.5 else session.step(last)
            base, told = dragged(shown.layout, before), f"{told} after dragging: {shown.name}"
            seen["drag"] += 1
        remedies = draw.random() < REMEDY_SHARE
        updated = check_layout(step.layout, base, remedies=remedies)
        same(updated, check_layout(step.layout, remedies=remedies), told)
        seen[step.name] += 1
        seen["findings"] += len(updated.report.findings)
        seen["remedies"] += sum(len(one.remedies) for one in updated.report.findings)
        before, last = updated, step.layout
    return seen


@pytest.mark.parametrize("seed", SEEDS)
def test_a_session_is_checked_step_by_step_as_from_nothing(seed: int) -> None:
    assert follow(seed, STEPS)["findings"] > 0


@pytest.mark.nightly
@pytest.mark.parametrize("seed", MANY_SEEDS)
def test_many_long_sessions_are_checked_step_by_step_as_from_nothing(seed: int) -> None:
    assert follow(seed, MANY_STEPS).total() >= MANY_STEPS


def test_no_kind_of_step_is_rare() -> None:
    """Of 1,200 steps each kind is taken at least 12 times."""
    drawn = (step.name for seed in MANY_SEEDS[:40] for step in Session.of(seed).steps(30))
    counted = Counter(drawn)
    assert counted.keys() == {*KINDS, "undo"}
    assert min(counted.values()) >= 12, counted.most_common()[-5:]
