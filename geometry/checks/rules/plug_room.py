"""A plug or the bend of its cable has no room."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from catalog.parts import Board, Card, Drive, Fan, Pump, PumpReservoir, Supply, part_plugs
from geometry.checks.back_inside import NO_WAY_BACK
from geometry.checks.movable import Push, move_advice
from geometry.checks.sideways import sideways_text
from geometry.checks.survey import Group, Survey
from geometry.checks.words import called, called_of, mm_text, move_on_text
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
    Change: move the part by the distance given, or use a plug with an angled cable.
    """
    yield from survey.each_group(KIND, _finding)
    unknown = survey.once(KIND, (survey.things,), partial(_without_plugs, survey.scene))
    if unknown:
        yield NotRun(KIND, unknown, "no plug is described for these parts")


def _without_plugs(scene: Scene) -> Iterator[str]:
    parts = scene.layout.parts.items()
    without = {key for key, part in parts if isinstance(part, HAVE_LEADS) and not part_plugs(part)}
    for one in scene.placed.values():
        if one.use.part in without:
            yield one.id


def _finding(survey: Survey, group: Group) -> Finding:
    scene = survey.scene
    shared, mover = survey.shared(group.solids), group.worst.a
    shift = shared.shift
    mm = -group.worst.gap_mm if shift is None else shift.mm
    keeps = group.worst.a if mover.role is Role.KEEP_OUT else group.worst.b
    stands = group.other if keeps is mover else group.owner
    one, what = called(scene, stands), called_of(scene, keeps.name, keeps.owner)
    if shift is None:
        which_way, advice = "", NO_WAY_BACK
    else:
        which_way = sideways_text(survey, group, shift)
        by = (move_on_text(shift), move_on_text(Shift(-shift.way, mm)))
        move = move_advice(scene, group.owner, group.other, Push(shift.way, mm, *by))
        advice = f"{move}, or choose a plug with an angled cable."
    return Finding(
        kind=KIND,
        verdict=Verdict.BLOCKED,
        ids=(group.owner, group.other),
        title=f"{what[:1].upper()}{what[1:]} has no room: "
        f"{one} overlaps it {mm_text(mm)}{which_way}",
        advice=advice,
        place=group.worst.place,
        measured_mm=-mm,
        of_a_gap=True,
        required_mm=0.0,
        shares_room=True,
        volume_mm3=shared.volume_mm3,
        shift=shift.vector if shift else None,
    )
