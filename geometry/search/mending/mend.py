"""The smallest changes that clear a layout's faults, each verified by the full check.

Single changes are tried first, pairs only where no single one clears what is asked for; so no
change that is listed holds a smaller one that works too. An amount is cut down to the least tenth
of a millimetre that still works.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from catalog.parts import Part
from geometry.checks.runner import Checked
from geometry.finding import Finding, Report, Verdict
from geometry.layout import Layout
from geometry.remedies import fault_key, faults, new_faults
from geometry.search.mending.bench import Bench, Keys
from geometry.search.mending.changes import steps_for
from geometry.search.mending.steps import Step

MOST_PAIRS = 1500
"""So many pairs are tried, the cheapest first; when more are left this is told."""


@dataclass(frozen=True)
class Mend:
    """One verified change: its steps, the layout it gives, and what it clears.

    `clears` numbers the findings that are gone, as they are numbered in the report (from 1);
    `left` says how many faults stay. No fault has come or has grown. `cuts` marks a change to the
    enclosure by cutting, which is irreversible.
    """

    steps: tuple[str, ...]
    cost: float
    layout: Layout
    clears: tuple[int, ...]
    left: int
    cuts: bool = False

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
    checked: Checked,
    parts: Sequence[Part],
    finding: Finding | None = None,
    *,
    cutting: bool = False,
) -> Iterator[Mends]:
    """Search for changes that clear all faults of a layout, or one finding of it.

    `parts` are those that may be put in; with `cutting` obstacles may be cut too. Yields what was
    found as it goes; the last is the end. Where no change clears all, those that clear at least
    one finding are given.
    """
    judge = _Judge(checked)
    goal = judge.keys if finding is None else {fault_key(finding)}
    if not goal:
        yield Mends((), 0, 0, done=True)
        return
    wanted = [fault for key, fault in judge.faults.items() if key in goal]
    singles: list[_Tried] = []
    movable: list[Step] = []
    steps = steps_for(checked.scene, wanted, parts, cutting=cutting)
    for step in steps:
        mend = judge.tried((step,))
        if mend is not None:
            movable.append(step)
            if mend.clears:
                singles.append(((step,), mend))
        whole = [m for _, m in singles if judge.meets(m, goal)]
        yield Mends(_ranked(whole), judge.count, 0, done=False)
    found = [(s, m) for s, m in singles if judge.meets(m, goal)]
    untried = 0
    if not found:
        pairs = [*combinations(movable, 2)]
        for step in movable:
            brought = judge.brought_by(step, goal)
            if brought is not None:
                known = {one.key for one in steps}
                more = steps_for(brought.scene, judge.new_in(brought), parts, cutting=cutting)
                pairs += [(step, one) for one in more if one.key not in known]
            yield Mends(_ranked([m for _, m in singles]), judge.count, len(pairs), done=False)
        pairs = [p for p in pairs if not p[0].atoms & p[1].atoms]
        pairs.sort(key=lambda p: p[0].cost + p[1].cost)
        untried = max(0, len(pairs) - MOST_PAIRS)
        for pair in pairs[:MOST_PAIRS]:
            both = judge.tried(pair)
            if both is not None and judge.meets(both, goal):
                found.append(judge.without_needless(pair, both, goal))
            so_far = _ranked([m for _, m in found or singles])
            yield Mends(so_far, judge.count, untried, done=False)
    least = _least(found or singles)
    cut: list[Mend] = []
    for steps_of, mend_of in least:
        yield Mends(_ranked([*cut, *_mends(least[len(cut) :])]), judge.count, untried, done=False)
        cut.append(judge.cut_down(steps_of, mend_of, goal if found else _keys_of(judge, mend_of)))
    yield Mends(_ranked(cut), judge.count, untried, done=True)


_Tried = tuple[tuple[Step, ...], Mend]


def _mends(tried: Sequence[_Tried]) -> list[Mend]:
    return [mend for _, mend in tried]


def _keys_of(judge: _Judge, mend: Mend) -> Keys:
    return {key for key, number in judge.number.items() if number in mend.clears}


def _least(found: Sequence[_Tried]) -> list[_Tried]:
    """Return the changes that hold no other of the list that clears as much.

    Of changes that differ in their amounts alone, the one of the least amount is kept.
    """
    atoms = [frozenset().union(*(step.atoms for step in steps)) for steps, _ in found]
    amounts = [sum(step.amount_mm or 0.0 for step in steps) for steps, _ in found]

    def smaller(n: int, k: int) -> bool:
        return atoms[n] < atoms[k] or (atoms[n] == atoms[k] and (amounts[n], n) < (amounts[k], k))

    return [
        (steps, mend)
        for k, (steps, mend) in enumerate(found)
        if not any(
            smaller(n, k) and set(other.clears) >= set(mend.clears)
            for n, (_, other) in enumerate(found)
        )
    ]


def _ranked(found: Sequence[Mend]) -> tuple[Mend, ...]:
    return tuple(sorted(found, key=lambda m: (m.left, m.cuts, len(m.steps), m.cost, m.name)))


class _Judge:
    """Says of changed layouts what they clear."""

    def __init__(self, checked: Checked) -> None:
        self.bench = Bench(checked, lambda report: bool(self.gone(report)))
        self.report = checked.report
        self.faults = faults(checked.report)
        self.keys: Keys = set(self.faults)
        told = [f for f in checked.report.findings if f.verdict is not Verdict.CLEAR]
        self.number = {fault_key(f): n for n, f in enumerate(told, start=1)}

    @property
    def count(self) -> int:
        """How many changed layouts were checked."""
        return self.bench.count

    def tried(self, steps: Sequence[Step]) -> Mend | None:
        """Return what some steps together give; None when they cannot be made.

        They clear nothing where they bring a fault or make one worse.
        """
        after = self.bench.checked_after(steps)
        if after is None:
            return None
        return Mend(
            tuple(step.name for step in steps),
            sum(step.cost for step in steps),
            after.scene.layout,
            tuple(sorted(self.number[key] for key in self.gone(after.report))),
            len(faults(after.report)),
            any(step.cuts for step in steps),
        )

    def gone(self, report: Report) -> Keys:
        """Return the faults that a change has cleared; none where another came or has grown."""
        return set() if new_faults(self.report, report) else self.keys - set(faults(report))

    def brought_by(self, step: Step, goal: Keys) -> Checked | None:
        """Return the check after a step that clears the goal and brings other faults; else None."""
        after = self.bench.checked_after((step,))
        if after is None or goal & set(faults(after.report)) or not self.new_in(after):
            return None
        return after

    def new_in(self, after: Checked) -> list[Finding]:
        """Return the faults that have come or have grown."""
        return new_faults(self.report, after.report)

    def without_needless(self, pair: tuple[Step, Step], both: Mend, goal: Keys) -> _Tried:
        """Return a pair that works, or the one of its steps that is enough."""
        for step in pair:
            alone = self.tried((step,))
            if alone is not None and self.meets(alone, goal):
                return (step,), alone
        return pair, both

    def meets(self, mend: Mend, goal: Keys) -> bool:
        """Whether a change clears all that is asked for."""
        return goal <= _keys_of(self, mend)

    def cut_down(self, steps: tuple[Step, ...], mend: Mend, goal: Keys) -> Mend:
        """Return a change with its amounts cut down to the least that still clear the goal."""

        def works(tried: Sequence[Step]) -> bool:
            found = self.tried(tried)
            return found is not None and self.meets(found, goal)

        return self.tried(self.bench.least(steps, works)) or mend
