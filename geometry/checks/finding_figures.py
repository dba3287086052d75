"""Puts to each fault the stack-up of its measured gap."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import isclose

from geometry.checks.shared_room import Sides
from geometry.checks.spare_depth import spare_words
from geometry.checks.survey import Group, Survey
from geometry.depths import far_mm
from geometry.finding import Finding, Leftover, Report, StackDepth, Verdict
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.stack_sides import zone_side
from geometry.stackup.figures import Tolerances
from geometry.stackup.stack_ups import Figure
from geometry.walls import WALL_NAMES

MEASURED = ("overlap", "clearance", "port_end", "leftover_depth", "plug_room")
"""Checks whose figures are gaps between the solids of two things."""

FIGURES = (*MEASURED, "outside_cavity")
"""Checks whose figures have a stack-up. Slides, hole patterns and sizes of zones are told as the
files give them, and what the play of screws lets pass is passed."""


def with_tolerances(report: Report, before_each: Callable[[], None] = lambda: None) -> Report:
    """Return a report whose blocked and tight gaps have their stack-ups.

    Of stacks that have room it tells how much may be added. `before_each` of the findings, of which
    one may take a second, something may be done, or raised by who does not want the rest any more.
    """
    if report.survey is None:
        return report
    findings = []
    for one in report.findings:
        before_each()
        findings.append(_told_in_full(report.survey, one))
    return replace(report, findings=tuple(findings))


def _told_in_full(survey: Survey, one: Finding) -> Finding:
    if one.verdict is Verdict.CLEAR:
        depth = _with_room(survey, one)
        return one if depth is None else replace(one, advice=spare_words(survey, depth))
    if one.tolerance is not None:
        return one
    return replace(one, tolerance=figure_of(survey, one))


def _with_room(survey: Survey, finding: Finding) -> StackDepth | None:
    """Return the side of a stack of which a finding tells that something leaves it room."""
    if finding.kind != "leftover_depth":
        return None
    item, stack, limit = finding.ids
    side = survey.scene.placed[item].side
    assert side is not None
    depth = survey.depths.sides[stack, side].depth
    zone = survey.scene.layout.stack(stack).zone
    return None if limit == zone else depth


def figure_of(survey: Survey, finding: Finding) -> Figure | None:
    """Return the stack-up of a finding's measured gap; None where it measures none."""
    if finding.kind not in FIGURES or finding.measured_mm is None:
        return None
    for figure in _figures(survey, survey.tolerances, finding):
        # Only a stack-up of the very figure that is told belongs to it.
        if isclose(figure.nominal.nominal_mm, finding.measured_mm, abs_tol=LENGTH_EPS_MM):
            return figure
    return None


def finding_figure(report: Report, finding: Finding) -> Figure | None:
    """Return the stack-up of what a finding measures, also where it is clear; None without one."""
    if finding.tolerance is not None or report.survey is None:
        return finding.tolerance
    return figure_of(report.survey, finding)


def depth_figure(report: Report, left: Leftover) -> Figure | None:
    """Return the stack-up of a leftover depth; None where nothing limits it but sideways."""
    survey = report.survey
    if survey is None or left.sideways_mm is not None:
        return None
    return survey.tolerances.depth(left)


def stack_figure(report: Report, depth: StackDepth) -> Figure | None:
    """Return the stack-up of what one side of a stack leaves: the least over all its cells.

    None where nothing limits it, or what is in its way is so sideways.
    """
    if depth.cells and depth.least.sideways_mm is not None:
        return None
    every = (depth_figure(report, cell) for cell in depth.cells)
    figures = {id(one): one for one in every if one is not None}
    if len(figures) < 2:
        return next(iter(figures.values()), None)
    return Figure.least_of(list(figures.values()))


def _figures(survey: Survey, tolerances: Tolerances, finding: Finding) -> Iterator[Figure]:
    for sides in _sides(survey, finding):
        yield tolerances.between(*sides)
    for solids in _from_walls(survey, finding):
        figure = tolerances.outside(solids)
        if figure is not None:
            yield figure
    if finding.kind == "leftover_depth":
        for depth in survey.depths.stacks:
            if depth.stack in finding.ids:
                yield from _depth_figures(survey, tolerances, depth)


def _from_walls(survey: Survey, finding: Finding) -> Iterator[tuple[Solid, ...]]:
    """Yield the solids that a finding may have measured by their way back inside the cavity."""
    if finding.kind == "outside_cavity":
        yield tuple(dict.fromkeys(gap.a for gap in survey.outside()[finding.ids[0]]))
    elif finding.shift is not None and finding.ids[1] in WALL_NAMES:
        for group in survey.group(finding.kind):
            if group.both == frozenset(finding.ids):
                yield group.solids[0]


def _depth_figures(survey: Survey, tolerances: Tolerances, depth: StackDepth) -> Iterator[Figure]:
    """Yield what may be told of one side of a stack: its depth, and what it has of a given one."""
    figure = tolerances.depth(depth.least)
    if figure is not None:
        yield figure
    placed = survey.depths.sides[depth.stack, depth.side].placed
    far = max(placed, key=lambda one: far_mm(survey.scene, one))
    side = zone_side(far)
    if side.depth_mm is not None:
        yield tolerances.given_depth(far, side.depth_mm - depth.total_mm)


def _sides(survey: Survey, finding: Finding) -> Iterator[Sides]:
    groups = [group for group in survey.group(finding.kind) if group.both <= frozenset(finding.ids)]
    for group in sorted(groups, key=_gap_mm):
        yield (group.worst.a,), (group.worst.b,)
        yield group.solids


def _gap_mm(group: Group) -> float:
    return group.worst.gap_mm
