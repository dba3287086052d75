"""The smallest changes that clear a layout's faults, each verified by the full check.

Single changes are tried first, pairs only where no single one clears what is asked for; so no
change that is listed holds a smaller one that works too. A slide is cut down to the least tenth of
a millimetre that still works.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import ceil

from catalog.parts import Part
from geometry.checks.runner import Checked, check_layout
from geometry.edits import EditError
from geometry.finding import Finding, Report, Verdict
from geometry.layout import Layout
from geometry.remedies import fault_key, faults, new_faults
from geometry.search.changes import LEAST_SLIDE_MM, Step, slide_step, steps_for

Keys = set[tuple[str, frozenset[str]]]

MOST_PAIRS = 1500
"""So many pairs are tried, the cheapest first; when more are left this is told."""


@dataclass(frozen=True)
class Mend:
    """One verified change: its steps, the layout it gives, and what it clears.

    `clears` numbers the findings that are gone, as they are numbered in the report (from 1);
    `left` says how many faults stay. No fault has come or has grown.
    """

    steps: tuple[str, ...]
    cost: float
    layout: Layout
    clears: tuple[int, ...]
    left: int

    @property
    def name(self) -> str:
        """The change in words."""
        return ", and ".join(self.steps)


@dataclass(frozen=True)
class Mends:
    """What was found so far, the smallest change first; `tried` counts the layouts checked.

    `untried` pairs were left out for their number, or because it was stopped.
    """

    found: tuple[Mend, ...]
    tried: int
    untried: int
    done: bool


def mends(
    checked: Checked, parts: Sequence[Part], finding: Finding | None = None
) -> Iterator[Mends]:
    """Search for changes that clear all faults of a layout, or one finding of it.

    `parts` are those that may be put in. Yields what was found as it goes; the last is the end.
    Where no change clears all, those that clear at least one finding are given.
    """
    bench = _Bench(checked)
    goal = bench.keys if finding is None else {fault_key(finding)}
    if not goal:
        yield Mends((), 0, 0, done=True)
        return
    wanted = [f for f in bench.faults.values() if fault_key(f) in goal]
    steps = steps_for(checked.scene, wanted, parts)
    singles: list[tuple[tuple[Step, ...], Mend]] = []
    movable: list[Step] = []
    for step in steps:
        verdict = bench.tried((step,))
        if verdict is not None:
            movable.append(step)
            if verdict.clears:
                singles.append(((step,), verdict))
        yield Mends((), bench.count, 0, done=False)
    whole = _least([(s, m) for s, m in singles if bench.meets(m, goal)])
    if whole:
        cut = [bench.least_slides(s, m, goal) for s, m in whole]
        yield Mends(_ranked(cut), bench.count, 0, done=True)
        return
    found: list[tuple[tuple[Step, ...], Mend]] = []
    pairs = sorted(combinations(movable, 2), key=lambda p: p[0].cost + p[1].cost)
    for pair in pairs[:MOST_PAIRS]:
        both = bench.tried(pair)
        if both is not None and bench.meets(both, goal):
            found.append((pair, both))
        yield Mends(_ranked([m for _, m in found or singles]), bench.count, 0, done=False)
    untried = max(0, len(pairs) - MOST_PAIRS)
    cut = [bench.least_slides(s, m, goal) for s, m in _least(found)]
    yield Mends(_ranked(cut or [m for _, m in _least(singles)]), bench.count, untried, done=True)


def _least(
    found: Sequence[tuple[tuple[Step, ...], Mend]],
) -> list[tuple[tuple[Step, ...], Mend]]:
    """Return the changes that hold no other of the list that clears as much."""
    atoms = [frozenset().union(*(step.atoms for step in steps)) for steps, _ in found]
    return [
        (steps, mend)
        for k, (steps, mend) in enumerate(found)
        if not any(
            atoms[n] < atoms[k] and set(other.clears) >= set(mend.clears)
            for n, (_, other) in enumerate(found)
        )
    ]


def _ranked(found: Sequence[Mend]) -> tuple[Mend, ...]:
    return tuple(sorted(found, key=lambda m: (m.left, len(m.steps), m.cost, m.name)))


class _Bench:
    """Tries changes on one layout with the full check."""

    def __init__(self, checked: Checked) -> None:
        self.checked = checked
        self.faults = faults(checked.report)
        self.keys = set(self.faults)
        told = [f for f in checked.report.findings if f.verdict is not Verdict.CLEAR]
        self.number = {fault_key(f): n for n, f in enumerate(told, start=1)}
        self.count = 0

    def tried(self, steps: Sequence[Step]) -> Mend | None:
        """Return what some steps together give; None when they cannot be made or make it worse."""
        layout = self.checked.scene.layout
        try:
            for step in steps:
                before = layout
                layout = step.edit(layout)
                if layout is before:
                    return None
        except (EditError, KeyError):
            return None
        report = self.report(layout)
        if len(steps) == 1 and not self._may_help(report):
            return Mend((steps[0].name,), steps[0].cost, layout, (), len(faults(report)))
        if new_faults(self.checked.report, report):
            clears: tuple[int, ...] = ()
        else:
            gone = self.keys - set(faults(report))
            clears = tuple(sorted(self.number[key] for key in gone))
        return Mend(
            tuple(step.name for step in steps),
            sum(step.cost for step in steps),
            layout,
            clears,
            len(faults(report)),
        )

    def _may_help(self, report: Report) -> bool:
        return bool(self.keys - set(faults(report)))

    def report(self, layout: Layout) -> Report:
        self.count += 1
        return check_layout(layout, self.checked, remedies=False).report

    def meets(self, mend: Mend, goal: Keys) -> bool:
        """Whether a change clears all that is asked for."""
        return goal <= {key for key, n in self.number.items() if n in mend.clears}

    def least_slides(self, steps: tuple[Step, ...], mend: Mend, goal: Keys) -> Mend:
        """Return a change with its slides cut down to the least that still clear the goal."""
        best = mend
        scene = self.checked.scene
        for k, step in enumerate(steps):
            if step.slide is None:
                continue
            stack_id, along, to = step.slide
            stack = scene.layout.stack(stack_id)
            at = (stack.slide_u_mm, stack.slide_v_mm)[along]
            sign = 1.0 if to > at else -1.0
            low, high = 0, ceil(abs(to - at) / LEAST_SLIDE_MM)
            while high - low > 1:
                middle = (low + high) // 2
                short = slide_step(scene, stack, along, at + sign * middle * LEAST_SLIDE_MM)
                shorter = (*steps[:k], short, *steps[k + 1 :])
                found = self.tried(shorter)
                if found is not None and self.meets(found, goal):
                    best, high, steps = found, middle, shorter
                else:
                    low = middle
        return best
