"""Layouts that the full check refuses for the sake of few things."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometry.checks.runner import Checked, check_layout
from geometry.finding import Finding, Verdict
from geometry.remedies import faults
from geometry.scene import Scene
from geometry.search.mending.relax import blocking
from geometry.search.near.tries import MOST_IN_THE_WAY, Try, layout_of, made_of
from geometry.search.problem import Problem

HOPELESS = ("hole_pattern", "zone_size", "held", "port_thread")
"""Faults that no relaxation mends: the part does not belong on the zone at all."""

Kind = tuple[str, tuple[float, ...]]
"""What makes two near misses the same to a reader: the zone, and what they would give."""


@dataclass(frozen=True, eq=False)
class Refused:
    """A refused layout, as drawn; `things` are in its way, and it is short by so much in all."""

    tried: Try
    checked: Checked
    things: frozenset[str]
    short_mm: float

    @property
    def rank(self) -> tuple[int, float]:
        """What puts the nearest first."""
        return len(self.things), self.short_mm

    @property
    def kind(self) -> Kind:
        """What makes two near misses the same to a reader: the zone, and what they would give."""
        return self.tried.option.zone, tuple(round(g, 3) for g in self.tried.gains.values())

    @property
    def parts(self) -> object:
        """The zone, and what would stand on it."""
        return self.tried.option.zone, made_of(self.tried.option)

    @property
    def same(self) -> object:
        """What is told once, whichever row it would change: the zone, its parts, what is met."""
        return self.parts, self.things


def missing_mm(fault: Finding) -> float:
    """Return how much of its margin a fault is missing (mm), in the worst case if that is told."""
    if fault.required_mm is None or fault.measured_mm is None:
        return 0.0
    has_mm = fault.measured_mm
    if fault.tolerance is not None:
        has_mm = min(has_mm, fault.tolerance.worst.worst_mm)
    return max(0.0, fault.required_mm - has_mm)


def refused(problem: Problem, one: Try) -> Refused | None:
    """Return how near a layout misses as drawn; None when it is far."""
    checked = check_layout(
        layout_of(problem, one),
        one.start.checked,
        remedies=False,
        worst_cases=False,
        volumes="none",
    )
    standing = set(faults(one.start.checked.report))
    against = blocking(checked.report, standing, tight_allowed=problem.wishes.tight_allowed)
    if any(fault.kind in HOPELESS and fault.verdict is Verdict.BLOCKED for fault in against):
        return None
    things = _in_the_way(checked.scene, against, one)
    if len(things) > MOST_IN_THE_WAY:
        return None
    return Refused(one, checked, things, sum(missing_mm(fault) for fault in against))


def _in_the_way(scene: Scene, against: Sequence[Finding], one: Try) -> frozenset[str]:
    """Return what is in the way of a new stack: obstacles and walls, and other stacks as one."""
    zone = one.option.zone
    own = {zone, *(stack.id for stack in scene.layout.stacks if stack.zone == zone)}
    things = set()
    for fault in against:
        for concerned in fault.ids:
            placed = scene.placed.get(concerned)
            thing = placed.stack.id if placed is not None and placed.stack else concerned
            if thing not in own:
                things.add(thing)
    return frozenset(things)
