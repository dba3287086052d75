"""Puts to each fault the stack-up of its measured gap."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import isclose

from geometry.checks.survey import Group, Sides, Survey
from geometry.finding import Finding, Leftover, Report, Verdict
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stackup.sums import Figure

MEASURED = ("overlap", "clearance", "port_end", "leftover_depth", "plug_room")
"""Checks whose figures are gaps between the solids of two things."""


def with_tolerances(report: Report) -> Report:
    """Return a report whose blocked and tight gaps have their stack-ups."""
    if report.survey is None:
        return report
    survey = report.survey
    findings = tuple(
        one
        if one.verdict is Verdict.CLEAR or one.tolerance is not None
        else replace(one, tolerance=figure_of(survey, one))
        for one in report.findings
    )
    return replace(report, findings=findings)


def figure_of(survey: Survey, finding: Finding) -> Figure | None:
    """Return the stack-up of a finding's measured gap; None where it measures none."""
    if finding.kind not in MEASURED or finding.measured_mm is None or survey.tolerances is None:
        return None
    for sides in _sides(survey, finding):
        figure = survey.tolerances.between(*sides)
        # Only a stack-up of the very figure that is told belongs to it.
        if isclose(figure.nominal.nominal_mm, finding.measured_mm, abs_tol=LENGTH_EPS_MM):
            return figure
    return None


def depth_figure(report: Report, left: Leftover) -> Figure | None:
    """Return the stack-up of a leftover depth; None where nothing limits it."""
    survey = report.survey
    if survey is None or survey.tolerances is None:
        return None
    return survey.tolerances.depth(left)


def _sides(survey: Survey, finding: Finding) -> Iterator[Sides]:
    groups = [group for group in survey.group(finding.kind) if group.both <= frozenset(finding.ids)]
    for group in sorted(groups, key=_gap_mm):
        yield (group.worst.a,), (group.worst.b,)
        yield group.solids


def _gap_mm(group: Group) -> float:
    return group.worst.gap_mm
