"""Edits that would mend a finding, each tried on a copy of the layout and checked again in full.

An edit is offered only when, with it, the fault is gone and no other fault has come or has grown.
For a port end it is told in a clause why a flip or a turned face is not advised, where that is so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from geometry.checks.survey import Survey, is_port_side
from geometry.checks.words import called, mm_text
from geometry.edits import EditError
from geometry.finding import Finding, Remedy, Report, Verdict
from geometry.layout import Layout
from geometry.measures.clearance import signed_gap_mm
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.remedy_changes import Change, Key, changes_for
from geometry.scene import Scene

Recheck = Callable[[Layout], Report]

Confirm = Callable[[Layout, Report], Report]
"""Takes a changed layout and what `Recheck` said of it."""

MOST_TRIES = 60
"""So many changed layouts are checked for one report; a hopeless layout must not take minutes."""

MOST_REMEDIES = 3

CLEARS = "clears this finding"
NONE_CLEARS_ALL = "No one or two changes tried clear all; these clear some"


@dataclass
class _Bench:
    """Tries changes on one layout, each once."""

    scene: Scene
    report: Report
    recheck: Recheck
    confirm: Confirm
    tried: dict[Key, tuple[Layout, Report] | None] = field(default_factory=dict)
    confirmed: dict[Key, Report] = field(default_factory=dict)

    def outcome(self, change: Change) -> tuple[Layout, Report] | None:
        """Return the layout and report after a change; None when it cannot be made."""
        if change.key not in self.tried:
            if len(self.tried) >= MOST_TRIES:
                return None
            try:
                layout = change.edit(self.scene.layout)
            except EditError:
                self.tried[change.key] = None
            else:
                same = layout is self.scene.layout
                self.tried[change.key] = None if same else (layout, self.recheck(layout))
        return self.tried[change.key]

    def in_worst_case(self, change: Change, layout: Layout, after: Report) -> Report:
        """Return the report of a change that looks good, its worst cases among it."""
        if change.key not in self.confirmed:
            self.confirmed[change.key] = self.confirm(layout, after)
        return self.confirmed[change.key]


def with_remedies(scene: Scene, report: Report, recheck: Recheck, confirm: Confirm) -> Report:
    """Return the report with each fault's remedies, and with why a flip does not help.

    `recheck` returns the report of a changed layout, without remedies of its own; `confirm` does
    too, and looks at the worst cases, for changes that look good without; it is given what was
    said without, so that nothing is measured again.
    """
    bench = _Bench(scene, report, recheck, confirm)
    findings = tuple(
        one if one.verdict is Verdict.CLEAR else _mended(bench, one) for one in report.findings
    )
    return replace(report, findings=findings)


def _mended(bench: _Bench, finding: Finding) -> Finding:
    remedies: list[Remedy] = []
    told: list[str] = []
    for change in changes_for(bench.scene, finding):
        if len(remedies) == MOST_REMEDIES:
            break
        if change.last_resort and remedies:
            continue
        outcome = bench.outcome(change)
        if outcome is None:
            continue
        layout, after = outcome
        worse = new_faults(bench.report, after)
        cured = not _still_there(finding, after)
        if cured and not worse:
            after = bench.in_worst_case(change, layout, after)
            worse = new_faults(bench.report, after)
            cured = not _still_there(finding, after)
        gives = _gives(bench.scene, finding, change, after)
        if cured and not worse:
            remedies.append(Remedy(change.name, layout, gives))
        elif change.doing:
            why = _in_brief(bench.scene, worse[0]) if worse and cured else gives
            told.append(f"{change.doing} ({why})")
    refused = [f"Not advised: {'; '.join(told)}."] if told else []
    advice = " ".join([finding.advice, *refused])
    return replace(finding, advice=advice, remedies=tuple(remedies))


def _in_brief(scene: Scene, fault: Finding) -> str:
    """Say which fault an edit would bring: "then blocked: E1, duct"."""
    concerned = (one if one in scene.placed else scene.name_of(one) for one in fault.ids)
    return f"then {fault.verdict.value}: {', '.join(concerned)}"


def fault_key(finding: Finding) -> tuple[str, frozenset[str]]:
    """Return what makes two findings the same fault: its kind and the things concerned."""
    return finding.kind, frozenset(finding.ids)


def faults(report: Report) -> dict[tuple[str, frozenset[str]], Finding]:
    """Return all blocked and tight findings of a report."""
    return {fault_key(f): f for f in report.findings if f.verdict is not Verdict.CLEAR}


def new_faults(before: Report, after: Report) -> list[Finding]:
    """Return the faults of `after` that `before` does not have, or has in a lesser degree."""
    old = faults(before)
    return [f for key, f in faults(after).items() if key not in old or _grown(old[key], f)]


def _grown(old: Finding, new: Finding) -> bool:
    if old.verdict is not new.verdict:
        return new.verdict is Verdict.BLOCKED
    if old.measured_mm is None or new.measured_mm is None:
        return False
    return new.measured_mm < old.measured_mm - LENGTH_EPS_MM


def _still_there(finding: Finding, after: Report) -> bool:
    """Whether a fault is there after a change, were it in a lesser degree."""
    return fault_key(finding) in faults(after)


def _gives(scene: Scene, finding: Finding, change: Change, after: Report) -> str:
    """Say what a change gives: for a port end the gap that it then keeps."""
    if change.of_port is None or after.survey is None:
        return f"{CLEARS}{change.why}"
    other = next((one for one in finding.ids if one != change.of_port), None)
    there = faults(after).get(fault_key(finding))
    if there is not None and there.shift is not None:
        gap = there.measured_mm
    else:
        gap = port_gap_mm(after.survey, change.of_port, other) if other is not None else None
    if gap is None or other is None:
        return f"{CLEARS}{change.why}"
    if gap < 0:
        return f"overlaps {called(scene, other)} {mm_text(-gap)}"
    return f"leaves {mm_text(gap)} to {called(scene, other)}"


def port_gap_mm(survey: Survey, owner: str, other: str) -> float | None:
    """Return the signed gap between the port side of one part and another (mm); None if absent."""
    scene = survey.scene
    own = [p for s in scene.solids_of[owner] if is_port_side(s) and s.hard for p in s.prisms]
    theirs = [p for s in scene.solids if s.owner == other and s.hard for p in s.prisms]
    return signed_gap_mm(own, theirs) if own and theirs else None
