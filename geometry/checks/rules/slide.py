"""A stack is slid farther than its slots allow."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.checks.bolting import on_zone, shiftable, slide_room
from geometry.checks.survey import Survey
from geometry.checks.words import called, mm_text, slide_text
from geometry.finding import Finding, NotRun, Verdict
from geometry.layout import Stack
from geometry.measures.pose import AXES
from geometry.measures.tolerance import meets
from geometry.placement import Placed
from geometry.scene import Scene

KIND = "slide"


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """A stack is slid farther than its slots allow.

    What: the slide of a stack along u and v, with what its cells are off, against the slots of
    the zone's cells on which it is bolted.
    Why: the screws meet metal instead of a slot.
    Change: slide the stack back into the range given, or choose a zone with longer slots.
    """
    yield from survey.each_stack(KIND, _stack)


def _stack(scene: Scene, stack: Stack, items: tuple[Placed, ...]) -> Iterator[Finding]:
    """Yield one finding for a stack that is off its slots, along u, along v or along both."""
    frame = scene.frames[stack.zone]
    seated = [one for one in items if on_zone(one)]
    ranges = [shiftable(on_zone(one)) for one in seated]
    off_mm: dict[str, float] = {}
    back, stuck = [0.0, 0.0], []
    for k, slide in enumerate((stack.slide_u_mm, stack.slide_v_mm)):
        # Items whose cells cannot all meet the zone's holes are told by their hole pattern.
        own = [pair[k] for pair in ranges if pair[k].possible]
        over = max((max(r.least_mm - slide, slide - r.most_mm) for r in own), default=0.0)
        if meets(0.0, over):
            continue
        axis, room = AXES[(frame.pose.x, frame.pose.y)[k].axis], slide_room(seated, k)
        off_mm[axis] = over
        if room.possible:
            back[k] = min(max(slide, room.least_mm), room.most_mm) - slide
        else:
            stuck.append(axis)
    if off_mm:
        advice = [f"Slide it {slide_text(frame, (back[0], back[1]))}."] if any(back) else []
        advice += [
            f"No slide along {axis} suits all its items; use one item fewer on the plate."
            for axis in stuck
        ]
        off = " and ".join(f"{mm_text(mm)} off its slots along {a}" for a, mm in off_mm.items())
        yield Finding(
            kind=KIND,
            verdict=Verdict.BLOCKED,
            ids=(stack.id, frame.zone.id),
            title=f"Stack on {called(scene, frame.zone.id)} is {off}",
            advice=" ".join(advice),
            place=seated[0].pose.shift,
            measured_mm=-max(off_mm.values()),
            required_mm=0.0,
        )
