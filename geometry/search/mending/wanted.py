"""Which pairs of solids have to part for some findings to go, and which may stay as they are."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, replace
from functools import cached_property

from geometry.checks.survey import kind_of
from geometry.finding import Finding, Report
from geometry.measures.clearance import clearance
from geometry.measures.overlap import parting_shift
from geometry.measures.solid import Solid
from geometry.pairs import PairGap
from geometry.remedies import fault_key
from geometry.scene import Scene

Fault = tuple[str, frozenset[str]]
"""A fault by its kind and the things concerned."""


@dataclass(frozen=True)
class Wanted:
    """Findings that are to go, of a layout of which all faults are `told`: the others may stay.

    Two findings may name the same two things: a fan and its lead, both in a step of the cavity.
    """

    findings: Sequence[Finding]
    told: Set[Fault] = frozenset()

    @cached_property
    def _named(self) -> tuple[frozenset[str], ...]:
        return tuple(frozenset(finding.ids) for finding in self.findings)

    @cached_property
    def _staying(self) -> Set[Fault]:
        return self.told - {fault_key(finding) for finding in self.findings}

    def alone(self, finding: Finding) -> Wanted:
        """Return one of the findings by itself; the rest may stay."""
        return replace(self, findings=(finding,))

    def asks(self, scene: Scene, a: Solid, b: Solid) -> bool:
        """Whether two solids that are short have to part; the first is of what can move.

        Of what is not told by itself the findings of the same two things tell. What a plate parts
        from each other is not short after all.
        """
        both = frozenset((a.owner, b.owner))
        if not any(both <= ids for ids in self._named):
            return False
        kind = kind_of(scene, _gap(a, b))
        return kind != "" and (kind, both) not in self._staying


def shortfalls(report: Report) -> dict[frozenset[str], set[str]]:
    """Return of each two things that are short the checks to which that belongs, told or not.

    Of what is short in several ways a report tells only the worse ones.
    """
    found: dict[frozenset[str], set[str]] = {}
    for (a, b), kind in report.survey.kinds.items() if report.survey is not None else ():
        if kind:
            found.setdefault(frozenset((a.owner, b.owner)), set()).add(kind)
    return found


def _gap(a: Solid, b: Solid) -> PairGap:
    shift = parting_shift(a.prisms, b.prisms)
    mm = clearance(a.prisms, b.prisms).mm if shift is None else -shift.mm
    return PairGap(a, b, mm, shift, (0.0, 0.0, 0.0))
