"""Two solids share room."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.checks.movable import Push, move_advice
from geometry.checks.sideways import sideways_text
from geometry.checks.survey import Group, Survey
from geometry.checks.words import as_drawn, at_least_text, called, mm_text, move_on_text
from geometry.finding import Finding
from geometry.measures.overlap import Shift
from geometry.scene import Scene

KIND = "overlap"


def check(survey: Survey) -> Iterator[Finding]:
    """Two solids share room.

    What: the room that two parts, or a part and something of the enclosure, both fill: its volume,
    and the least move along one axis that parts them. Faces that touch share nothing.
    Why: one of them cannot be there.
    Change: move one of them by the distance given, take the obstacle out, or choose a smaller part.
    """
    yield from survey.each_group(KIND, _finding)


def _finding(survey: Survey, group: Group) -> Finding:
    scene = survey.scene
    shared = survey.shared(group.solids)
    shift = shared.shift or group.worst.shift
    assert shift is not None
    one, other = called(scene, group.owner), called(scene, group.other)
    return Finding(
        kind=KIND,
        verdict=group.verdict,
        ids=(group.owner, group.other),
        title=f"{one} and {other} overlap {mm_text(shift.mm)}{sideways_text(survey, group, shift)}",
        advice=f"{_advice(scene, group, shift)}.",
        place=group.worst.place,
        measured_mm=-shift.mm,
        of_a_gap=True,
        required_mm=group.required_mm,
        shares_room=True,
        volume_mm3=shared.volume_mm3,
        shift=shift.vector,
    )


def _advice(scene: Scene, group: Group, shift: Shift) -> str:
    whole_mm = shift.mm + group.required_mm
    kept = f"by {at_least_text(whole_mm)} to keep the margin{as_drawn(scene)}"
    by, back = (
        f"by {move_on_text(each)} to touch, {kept}" for each in (shift, Shift(-shift.way, shift.mm))
    )
    return move_advice(scene, group.owner, group.other, Push(shift.way, whole_mm, by, back))
