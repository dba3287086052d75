"""Runs all checks over a scene and gathers what they say into one report."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from geometry.checks.rules import (
    air_sense,
    clearance,
    held,
    hole_pattern,
    leftover_depth,
    outside_cavity,
    overlap,
    plug_room,
    port_end,
    port_thread,
    slide,
    worst_case,
    zone_size,
)
from geometry.checks.shared_room import Volumes
from geometry.checks.sideways import with_sideways
from geometry.checks.survey import Survey, make_survey
from geometry.finding import Finding, NotRun, Report, Verdict
from geometry.layout import Layout
from geometry.scene import Scene, build_scene

Check = Callable[[Survey], Iterable[Finding | NotRun]]

RULES: tuple[tuple[str, Check], ...] = (
    (overlap.KIND, overlap.check),
    (outside_cavity.KIND, outside_cavity.check),
    (port_end.KIND, port_end.check),
    (leftover_depth.KIND, leftover_depth.check),
    (plug_room.KIND, plug_room.check),
    (clearance.KIND, clearance.check),
    (worst_case.KIND, worst_case.check),
    (hole_pattern.KIND, hole_pattern.check),
    (zone_size.KIND, zone_size.check),
    (slide.KIND, slide.check),
    (held.KIND, held.check),
    (port_thread.KIND, port_thread.check),
    (air_sense.KIND, air_sense.check),
)
"""Every check by its kind, in the order in which findings of one verdict are listed."""


@dataclass(frozen=True)
class Checked:
    """A scene and what the checks say of it."""

    scene: Scene
    report: Report


def check_layout(
    layout: Layout,
    before: Checked | None = None,
    *,
    remedies: bool = True,
    worst_cases: bool = True,
    volumes: Volumes = "all",
) -> Checked:
    """Build the scene of a layout and check it, taking over from `before` what did not change.

    `remedies` False leaves out the edits that would mend what was found, and `worst_cases` False
    the stack-ups of what moved, as while dragging. `volumes` says which of shared room are told.
    Raises KeyError where the layout names a part, zone or cell that it does not have.
    """
    scene = build_scene(layout, before.scene if before is not None else None)
    report = run_checks(scene, before, remedies=remedies, worst_cases=worst_cases, volumes=volumes)
    return Checked(scene, report)


def run_checks(
    scene: Scene,
    before: Checked | None = None,
    *,
    remedies: bool = True,
    worst_cases: bool = True,
    volumes: Volumes = "all",
) -> Report:
    """Return what all checks say of a scene, taking over from `before` what did not change.

    `remedies` False leaves out the edits that would mend what was found, and the tolerances of
    what is not told for their sake. With `worst_cases` False
    what `before` says of the worst case stands for all that did not change.
    """
    earlier = before.report.survey if before is not None else None
    survey = make_survey(scene, earlier, worst_case=worst_cases, volumes=volumes)
    blocked: list[Finding] = []
    tight: list[Finding] = []
    clear: list[Finding] = []
    not_run: list[NotRun] = []
    for _, check in RULES:
        for said in check(survey):
            if isinstance(said, NotRun):
                not_run.append(said)
            elif said.verdict is Verdict.CLEAR:
                clear.append(said)
            else:
                (tight if said.verdict is Verdict.TIGHT else blocked).append(said)
    at_fault = {one for finding in (*blocked, *tight) for one in finding.ids}
    free_of_it = len(scene.placed) - len(at_fault & scene.placed.keys())
    findings = (*blocked, *tight, *clear)
    depths = with_sideways(survey.depths.stacks, blocked)
    report = Report(findings, tuple(not_run), depths, free_of_it, survey)
    if not remedies:
        return report
    # Loaded when they are asked for: a window shows its first picture without them.
    from geometry.checks.finding_figures import with_tolerances
    from geometry.remedies import with_remedies

    report = with_tolerances(report)
    checked = Checked(scene, report)

    def recheck(changed: Layout) -> Report:
        return check_layout(
            changed, checked, remedies=False, worst_cases=False, volumes="none"
        ).report

    def confirm(changed: Layout, after: Report) -> Report:
        return in_worst_case(changed, after, checked)

    return with_remedies(scene, report, recheck, confirm)


def in_worst_case(layout: Layout, report: Report, before: Checked) -> Report:
    """Return the report of a layout that was checked without its worst cases, these among it.

    `before` is a check to start from where the report does not tell what was measured.
    """
    if report.survey is not None:
        before = Checked(report.survey.scene, report)
    return check_layout(layout, before, remedies=False).report


def help_text(kind: str) -> str:
    """Return what a check looks for, why, and what mends it; KeyError for an unknown kind."""
    text = dict(RULES)[kind].__doc__
    return "\n".join(line.strip() for line in (text or "").strip().splitlines())
