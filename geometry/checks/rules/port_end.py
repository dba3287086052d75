"""A port end, a fitting or the hand room round it is in the way."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from catalog.parts import Exchanger, Pump, PumpReservoir, Reservoir, part_ports
from geometry.checks.back_inside import NO_WAY_BACK
from geometry.checks.movable import Push, away_advice, move_advice
from geometry.checks.sideways import sideways_text
from geometry.checks.survey import Group, Survey, is_port_side
from geometry.checks.words import (
    as_drawn,
    at_least,
    called_of,
    called_solid,
    missing_text,
    mm_text,
    move_on_text,
    overlap_text,
)
from geometry.finding import Finding, NotRun
from geometry.measures.overlap import Shift
from geometry.measures.solid import Role, Solid
from geometry.scene import Scene

KIND = "port_end"

HAVE_PORTS = (Exchanger, Pump, Reservoir, PumpReservoir)


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """A port end, a fitting or the hand room round it is in the way.

    What: the end tank with the ports, the fittings on open ports and the room for the hand that
    turns them, against everything else; the millimetres missing, which from a wall are those back
    inside, and what the other end or the other face would give after all checks have run again.
    Why: the port end is longer and often thicker than the rest of an exchanger, and its fittings
    stand out farther still; a peg or duct near one end of a zone stops it there.
    Change: flip the port end, turn the ports to the other face, slide the stack in its slots, plug
    the port and use another, or choose a shorter fitting. Keep liquid fittings away from live
    parts, and test for leaks with the electronics unpowered.
    """
    yield from survey.each_group(KIND, _finding)
    yield from survey.once(KIND, (survey.things,), partial(_without_ports, survey.scene))


def _without_ports(scene: Scene) -> Iterator[NotRun]:
    parts = scene.layout.parts.items()
    without = {key for key, part in parts if isinstance(part, HAVE_PORTS) and not part_ports(part)}
    for one in scene.placed.values():
        if one.use.part in without:
            yield NotRun(KIND, (one.id,), f"{one.part.name} is described without ports")


def _finding(survey: Survey, group: Group) -> Finding:
    scene, worst = survey.scene, group.worst
    shared = survey.shared(group.solids) if group.shared else None
    shift = shared.shift if shared else None
    gap = worst.gap_mm if shift is None else -shift.mm
    what = worst.a if is_port_side(worst.a) else worst.b
    stands = worst.b if what is worst.a else worst.a
    mine, other = called_of(scene, _part_of(what), what.owner), called_solid(scene, stands)
    missing, drawn = group.required_mm - gap, as_drawn(scene)
    if shared is not None:
        which_way = "" if shift is None else sideways_text(survey, group, shift)
        overlap = overlap_text(gap, group.required_mm, which_way)
        title = f"{_capital(mine)} is stopped by {other}: {overlap}"
        advice = NO_WAY_BACK if shift is None else f"{_parting_advice(scene, group, shift)}."
    else:
        title = f"{_capital(mine)} stands {mm_text(gap)} from {other}, "
        title += missing_text(gap, group.required_mm)
        away = away_advice(scene, worst, group.owner, group.other, missing)
        advice = f"{away}."
    return Finding(
        kind=KIND,
        verdict=group.verdict,
        ids=(group.owner, group.other),
        title=title + drawn,
        advice=advice,
        place=worst.place,
        measured_mm=gap,
        of_a_gap=True,
        required_mm=group.required_mm,
        shares_room=shared is not None,
        volume_mm3=shared.volume_mm3 if shared else None,
        shift=shift.vector if shift else None,
    )


def _parting_advice(scene: Scene, group: Group, shift: Shift) -> str:
    back = Shift(-shift.way, shift.mm)
    by, back_by = (move_on_text(to, group.required_mm) for to in (shift, back))
    by_mm = shift.mm + group.required_mm
    push = Push(shift.way, by_mm, by, back_by, at_least(scene))
    return move_advice(scene, group.owner, group.other, push)


def _part_of(solid: Solid) -> str:
    return "port end" if solid.role is Role.PORT_END else solid.name


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
