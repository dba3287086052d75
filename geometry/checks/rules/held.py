"""A part is held by nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import get_args

from catalog.enclosure import WallName
from geometry.checks.faces import FACES_LOW, WALL_AXIS, openings_behind, own_area, wall_of
from geometry.checks.survey import Survey
from geometry.checks.words import called, mm_text
from geometry.finding import Finding, NotRun, Verdict
from geometry.layout import FreePart, Held, Stack
from geometry.measures.clearance import clearance
from geometry.measures.overlap import shares_room
from geometry.measures.pose import Vec
from geometry.measures.prism import Outline, Prism, view
from geometry.measures.tolerance import meets
from geometry.placement import Placed
from geometry.scene import Scene

KIND = "held"

REACH_MM = 0.5
"""A part stands on what holds it, but for this much (common practice)."""


LONGEST_STANDOFF_MM = 60.0
"""Standoffs and spacers are sold up to about this length (common practice, no source)."""


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """A part is held by nothing.

    What: free parts that name nothing to hold them, or something that is not there, is taken out,
    must not be drilled, to which they are glued without touching it, or which no standoff is long
    enough to reach; parts held by holes in a wall that stand over an opening with half of their
    foot or more; stacks on a bracket that is taken out, or on a side of a zone without layers.
    Why: what is not held moves in transport, strains its fittings and leaks.
    Change: name the cells, holes, clamp or adhesive that hold it, and put it against them. Where
    you drill, take all boards out first, deburr, and keep swarf off live parts.
    """
    yield from survey.each_stack(f"{KIND} stack", _stack)
    yield from survey.each_free(KIND, _free)


def _stack(scene: Scene, stack: Stack, _: tuple[Placed, ...]) -> Iterator[Finding]:
    frame = scene.frames[stack.zone]
    if not frame.present:
        owner = called(scene, frame.zone.owner)
        yield _finding(
            (stack.id, frame.zone.owner),
            f"Stack on {scene.name_of(stack.zone)} is held by {owner}, which is taken out",
            f"Put {owner} back in place, or move the stack to another zone.",
            frame.pose.shift,
            Verdict.BLOCKED,
        )
    for side, plate in (("inner", frame.zone.inner), ("outer", frame.zone.outer)):
        if plate is None and (stack.inner if side == "inner" else stack.outer):
            yield _finding(
                (stack.id, frame.zone.id),
                f"{scene.name_of(stack.zone)} takes no layers on its {side} side",
                "Move these layers to the other side.",
                frame.pose.shift,
                Verdict.BLOCKED,
            )


def _free(scene: Scene, free: FreePart) -> Iterator[Finding | NotRun]:
    one, held = scene.placed[free.id], free.held
    name, place = called(scene, one.id), one.pose.shift
    if held.by == "nothing" or held.on is None:
        yield _finding(
            (one.id,),
            f"{name} is held by nothing",
            "Say what holds it: cells of a zone, holes in a face, a clamp or an adhesive mount.",
            place,
        )
        return
    trouble = _trouble(scene, held)
    if trouble is not None:
        yield _finding((one.id, held.on), f"{name} {trouble}", "Name what holds it.", place)
        return
    for face in scene.layout.enclosure.no_drill:
        if held.by == "holes" and held.on in _names_of_wall(scene, face.wall):
            yield _finding(
                (one.id, face.id),
                f"{name} needs holes in the {called(scene, face.wall)}: {face.reason}",
                "Use a clamp, an adhesive mount or another face.",
                place,
                Verdict.BLOCKED,
            )
    yield from _reached(scene, one, held)


def _names_of_wall(scene: Scene, wall: str) -> set[str]:
    panels = scene.layout.enclosure.panels
    return {wall, *(panel.id for panel in panels if panel.wall == wall)}


def _trouble(scene: Scene, held: Held) -> str | None:
    """Return why what should hold a part cannot; None when it can."""
    enclosure = scene.layout.enclosure
    if held.by == "zone cells":
        frame = scene.frames.get(held.on or "")
        if frame is None:
            return f"is held by cells of {held.on}, which is no zone"
        missing = [c for c in held.cells if all(c != cell.id for cell in frame.zone.cells)]
        zone = scene.name_of(frame.zone.id)
        if missing or not held.cells:
            return f"names no cell that {zone} has"
        return None if frame.present else f"is held by {zone}, which is taken out"
    known = {
        *scene.placed,
        *get_args(WallName),
        *(panel.id for panel in enclosure.panels),
        *(obstacle.id for obstacle in enclosure.obstacles),
        *(solid.id for solid in enclosure.outside),
    }
    if held.on not in known:
        return f"is held on {held.on}, which is not there"
    if any(o.id == held.on for o in enclosure.obstacles) and not _solids(scene, held.on or ""):
        return f"is held on {called(scene, held.on or '')}, which is taken out"
    return None


def _solids(scene: Scene, on: str) -> Sequence[Prism]:
    """Return all that fills the room of what holds a part: an owner's solids, a zone's plate."""
    frame = scene.frames.get(on)
    wanted = frame.zone.owner if frame is not None else on
    for panel in scene.layout.enclosure.panels:
        if panel.id == wanted:
            wanted = panel.wall
    found = [s for s in scene.solids if s.owner == wanted and s.hard]
    # A ledge inside the cavity belongs to the wall from which it stands out.
    if wanted in get_args(WallName):
        found += [s for s in scene.walls.solids if s.owner == "step"]
    return [p for s in found for p in s.prisms]


def _reached(scene: Scene, one: Placed, held: Held) -> Iterator[Finding | NotRun]:
    assert held.on is not None
    own = [p for s in scene.solids_of[one.id] if s.hard for p in s.prisms]
    theirs = _solids(scene, held.on)
    wall = wall_of(scene.layout.enclosure, held.on)
    if wall is not None and held.by == "holes":
        yield from _over_openings(scene, one, held.on, wall, own)
    if not theirs or shares_room(own, theirs):
        return
    gap = clearance(own, theirs).mm
    if meets(REACH_MM, gap):
        return
    name, on = called(scene, one.id), called(scene, held.on)
    if held.by != "adhesive" and (held.by == "clamp" or meets(LONGEST_STANDOFF_MM, gap)):
        means = {"clamp": "a clamp", "holes": "screws or standoffs"}.get(held.by, "screws")
        reason = f"not known whether {means} can span {mm_text(gap)}"
        yield NotRun(KIND, (one.id, held.on), reason)
        return
    reach_mm, why = REACH_MM, ""
    if held.by != "adhesive":
        reach_mm = LONGEST_STANDOFF_MM
        why = f": no standoff reaches over more than {mm_text(reach_mm)}"
    yield _finding(
        (one.id, held.on),
        f"{name} stands {mm_text(gap)} off the {on} that holds it{why}",
        f"Move it against the {on}, or name what else holds it.",
        one.pose.shift,
        measured_mm=reach_mm - gap,
    )


def _over_openings(
    scene: Scene, one: Placed, on: str, wall: str, own: Sequence[Prism]
) -> Iterator[Finding | NotRun]:
    """Tell what is behind the foot of a part that is screwed to a wall.

    Where its holes are is not described; over an opening there is nothing to screw into.
    """
    foot = _foot(own, wall)
    behind, area = openings_behind(scene.layout.enclosure, wall, foot)
    names = ", ".join(opening.name for opening in behind)
    if area >= own_area(foot) / 2:
        yield _finding(
            (one.id, on, *(opening.id for opening in behind)),
            f"{called(scene, one.id)} stands over {names}: no metal to screw into",
            f"Move it beside the opening in the {called(scene, wall)}, or name what else holds it.",
            one.pose.shift,
        )
        return
    beside = f" and miss {names}" if names else ""
    reason = f"where its holes are is not described, nor whether they meet metal{beside}"
    yield NotRun(KIND, (one.id, on), reason)


def _foot(own: Sequence[Prism], wall: str) -> list[Outline]:
    """Return the outlines of those prisms of a part that reach as far towards a wall as any."""
    axis = WALL_AXIS[wall]
    ends = [p.bounds[axis] if wall in FACES_LOW else -p.bounds[axis + 3] for p in own]
    nearest = min(ends)
    return [
        view(prism, axis)
        for prism, end in zip(own, ends, strict=True)
        if meets(nearest + REACH_MM, end)
    ]


def _finding(
    ids: tuple[str, ...],
    title: str,
    advice: str,
    place: Vec,
    verdict: Verdict = Verdict.TIGHT,
    measured_mm: float | None = None,
) -> Finding:
    return Finding(
        kind=KIND,
        verdict=verdict,
        ids=ids,
        title=title,
        advice=advice,
        place=place,
        measured_mm=measured_mm,
        required_mm=None if measured_mm is None else 0.0,
    )
