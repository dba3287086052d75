"""Two solids stand closer than their margin."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.checks.movable import away_advice
from geometry.checks.survey import Group, Survey
from geometry.checks.words import as_drawn, called, missing_text, mm_text
from geometry.finding import Finding

KIND = "clearance"


def check(survey: Survey) -> Iterator[Finding]:
    """Two solids stand closer than their margin.

    What: the least distance between two solids, where it is less than the margin of the layout or
    of their pair of roles. Bolted neighbours may touch, and what belongs to a plug, a port end or
    the depth of a stack is told by those checks.
    Why: sheet metal, plastic and holes are off by some tenths; cables, fingers and air want a gap.
    Change: move one of them by the millimetres to the margin, or set a smaller one with a reason.
    """
    yield from survey.each_group(KIND, _finding)


def _finding(survey: Survey, group: Group) -> Finding:
    scene, worst = survey.scene, group.worst
    one, other = called(scene, group.owner), called(scene, group.other)
    missing, drawn = group.required_mm - worst.gap_mm, as_drawn(scene)
    advice = away_advice(scene, worst, group.owner, group.other, missing)
    return Finding(
        kind=KIND,
        verdict=group.verdict,
        ids=(group.owner, group.other),
        title=f"{one} stands {mm_text(worst.gap_mm)} from {other}, "
        f"{missing_text(worst.gap_mm, group.required_mm)}{drawn}",
        advice=f"{advice}.",
        place=worst.place,
        measured_mm=worst.gap_mm,
        of_a_gap=True,
        required_mm=group.required_mm,
    )
