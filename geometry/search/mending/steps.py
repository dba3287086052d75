"""One change to a layout: what it is called, what it costs, and the edit; some by an amount."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
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

    What is made of several changes names them in `parts`; what can be done by more or by less has
    its amount in `sized`.
    """

    name: str
    cost: float
    touches: str
    edit: Edit
    kind: StepKind
    parts: tuple[str, ...] = ()
    sized: Sized | None = None

    @property
    def key(self) -> tuple[str, str]:
        """What tells it from other steps: two things may have the same name."""
        return self.name, self.touches

    @property
    def cuts(self) -> bool:
        """Whether it changes the enclosure by cutting."""
        return self.kind in ("trim", "cut out")

    @property
    def amount_mm(self) -> float | None:
        """By how much it goes (mm); None for what has no amount."""
        return None if self.sized is None else round(self.sized.tenths * TENTH_MM, 1)

    @property
    def atoms(self) -> frozenset[str]:
        """The changes that it is made of: a flip with a turn holds both."""
        return frozenset(self.parts or (self.sized.family if self.sized else self.name,))


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
