"""What would mend a finding, as one list: the quick remedies first, then what a search has found.

A change that both know is listed once, in the place of the remedy and with what the search knows
of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from geometry.edits import CUT_NOTE
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.remedies import CLEARS, NONE_CLEARS_ALL

if TYPE_CHECKING:
    from geometry.finding import Remedy
    from geometry.layout import Layout
    from geometry.search.mending.mend import Mend

Goal = tuple[str, frozenset[str]] | None
"""The fault that is to be mended; None stands for all of them."""

Say = Callable[[str], str]
"""Returns a sentence as it is shown: with its lengths in the unit that was chosen."""

SLIDE_STEP_MM = 0.1
"""Searched slides are cut to this; a remedy that goes no further beyond one is the same slide."""


@dataclass(frozen=True)
class Offer:
    """A change that would mend: its steps, the layout it gives, what comes of it.

    `cuts` tells that the enclosure itself is changed.
    """

    steps: tuple[str, ...]
    layout: Layout = field(repr=False)
    gives: str
    cuts: bool = False

    @property
    def name(self) -> str:
        """The change in one line, as the history names it."""
        first, *others = self.steps
        return ", and ".join([first, *map(_small, others)])

    @property
    def text(self) -> str:
        """The change with what it gives; each step begins a line. That it cuts is told beside."""
        first, *others = (step.replace(CUT_NOTE, "") for step in self.steps)
        lines = "\n".join([first, *(f"and {_small(one)}" for one in others)])
        return f"{lines}: {self.gives}" if self.gives else lines


@dataclass(frozen=True)
class MendState:
    """How far the search for one goal is: its changes, the smallest first, and its counts.

    `locked` names what might have been changed if it were not locked.
    """

    found: tuple[Mend, ...] = ()
    tried: int = 0
    untried: int = 0
    running: bool = False
    stopped: bool = False
    cutting: bool = False
    locked: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """How far it is, in a sentence."""
        layouts = f"{self.tried:,} changed layout{'' if self.tried == 1 else 's'} checked"
        if self.running:
            return f"Searching: {layouts}, {_changes(len(self.found))} found so far"
        if self.stopped:
            return f"Stopped: {layouts}. What was found so far is kept."
        more = f"; {self.untried:,} pairs were not tried" if self.untried else ""
        if not self.found:
            cut = "" if self.cutting else " without cutting the enclosure"
            held = f" Locked, and so not changed: {', '.join(self.locked)}." if self.locked else ""
            return f"No change and no pair that was tried clears it{cut}: {layouts}{more}.{held}"
        return f"{layouts}{more}."


@dataclass(frozen=True)
class Mended:
    """What searches have found for one layout, by what they were to mend."""

    base: Layout
    states: Mapping[Goal, MendState] = field(default_factory=dict)


def offers(
    base: Layout, remedies: Sequence[Remedy], found: Sequence[Mend], faults: int
) -> tuple[Offer, ...]:
    """Return what to offer for a layout with so many faults."""
    listed = [Offer((one.name,), one.layout, one.gives) for one in remedies]
    searched: list[Offer] = []
    for mend in found:
        gives = outcome_words(mend.clears, faults)
        twin = next((k for k, o in enumerate(listed) if _same(base, o.layout, mend.layout)), None)
        if twin is None:
            searched.append(Offer(mend.steps, mend.layout, gives, mend.cuts))
            continue
        known = listed[twin]
        if _farther(base, known.layout, mend.layout):
            listed[twin] = Offer(mend.steps, mend.layout, gives)
        else:
            listed[twin] = replace(known, gives=_joined(known.gives, gives))
    return (*listed, *searched)


def outcome_words(clears: Sequence[int], faults: int) -> str:
    """Say which numbered findings a change clears, and which stay.

    >>> outcome_words((1, 2), 2), outcome_words((2,), 2), outcome_words((1, 2), 3)
    ('clears all', 'clears finding 2; finding 1 stays', 'clears findings 1 and 2; finding 3 stays')
    """
    stay = [n for n in range(1, faults + 1) if n not in clears]
    if not stay:
        return "clears all"
    return f"clears {_findings(clears)}; {_findings(stay)} {'stays' if len(stay) == 1 else 'stay'}"


def all_title(found: Sequence[Mend], faults: int, *, done: bool) -> str:
    """Say over changes that are to clear all of so many findings whether they do.

    `done`: the search has come to its end, so that nothing it tries clears all where none does.
    """
    if not found or any(len(mend.clears) == faults for mend in found):
        return "Changes that clear all findings"
    return NONE_CLEARS_ALL if done else "Changes that clear some findings"


def _findings(numbers: Sequence[int]) -> str:
    *most, last = [str(n) for n in numbers]
    return f"findings {', '.join(most)} and {last}" if most else f"finding {last}"


def _small(text: str) -> str:
    """Return a step as it stands inside a sentence."""
    return text[:1].lower() + text[1:]


def _changes(count: int) -> str:
    return f"{count} change{'' if count == 1 else 's'}"


def _joined(known: str, outcome: str) -> str:
    """Return both; that it clears is told by the outcome, with the numbers of what it clears."""
    known = known.removeprefix(CLEARS).lstrip("; ")
    return f"{known}; {outcome}" if known else outcome


def _same(base: Layout, one: Layout, other: Layout) -> bool:
    """Whether two changes are the same one: equal, or slides of one stack the same way."""
    if one == other:
        return True
    ways = [_slide_ways(base, layout) for layout in (one, other)]
    return ways[0] == ways[1] != () and _slid_back(base, one) == _slid_back(base, other)


def _slides(base: Layout, layout: Layout) -> Iterator[tuple[str, int, float]]:
    """Yield stack, axis (0 along u, 1 along v) and millimetres of each slide from the base."""
    before = {stack.id: stack for stack in base.stacks}
    for stack in layout.stacks:
        was = before.get(stack.id)
        if was is None:
            continue
        yield stack.id, 0, stack.slide_u_mm - was.slide_u_mm
        yield stack.id, 1, stack.slide_v_mm - was.slide_v_mm


def _slide_ways(base: Layout, layout: Layout) -> tuple[tuple[str, int, bool], ...]:
    return tuple(
        (stack, axis, mm > 0)
        for stack, axis, mm in _slides(base, layout)
        if abs(mm) > LENGTH_EPS_MM
    )


def _slid_back(base: Layout, layout: Layout) -> Layout:
    """Return a layout with its stacks where they were along their slots."""
    before = {stack.id: stack for stack in base.stacks}
    stacks = tuple(
        stack.but(slide_u_mm=was.slide_u_mm, slide_v_mm=was.slide_v_mm)
        if (was := before.get(stack.id)) is not None
        else stack
        for stack in layout.stacks
    )
    return layout.but(stacks=stacks)


def _farther(base: Layout, one: Layout, other: Layout) -> bool:
    """Whether the first slides farther than the second, by more than a step."""
    reach = [sum(abs(mm) for _, _, mm in _slides(base, layout)) for layout in (one, other)]
    return reach[0] > reach[1] + SLIDE_STEP_MM + LENGTH_EPS_MM
