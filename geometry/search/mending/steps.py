"""One change to a layout: what it is called, what it costs, and the edit; some by an amount."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf
from typing import Literal

from geometry.layout import Layout

Edit = Callable[[Layout], Layout]

StepKind = Literal[
    "slide", "move", "turn", "part", "fans", "pump", "zone", "state", "trim", "cut out", "margin",
]  # fmt: skip
"""What is changed: a slide in slots, a free part's place, how a part lies, another part, where fans
stand, the pump or its place, the zone, an obstacle's state, an obstacle by cutting, the margin."""

TENTH_MM = 0.1
"""Amounts are given in tenths of a millimetre: finer ones cannot be set by hand."""


@dataclass(frozen=True)
class Sized:
    """By how many tenths of a millimetre a step goes, and the same step by another amount.

    `above` is an amount that is known not to do by itself.
    """

    family: str
    tenths: int
    by: Callable[[int], Step]
    above: int = 0


@dataclass(frozen=True)
class Step:
    """One change. `cost` ranks: a slide is less than a flip, which is less than another part.

    What is made of several changes names them in `parts`, and in `slid` the slides among them, each
    with its amount (mm); what can be done by more or by less has its amount in `sized`. `knob` is
    what it sets, where the kind and what it touches do not tell: two steps that set the same are no
    pair.
    """

    name: str
    cost: float
    touches: str
    edit: Edit
    kind: StepKind
    parts: tuple[str, ...] = ()
    sized: Sized | None = None
    knob: str = ""
    slid: tuple[tuple[str, float], ...] = ()

    @cached_property
    def key(self) -> tuple[str, str]:
        """What tells it from other steps: two things may have the same name, and a name change."""
        return self.name if self.cuts else str(self.amounts), self.touches

    @property
    def cuts(self) -> bool:
        """Whether it changes the enclosure by cutting."""
        return self.kind in ("trim", "cut out")

    @property
    def amount_mm(self) -> float | None:
        """By how much it goes (mm); None for what has no amount."""
        return None if self.sized is None else round(self.sized.tenths * TENTH_MM, 1)

    @cached_property
    def atoms(self) -> frozenset[str]:
        """The changes that it is made of: a flip with a turn holds both."""
        return frozenset(self.amounts)

    @cached_property
    def amounts(self) -> Mapping[str, float]:
        """The changes that it is made of, each with its amount (mm); 0 for what has none.

        Of what is cut out whole no amount of cutting is more.
        """
        if self.sized is not None:
            return {self.sized.family: round(self.sized.tenths * TENTH_MM, 1)}
        whole = inf if self.cuts else 0.0
        named = dict.fromkeys(self.parts or (f"{self.name} {self.touches}",), whole)
        return {**named, **dict(self.slid)}

    def excludes(self, other: Step) -> bool:
        """Whether another step sets the same, so that the two are no pair."""
        return self._knob == other._knob or bool(self.atoms & other.atoms)

    @property
    def _knob(self) -> str:
        return self.knob or f"{self.kind} {self.touches}"


def slide_family(stack: str, along: int, sign: int) -> str:
    """Return the family of all slides of a stack one way along u (0) or v (1)."""
    return f"Slide {stack} {'uv'[along]}{'+' if sign > 0 else '-'}"


def not_below(step: Step, above: int) -> Step:
    """Return a step by an amount with the word that `above` is known not to do by itself."""
    assert step.sized is not None
    return replace(step, sized=replace(step.sized, above=above))


def cheapest_first(steps: Iterable[Step]) -> list[Step]:
    """Return steps the cheapest first, each once."""
    once: dict[tuple[str, str], Step] = {}
    for step in steps:
        once.setdefault(step.key, step)
    return sorted(once.values(), key=lambda step: step.cost)
