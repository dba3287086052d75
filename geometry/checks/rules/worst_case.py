"""A gap that keeps its margin as drawn, but not once all dimensions are off."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.checks.survey import Survey, WorstGroup, is_port_side
from geometry.checks.words import (
    at_least_text,
    called_of,
    called_solid,
    may_go,
    missing_text,
    mm_text,
    overlap_text,
)
from geometry.finding import Finding, Verdict
from geometry.measures.solid import Role

KIND = "worst_case"

MOST_NAMED = 3


def check(survey: Survey) -> Iterator[Finding]:
    """A gap that keeps its margin as drawn, but not once all dimensions are off.

    What: gaps between two parts, of a port end or its fittings, before a stack or round a plug
    that are as large as asked for with every dimension at its nominal value, and smaller when each
    is off by its tolerance the way that closes the gap. Tolerances are those given in the part or
    enclosure, else ISO 2768-1 class m; what is screwed on may sit 0.5 mm off across its screws.
    Why: sheet metal, plastic and castings are made to tolerances, and a long chain of them adds
    up; what fits on paper may not fit the one enclosure on the bench.
    Change: measure the dimensions with the largest share and give them the tolerance you found,
    leave more room, or judge as drawn if you can file and shim.
    """
    for group in survey.worst:
        yield _finding(survey, group)


def _finding(survey: Survey, group: WorstGroup) -> Finding:
    from geometry.stackup.words import contributor_words

    scene, pair = survey.scene, group.pair
    gap, worst = pair.gap, pair.figure.worst
    one, other = called_solid(scene, gap.a), called_solid(scene, gap.b)
    if is_port_side(gap.a):
        what = "port end" if gap.a.role is Role.PORT_END else gap.a.name
        one = called_of(scene, what, gap.a.owner)
    if is_port_side(gap.a) or gap.a.role is Role.KEEP_OUT:
        one = one[:1].upper() + one[1:]
    short = pair.required_mm - worst.worst_mm
    named = [contributor_words(each, "mm") for each in worst.contributors[:MOST_NAMED]]
    left_mm, needed_mm = worst.worst_mm, pair.required_mm
    left = (
        f"{mm_text(left_mm)} is left, {missing_text(left_mm, needed_mm)}"
        if left_mm >= 0
        else f"it {overlap_text(left_mm, needed_mm)}"
    )
    return Finding(
        kind=KIND,
        verdict=Verdict.TIGHT,
        ids=group.ids,
        title=f"{one} stands {mm_text(gap.gap_mm)} from {other}; in the worst case {left}",
        advice=f"{at_least_text(short)} more would keep {mm_text(pair.required_mm)} in the "
        f"worst case{may_go(scene, gap.b.owner)}. Largest shares: {'; '.join(named)}.",
        place=gap.place,
        measured_mm=gap.gap_mm,
        of_a_gap=True,
        required_mm=pair.required_mm,
        tolerance=pair.figure,
    )
