"""Mends in odd rooms in which one obstacle is in the way of several things.

Each listed change clears what it says, by no more than it takes, and no bare single change does
where pairs or nothing are listed.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import pytest
from struck_rooms import (
    BEAM,
    Fault,
    Struck,
    beam_of,
    beam_trims,
    single_changes,
    struck_room,
    with_beam,
    with_place,
    with_slide,
)

from geometry.checks.runner import check_layout
from geometry.finding import Report, Verdict
from geometry.layout import Layout
from geometry.measures.pose import Vec
from geometry.remedies import fault_key, faults, new_faults
from geometry.search.mending.mend import Mend, mends

LESS_MM = 0.2


def cleared(struck: Struck, changed: Layout) -> frozenset[Fault]:
    """Return what of the faults a changed layout no longer has; none where others came."""
    report = check_layout(changed, struck.checked, remedies=False, volumes="none").report
    before = struck.checked.report
    if new_faults(before, report):
        return frozenset()
    return frozenset(
        key for key in faults(before).keys() - faults(report) if not hidden(key, before, report)
    )


def hidden(key: Fault, before: Report, after: Report) -> bool:
    """Whether a fault is not told any more for another of the same things, and is there still."""
    assert after.survey is not None
    told = {kind for kind, ids in faults(before) if key[1] <= ids} - {key[0]}
    short = after.survey.kinds.items()
    return any(kind and kind not in told and {a.owner, b.owner} == key[1] for (a, b), kind in short)


def lessened(base: Layout, mend: Mend) -> Iterator[tuple[str, Layout]]:
    """Yield what a change gives with one of its amounts a little less."""
    after = mend.layout
    slid = any(step.startswith("Slide ") for step in mend.steps)
    moved = any(step.startswith("Move ") and " mm " in step for step in mend.steps)
    for old, new in zip(base.stacks, after.stacks, strict=slid):
        if slid and old.id == new.id and old.zone == new.zone:
            u, v = new.slide_u_mm, new.slide_v_mm
            for name, less in (
                ("u", (_nearer(u, old.slide_u_mm), v)),
                ("v", (u, _nearer(v, old.slide_v_mm))),
            ):
                if less != (u, v):
                    yield f"{old.id} {name}", with_slide(after, new, *less)
    for was, now in zip(base.free, after.free, strict=moved):
        if moved and _one_axis(was.at_mm, now.at_mm):
            at = [_nearer(b, a) for a, b in zip(was.at_mm, now.at_mm, strict=True)]
            if tuple(at) != now.at_mm:
                yield was.id, with_place(after, was.id, (at[0], at[1], at[2]))
    if any(step.startswith(f"Trim {BEAM} ") for step in mend.steps):
        whole, left = beam_of(base), beam_of(after)
        for k in range(3):
            low, high = left.at_mm[k], left.at_mm[k] + left.size_mm[k]
            first, last = whole.at_mm[k], whole.at_mm[k] + whole.size_mm[k]
            nearer = _nearer(low, first), _nearer(high, last)
            if nearer != (low, high):
                yield f"trim {k}", with_beam(after, k, *nearer)


def _nearer(mm: float, to_mm: float) -> float:
    """Return a figure a little nearer to what it was, where it is farther than that."""
    if abs(mm - to_mm) <= LESS_MM + 1e-6:
        return mm
    return mm - LESS_MM if mm > to_mm else mm + LESS_MM


def _one_axis(was: Vec, now: Vec) -> bool:
    return sum(abs(a - b) > 1e-6 for a, b in zip(was, now, strict=True)) == 1


def wrong_with(struck: Struck, goal: frozenset[Fault], found: tuple[Mend, ...]) -> list[str]:
    """Return what is wrong with the changes listed for some faults, nothing where all is well."""
    base = struck.checked.scene.layout
    told = [f for f in struck.checked.report.findings if f.verdict is not Verdict.CLEAR]
    wrong: list[str] = []
    whole = False
    for mend in found:
        gone = cleared(struck, mend.layout)
        if gone != frozenset(fault_key(told[n - 1]) for n in mend.clears):
            wrong.append(f"{mend.name}: clears {sorted(map(str, gone))}")
        asked = goal & gone
        whole |= asked == goal
        if not asked:
            wrong.append(f"{mend.name}: leaves all that was asked for")
        wrong += [
            f"{mend.name}: less at {what} does"
            for what, changed in lessened(base, mend)
            if cleared(struck, changed) >= asked
        ]
    trims = [m for m in found if len(m.steps) == 1 and m.steps[0].startswith(f"Trim {BEAM} ")]
    for mend in trims:
        off_mm = float(mend.steps[0].split(" by ")[1].split(" mm")[0])
        asked = goal & cleared(struck, mend.layout)
        wrong += [
            f"{mend.name}: {name} does"
            for less_mm in (off_mm - LESS_MM, off_mm / 2)
            for name, changed in (beam_trims(base, less_mm) if less_mm > 0.05 else ())
            if cleared(struck, changed) >= asked
        ]
    if not whole or any(len(mend.steps) > 1 and not mend.cuts for mend in found):
        wrong += [
            f"{name} does, listed are {[mend.name for mend in found]}"
            for name, changed in single_changes(base, struck.parts, cutting=not whole)
            if cleared(struck, changed) >= goal
        ]
    layouts = [mend.layout for mend in found]
    wrong += [f"{m.name} twice" for k, m in enumerate(found) if m.layout in layouts[:k]]
    return wrong


def looked_at(seed: int) -> list[str] | None:
    """Return what is wrong with what is listed in the room of a seed; None where it has no case."""
    struck = struck_room(seed)
    if struck is None:
        return None
    asked = Random(seed).choice([None, *struck.at_beam])
    told = faults(struck.checked.report)
    goal = frozenset(told) if asked is None else frozenset({asked})
    finding = None if asked is None else told[asked]
    *_, last = mends(struck.checked, struck.parts, finding, cutting=True)
    return wrong_with(struck, goal, last.found)


@pytest.mark.parametrize("seed", [39, 161, 177, 183, 244, 351, 106])
def test_changes_are_minimal_and_clear_what_they_say(seed: int) -> None:
    """Lengths at a step of the general tolerances and off by a hair in binary, a plate between what
    is cut and what it strikes, a cut that tolerances make 7 mm deeper, one that is less at another
    end, a finding no longer told beside another of the same two things, one layout by two ways."""
    assert looked_at(seed) == []


@pytest.mark.nightly
@pytest.mark.parametrize("first", range(0, 300, 20))
def test_changes_are_minimal_and_clear_what_they_say_in_many_rooms(first: int) -> None:
    seen = {seed: looked_at(seed) for seed in range(first, first + 20)}
    assert sum(wrong is not None for wrong in seen.values()) >= 4
    assert {seed: wrong for seed, wrong in seen.items() if wrong} == {}
