"""A part is not inside the cavity."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.checks.survey import Survey
from geometry.checks.words import called, mm_text, move_text
from geometry.finding import Finding, Verdict
from geometry.overlap import parting_shift
from geometry.pairs import PairGap
from geometry.walls import OUTSIDE

KIND = "outside_cavity"


def check(survey: Survey) -> Iterator[Finding]:
    """A part is not inside the cavity.

    What: a part that shares room with a wall or lies beyond the walls, and the least move along
    one axis that brings it back inside. Layers on the outer side of a wall are meant to be there.
    Why: the wall is in the way, or the panel does not close.
    Remedy: move the part by the distance given, or choose a smaller one.
    """
    by_owner: dict[str, list[PairGap]] = {}
    for group in survey.group(KIND):
        for gap in group.gaps:
            # What runs through a wall ends beyond it; the wall is told by the check that owns it.
            if gap.b.owner != OUTSIDE or not survey.crosses_wall(gap.a):
                by_owner.setdefault(group.owner, []).append(gap)
    for owner, gaps in by_owner.items():
        yield _finding(survey, owner, gaps)


def _finding(survey: Survey, owner: str, gaps: list[PairGap]) -> Finding:
    scene = survey.scene
    prisms = [p for solid in dict.fromkeys(gap.a for gap in gaps) for p in solid.prisms]
    through = [gap for gap in gaps if gap.b.owner != OUTSIDE]
    worst = min(through or gaps, key=lambda gap: gap.gap_mm)
    shift = parting_shift(prisms, scene.walls.all_but_cavity) or worst.shift
    assert shift is not None
    one = called(scene, owner)
    walls = list(dict.fromkeys(gap.b.owner for gap in through))
    where = ", ".join(called(scene, wall) for wall in walls)
    title = f"{one} runs into the {where}" if walls else f"{one} lies outside the enclosure"
    return Finding(
        kind=KIND,
        verdict=Verdict.BLOCKED,
        ids=(owner, *(walls or [OUTSIDE])),
        title=f"{title}, {mm_text(shift.mm)} too far",
        advice=f"Move {one} by {move_text(shift)} to bring it back inside.",
        place=worst.place,
        measured_mm=-shift.mm,
        required_mm=0.0,
        shift=shift.vector,
    )
