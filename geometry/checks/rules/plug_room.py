"""A plug or the bend of its cable has no room."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from catalog.parts import Board, Card, Drive, Fan, Pump, PumpReservoir, Supply, part_plugs
from geometry.checks.depth_missing import across_text, depth_missing_mm
from geometry.checks.movable import move_advice
from geometry.checks.survey import Group, Survey
from geometry.checks.words import called, called_of, mm_text, move_text
from geometry.finding import Finding, NotRun, Verdict
from geometry.measures.overlap import Shift
from geometry.measures.solid import Role
from geometry.scene import Scene

KIND = "plug_room"

HAVE_LEADS = (Fan, Pump, PumpReservoir, Board, Card, Supply, Drive)


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """A plug or the bend of its cable has no room.

    What: a solid that stands in the room kept for a plug and the bend of its cable. Two such rooms
    may share: cables give way to each other.
    Why: the plug cannot be pushed in, or its cable is kinked at the plug. Unplug the mains and wait
    for supplies to discharge before you try; leave mains wiring to a licensed electrician.
    Remedy: move the part by the distance given, or use a plug with an angled cable.
    """
    yield from survey.each_group(KIND, _finding)
    unknown = survey.once(KIND, (survey.things,), partial(_without_plugs, survey.scene))
    if unknown:
        yield NotRun(KIND, unknown, "no plug is described for these parts")


def _without_plugs(scene: Scene) -> Iterator[str]:
    for one in scene.placed.values():
        if isinstance(one.part, HAVE_LEADS) and not part_plugs(one.part):
            yield one.id


def _finding(survey: Survey, group: Group) -> Finding:
    scene = survey.scene
    shift = survey.shared(group.solids).shift or group.worst.shift
    assert shift is not None
    mover = group.worst.a
    keeps = group.worst.a if mover.role is Role.KEEP_OUT else group.worst.b
    stands = group.other if keeps is mover else group.owner
    one = called(scene, stands)
    plug = called_of(scene, keeps.name, keeps.owner)
    back = Shift(-shift.way, shift.mm)
    by = (move_text(shift), move_text(back))
    advice = move_advice(scene, group.owner, group.other, shift.way, *by)
    return Finding(
        kind=KIND,
        verdict=Verdict.BLOCKED,
        ids=(group.owner, group.other),
        title=f"{plug[:1].upper()}{plug[1:]} has no room: {one} overlaps it {mm_text(shift.mm)}"
        f"{across_text(depth_missing_mm(survey, group, shift))}",
        advice=f"{advice}, or choose a plug with an angled cable.",
        place=group.worst.place,
        measured_mm=-shift.mm,
        required_mm=0.0,
        volume_mm3=survey.shared(group.solids).volume_mm3,
        shift=shift.vector,
    )
