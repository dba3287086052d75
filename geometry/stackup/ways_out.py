"""The stack-up of an overlap: the least of six ways out, each with what is off along it.

Which way is the shortest may change with what is off, so that each dimension by itself would hide
what another takes. Each way has its stack-up, and of what is left (minus the way out) the greatest
counts. In the worst case that is exact where the ways hang on dimensions of their own, as those of
boxes along different axes do; where one dimension lengthens one way and shortens another no more
overlap is there than told.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite
from typing import TYPE_CHECKING

from geometry.measures.clearance import signed_gap_mm
from geometry.measures.overlap import SENSES, parting_shift, ways_out_mm
from geometry.measures.pose import AXES
from geometry.measures.prism import Prism
from geometry.stackup.combined_effects import leans, no_better_than_together
from geometry.stackup.deviation import Deviation
from geometry.stackup.faces import (
    NOISE_MM,
    Solids,
    all_prisms,
    axes_across,
    faces,
    greatest_mm,
)
from geometry.stackup.stack_ups import Figure, Near, StackUp

if TYPE_CHECKING:
    from geometry.stackup.figures import Tolerances

Prisms = Sequence[Prism]

Counts = Callable[[float], bool]
"""Tells whether a way out (mm) is one."""


def overlap_figure(
    tolerances: Tolerances,
    a: Solids,
    b: Solids,
    name: str,
    bent: Solids,
    counts: Counts = isfinite,
) -> Figure | None:
    """Return the figure of the least way out of an overlap, negative; None where there is none.

    `bent` are the solids whose outlines are looked at for what matters beside the way; `counts`
    leaves out ways that are none.
    """
    drawn = ways_out_mm(all_prisms(a), all_prisms(b))
    shift = parting_shift(all_prisms(a), all_prisms(b))
    if drawn is None or shift is None or not counts(shift.mm):
        return None
    ways = _Ways(tolerances, a, b, drawn, bent, counts)
    first = SENSES.index(shift.way)
    found = {first: ways.stack_up(first)}
    nominal = found[first]
    for k in sorted(range(len(SENSES)), key=lambda k: drawn[k]):
        if k != first and counts(drawn[k]) and ways.may_be_least(k, nominal):
            found[k] = ways.stack_up(k)
    likely = max(found.values(), key=lambda one: one.likely_least_mm)
    last = max(found, key=lambda k: found[k].worst_mm)
    worst = nominal
    if found[last].worst_mm > nominal.worst_mm + NOISE_MM:
        worst, name = found[last], f"{name}, along {AXES[SENSES[last].axis]}"
    others = tuple(one for one in found.values() if one is not nominal)
    return Figure(nominal, worst, name, near=(Near(likely),), others=others)


class _Ways:
    """The six ways out, as drawn and when one dimension is off."""

    def __init__(
        self,
        tolerances: Tolerances,
        a: Solids,
        b: Solids,
        drawn: Sequence[float],
        bent: Solids,
        counts: Counts,
    ) -> None:
        self.tolerances, self.a, self.b = tolerances, a, b
        self.drawn, self.bent, self.counts = drawn, bent, counts
        self._known: dict[tuple[tuple[str, str], float], list[float]] = {}

    def stack_up(self, k: int) -> StackUp:
        """Return the stack-up of what one way leaves."""
        moving, nominal = self._moving(k), -self.drawn[k]
        found = self.tolerances.added_up(nominal, moving, lambda one, off: self._left(one, off)[k])
        prisms = (*all_prisms(self.a), *all_prisms(self.b))
        if any(leans(prism, SENSES[k].axis) for prism in prisms):
            own = (*faces(self.a), *faces(self.b))
            count = len(all_prisms(self.a))

            def left(*then: Prism) -> float:
                return self._left_of(then[:count], then[count:])[k]

            found = no_better_than_together(found, own, moving, left, self.tolerances.name_of)
        return found

    def may_be_least(self, k: int, nominal: StackUp) -> bool:
        """Whether a way may ever leave more than the one that does as drawn."""
        left_mm = -self.drawn[k]
        if left_mm > nominal.worst_mm:
            return True
        return left_mm + sum(map(greatest_mm, self._moving(k))) > nominal.most_mm

    def _moving(self, k: int) -> tuple[Deviation, ...]:
        axes = axes_across(self.bent, SENSES[k])
        every = self.tolerances.moving((*self.a, *self.b))
        return tuple(one for one in every if one.axes & axes)

    def _left(self, one: Deviation, off_mm: float) -> list[float]:
        key = (one.key, off_mm)
        if key not in self._known:
            moved = {
                s: new for s in (*self.a, *self.b) if (new := one.moved(s, off_mm)) is not None
            }
            then = (all_prisms(self.a, moved), all_prisms(self.b, moved))
            self._known[key] = self._left_of(*then) if moved else [-mm for mm in self.drawn]
        return self._known[key]

    def _left_of(self, a: Prisms, b: Prisms) -> list[float]:
        ends = ways_out_mm(a, b)
        if ends is None:
            return [signed_gap_mm(a, b)] * len(self.drawn)
        pairs = zip(ends, self.drawn, strict=True)
        return [-end if self.counts(end) else -drawn for end, drawn in pairs]
