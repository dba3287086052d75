"""A part is not inside the cavity."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from geometry.checks.answers import Thing
from geometry.checks.back_inside import NO_WAY_BACK
from geometry.checks.movable import Push, move_advice
from geometry.checks.survey import Survey
from geometry.checks.words import called, mm_text, move_on_text
from geometry.finding import Finding, Verdict
from geometry.measures.overlap import parting_shift
from geometry.measures.prism import Bounds
from geometry.measures.solid import Solid
from geometry.pairs import PairGap
from geometry.walls import BEYOND_MM, OUTSIDE

KIND = "outside_cavity"


def check(survey: Survey) -> Iterator[Finding]:
    """A part is not inside the cavity.

    What: a part that shares room with a wall or lies beyond the walls, and the least move along
    one axis that brings it back inside. Layers on the outer side of a wall are meant to be there.
    Why: the wall is in the way, or the panel does not close.
    Change: move the part by the distance given, or choose a smaller one.
    """
    # Whatever moves may change what is outside.
    for answer in survey.each(KIND, (object(),), partial(_things, survey)).values():
        yield from answer.found


def _things(survey: Survey) -> Iterator[Thing]:
    for owner, gaps in survey.outside().items():
        met = [each for gap in gaps for each in (gap.a, gap.b, gap.place)]
        depends = (survey.scene.placed.get(owner), *met)
        yield owner, depends, partial(_findings, survey, owner, gaps)


def _findings(survey: Survey, owner: str, gaps: tuple[PairGap, ...]) -> Iterator[Finding]:
    scene = survey.scene
    solids = tuple(dict.fromkeys(gap.a for gap in gaps))
    prisms = [p for solid in solids for p in solid.prisms]
    through = [gap for gap in gaps if gap.b.owner != OUTSIDE]
    worst = min(through or gaps, key=lambda gap: gap.gap_mm)
    one = called(scene, owner)
    walls = list(dict.fromkeys(gap.b.owner for gap in through))
    where = ", ".join(called(scene, wall) for wall in walls)
    title = f"{one} runs into the {where}" if walls else f"{one} lies outside the enclosure"
    shift = parting_shift(prisms, scene.walls.all_but_cavity)
    if shift is not None and shift.mm < BEYOND_MM / 2:
        mm, by = shift.mm, f"by {move_on_text(shift)} to be just back inside, with no gap left"
        met = walls[0] if walls else OUTSIDE
        advice = f"{move_advice(scene, owner, met, Push(shift.way, mm, by))}."
    else:
        # No move along one axis ends inside; it would have to pass everything there is.
        shift, mm = None, _passing_mm(solids, scene.walls.cavity)
        advice = NO_WAY_BACK
    yield Finding(
        kind=KIND,
        verdict=Verdict.BLOCKED,
        ids=(owner, *(walls or [OUTSIDE])),
        title=f"{title}, {mm_text(mm)} too far",
        advice=advice,
        place=worst.place,
        measured_mm=-mm,
        of_a_gap=shift is not None,
        required_mm=0.0,
        shift=shift.vector if shift is not None else None,
    )


def _passing_mm(solids: tuple[Solid, ...], cavity: Bounds) -> float:
    """Return how far solids pass the bounds of the cavity at most (mm)."""
    every = [solid.bounds for solid in solids]
    return max(
        max(cavity[k] - min(b[k] for b in every), max(b[k + 3] for b in every) - cavity[k + 3])
        for k in range(3)
    )
