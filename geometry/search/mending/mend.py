"""The smallest changes that clear a layout's faults, each verified by the full check.

Single changes are tried first; pairs only where no single one clears what is asked for without
cutting. So no change that is listed holds a smaller one of those tried that works too. An amount is
cut down to the least tenth of a millimetre that still works.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass

from catalog.parts import Part
from geometry.checks.rules.worst_case import KIND as WORST_CASE
from geometry.checks.runner import Checked
from geometry.finding import Finding, Report, Verdict
from geometry.layout import Layout
from geometry.remedies import fault_key, faults, new_faults
from geometry.scene import Scene
from geometry.search.mending.bench import Bench, Keys
from geometry.search.mending.changes import locked_among, shares_for, steps_for
from geometry.search.mending.minimal import minimal, size
from geometry.search.mending.pairs import Pair, Reach, cost, pairs_of, still_short
from geometry.search.mending.steps import Step, StepKind
from geometry.search.mending.wanted import Wanted, shortfalls

MOST_PAIRS = 1500
"""So many pairs are tried, the cheapest first; when more are left this is told."""


@dataclass(frozen=True)
class Mend:
    """One verified change: its steps, the layout it gives, and what it clears.

    `clears` numbers the findings that are gone, as they are numbered in the report (from 1);
    `left` says how many faults stay. No fault has come or has grown. `cuts` marks a change to the
    enclosure by cutting, which is irreversible. `kinds` are those of its steps, sorted.
    """

    steps: tuple[str, ...]
    cost: float
    layout: Layout
    clears: tuple[int, ...]
    left: int
    cuts: bool = False
    kinds: tuple[StepKind, ...] = ()

    @property
    def name(self) -> str:
        """The change in words."""
        return ", and ".join(self.steps)


@dataclass(frozen=True)
class Mends:
    """What was found so far, the smallest change first; `tried` counts the layouts checked.

    `untried` pairs were left out for their number, or because it was stopped. `locked` names what
    might have been changed if it were not locked.
    """

    found: tuple[Mend, ...]
    tried: int
    untried: int
    done: bool
    locked: tuple[str, ...] = ()


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
    goal = set(faults(checked.report)) if finding is None else {fault_key(finding)}
    judge = _Judge(checked, goal)
    if not goal:
        yield Mends((), 0, 0, done=True)
        return
    search = _Search(judge, parts, cutting=cutting)
    yield from search.singles()
    if not any(search.whole(uncut=True)):
        yield from search.pairs()
    yield from search.cut_down()


_Tried = tuple[tuple[Step, ...], Mend]


class _Search:
    """What was found for one goal; each part of the search yields it as it goes."""

    def __init__(self, judge: _Judge, parts: Sequence[Part], *, cutting: bool) -> None:
        self._judge, self._parts, self._cutting = judge, parts, cutting
        self._wanted = [fault for key, fault in judge.faults.items() if key in judge.goal]
        self._scene = judge.bench.checked.scene
        self._locked = locked_among(self._scene, self._wanted)
        self._found: list[_Tried] = []
        self._firsts: list[Step] = []
        self._untried = 0

    def singles(self) -> Iterator[Mends]:
        """Try each change by itself."""
        wanted = self._judge.wanted(self._wanted)
        steps = steps_for(self._scene, wanted, self._parts, cutting=self._cutting)
        for step in steps:
            self._try((step,))
            yield self._so_far()

    def pairs(self) -> Iterator[Mends]:
        """Try two changes together; where a single cut does, without cutting."""
        judge, cutting = self._judge, self._cutting and not any(self.whole())
        firsts = [step for step in self._firsts if cutting or not step.cuts]
        for step in shares_for(self._scene, judge.wanted(self._wanted)):
            if judge.tried((step,)) is not None and step not in firsts:
                firsts.append(step)
        reach = Reach(self._scene)
        for step in firsts:
            after = judge.bench.checked_after((step,))
            if after is not None:
                reach.note(step, after.scene)
        pairs: list[Pair] = []
        for some in pairs_of(
            firsts, self._wanted, reach, judge.left_after, self._parts, cutting=cutting
        ):
            pairs += some
            self._untried = len(pairs)
            yield self._so_far()
        pairs.sort(key=cost)
        self._untried = max(0, len(pairs) - MOST_PAIRS)
        for pair in pairs[:MOST_PAIRS]:
            self._try(pair)
            yield self._so_far()

    def cut_down(self) -> Iterator[Mends]:
        """Cut the amounts of what is minimal down to the least that works."""
        judge = self._judge
        coarse = self._minimal(list(self.whole()) or self._found)
        done: list[_Tried] = []
        for steps, mend in coarse:
            done.append(judge.cut_down(steps, mend))
            rest = coarse[len(done) :]
            yield self._told(_ranked(done + rest))
        yield self._told(_each_once(_ranked(self._minimal(done))), done=True)

    def whole(self, *, uncut: bool = False) -> Iterator[_Tried]:
        """Yield the changes that clear all of the goal, with `uncut` those that cut nothing."""
        for steps, mend in self._found:
            if self._judge.meets(mend) and not (uncut and mend.cuts):
                yield steps, mend

    def _try(self, steps: tuple[Step, ...]) -> None:
        """Keep a change that clears some of the goal; of a pair, that clears all of it.

        One that is known to work by a lesser amount is not tried. A cut at one end of an obstacle
        that works is made the least at once, so that only less is tried at the others.
        """
        if len(steps) == 1:
            steps = (self._below_known(steps[0]),)
        atoms, mine = _atoms(steps), size(steps)
        if any(_atoms(other) == atoms and size(other) <= mine for other, _ in self.whole()):
            return
        mend = self._judge.tried(steps)
        if mend is None:
            return
        if len(steps) == 1:
            self._firsts += steps
            if steps[0].cuts and self._judge.meets(mend):
                steps, mend = self._judge.cut_down(steps, mend)
            if self._judge.asked_for(mend):
                self._found.append((steps, mend))
        elif self._judge.meets(mend):
            self._found.append(self._judge.without_needless(steps, mend))

    def _below_known(self, step: Step) -> Step:
        """Return a cut, or one by less than is known to do where that is as much or more."""
        known = [
            other.sized.tenths
            for (other, *more), _ in self.whole()
            if not more and other.cuts and other.sized is not None and other.atoms == step.atoms
        ]
        if step.sized is None or not known or not 1 < min(known) <= step.sized.tenths:
            return step
        return step.sized.by(min(known) - 1)

    def _minimal(self, found: Sequence[_Tried]) -> list[_Tried]:
        """Return the changes that hold no smaller one that clears as much of what is asked for."""
        clears = [(steps, self._judge.asked_for(mend)) for steps, mend in found]
        return [found[k] for k in minimal(clears)]

    def _so_far(self) -> Mends:
        return self._told(_ranked(self._minimal(list(self.whole()) or self._found)))

    def _told(self, found: tuple[Mend, ...], *, done: bool = False) -> Mends:
        return Mends(found, self._judge.count, self._untried, done, self._locked)


def _atoms(steps: Sequence[Step]) -> frozenset[str]:
    return frozenset().union(*(step.atoms for step in steps))


def _ranked(found: Sequence[_Tried]) -> tuple[Mend, ...]:
    """Return the changes in their order: what cuts nothing first, then what leaves least."""
    mends = (mend for _, mend in found)
    return tuple(sorted(mends, key=lambda m: (m.cuts, m.left, len(m.steps), m.cost, m.name)))


def _each_once(ranked: Sequence[Mend]) -> tuple[Mend, ...]:
    """Return the changes without those that give the same layout as one before them."""
    kept: list[Mend] = []
    for mend in ranked:
        if all(mend.layout != other.layout for other in kept):
            kept.append(mend)
    return tuple(kept)


class _Judge:
    """Says of changed layouts what they clear of a report, of which all of the goal is asked for.

    A single change is of use where it clears any of it, two together only where they clear all.
    """

    def __init__(self, checked: Checked, goal: Keys) -> None:
        wanted = [fault for key, fault in faults(checked.report).items() if key in goal]

        def hopeless(scene: Scene, first: Step) -> bool:
            left = self.wanted(self._left.get(first.key, wanted))
            return any(still_short(scene, left.alone(one)) for one in left.findings)

        self._left: dict[tuple[str, str], list[Finding]] = {}
        self.bench = Bench(
            checked,
            lambda report: bool(self.gone(report)),
            lambda report: goal <= self.gone(report),
            hopeless,
        )
        self.report = checked.report
        self.goal = goal
        self.faults = faults(checked.report)
        self.keys: Keys = set(self.faults)
        self._staying = {
            key: {kind for kind, ids in self.keys - {key} if key[1] <= ids} for key in self.keys
        }
        told = [f for f in checked.report.findings if f.verdict is not Verdict.CLEAR]
        self.number = {fault_key(f): n for n, f in enumerate(told, start=1)}

    def wanted(self, findings: Sequence[Finding]) -> Wanted:
        """Return some findings that shall go, beside those of the report that may stay."""
        return Wanted(findings, self.keys)

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
            tuple(sorted(step.kind for step in steps)),
        )

    def gone(self, report: Report) -> Keys:
        """Return the faults that a change has cleared; none where another came or has grown.

        What is no longer told only because another finding of the same two things stays is not
        cleared.
        """
        if new_faults(self.report, report):
            return set()
        short = shortfalls(report)
        return {
            key
            for key in self.keys - set(faults(report))
            if short.get(key[1], frozenset()) <= self._staying[key]
        }

    def left_after(self, step: Step) -> tuple[Checked, Wanted] | None:
        """Return the layout after a step, and the faults that are to go then; None when none is.

        These are what is left of the goal, and what the step has brought. Where it was checked as
        drawn only, what is judged by the worst case is taken to be left.
        """
        after = self.bench.checked_after((step,))
        if after is None:
            return None
        there = faults(after.report)
        left = [fault for key, fault in there.items() if key in self.goal]
        if not self.bench.in_full((step,)):
            left += [self.faults[k] for k in self.goal if k[0] == WORST_CASE and k not in there]
        left += [f for f in new_faults(self.report, after.report) if fault_key(f) not in self.goal]
        self._left[step.key] = left
        return (after, self.wanted(left)) if left else None

    def without_needless(self, pair: tuple[Step, ...], both: Mend) -> _Tried:
        """Return a pair that works, or the one of its steps that is enough.

        What has no amount was tried as it is, and a second one is told as it stands to the first.
        """
        for step in (one for one in pair if one.sized is not None):
            alone = self.tried((step,))
            if alone is not None and self.meets(alone):
                return (step,), alone
        return pair, both

    def asked_for(self, mend: Mend) -> Set[int]:
        """Return the numbers of what a change clears of all that is asked for."""
        return {self.number[key] for key in self.goal}.intersection(mend.clears)

    def meets(self, mend: Mend) -> bool:
        """Whether a change clears all that is asked for."""
        return self.goal <= self._cleared_by(mend)

    def _cleared_by(self, mend: Mend) -> Keys:
        return {key for key, number in self.number.items() if number in mend.clears}

    def cut_down(self, steps: tuple[Step, ...], mend: Mend) -> _Tried:
        """Return a change with its amounts cut down to the least by which it clears as much.

        What clears all that is asked for need not clear more.
        """
        goal = self.goal if self.meets(mend) else self._cleared_by(mend)

        def works(tried: Sequence[Step]) -> bool:
            found = self.tried(tried)
            return found is not None and goal <= self._cleared_by(found)

        least = self.bench.least(steps, works)
        return least, self.tried(least) or mend
