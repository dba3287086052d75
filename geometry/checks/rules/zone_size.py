"""A stack is longer or wider than its zone."""

from __future__ import annotations

from collections.abc import Iterator

from catalog.parts import Adapter, Exchanger, Fan, Gasket, Part
from geometry.checks.survey import Survey
from geometry.checks.words import called, given_mm_text, mm_text
from geometry.finding import Finding, NotRun, Verdict
from geometry.layout import Stack
from geometry.measures.tolerance import meets
from geometry.placement import Placed
from geometry.scene import Scene

KIND = "zone_size"

RAISED = (
    "Only tight, since it does not lie on the plate: what it strikes is a finding of its own, and "
    "fewer screws carry it. "
)


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """A stack is longer or wider than its zone.

    What: frames of fans, cores of exchangers, gaskets and adapters against the rectangle of the
    zone. End tanks may pass it: what they meet is measured in space, by the check of port ends and
    of shared room. Plates that carry a pump may hang over, and a slide is judged by its slots.
    Why: what lies on the plate needs the plate under it: blocked. What is stacked farther up may
    pass it when nothing else is in the way: tight, since the mounting carries it on fewer screws.
    Change: a part for fewer or smaller fans, or a longer zone.
    """
    yield from survey.each_stack(KIND, _stack)


def _stack(scene: Scene, _: Stack, items: tuple[Placed, ...]) -> Iterator[Finding]:
    for side in ("inner", "outer"):
        flat = [one for one in items if one.side == side and _flat_size(one.part) is not None]
        over = [(_over_mm(one), one) for one in flat]
        seated = [pair for pair in over if _on_plate(pair[1])]
        raised = [pair for pair in over if not _on_plate(pair[1])]
        worst = max(seated, key=lambda pair: pair[0], default=None)
        above = max(raised, key=lambda pair: pair[0], default=None)
        if worst is not None and not meets(0.0, worst[0]):
            yield _finding(scene, *worst, Verdict.BLOCKED)
        elif above is not None and not meets(0.0, above[0]):
            yield _finding(scene, *above, Verdict.TIGHT)


def _flat_size(part: Part) -> tuple[float, float] | None:
    """Return the length and width of what must lie in the zone; None when it may hang over."""
    if isinstance(part, Fan):
        return part.frame_mm, part.frame_mm
    if isinstance(part, Exchanger):
        return part.core_length_mm, part.core_width_mm
    if isinstance(part, Gasket | Adapter):
        return part.length_mm, part.width_mm
    return None


def _on_plate(one: Placed) -> bool:
    assert one.frame is not None
    return any(seat.on == one.frame.zone.id for seat in one.seats)


def _over_mm(one: Placed) -> float:
    """Return how far an item stands over the zone's rectangle, negative when it lies within."""
    size = _flat_size(one.part)
    assert size is not None
    assert one.frame is not None
    half = (size[0] / 2, size[1] / 2)
    corners = [
        one.frame.pose.local(one.pose.point((sign * half[0], sign * half[1], 0.0)))
        for sign in (-1, 1)
    ]
    assert one.stack is not None
    zone, slide_u, slide_v = one.frame.zone, one.stack.slide_u_mm, one.stack.slide_v_mm
    flat = [(u - slide_u, v - slide_v) for u, v, _ in corners]
    return max(max(-u, u - zone.length_mm, -v, v - zone.width_mm) for u, v in flat)


def _finding(scene: Scene, over_mm: float, one: Placed, verdict: Verdict) -> Finding:
    assert one.frame is not None
    assert one.stack is not None
    zone = one.frame.zone
    return Finding(
        kind=KIND,
        verdict=verdict,
        ids=(one.id, one.stack.id, zone.id),
        title=f"{called(scene, one.id)} stands {mm_text(over_mm)} over the edge of "
        f"{called(scene, zone.id)}",
        advice=f"{'' if verdict is Verdict.BLOCKED else RAISED}"
        f"The zone is {given_mm_text(zone.length_mm)} x {given_mm_text(zone.width_mm)}; "
        "choose a part for fewer or smaller fans, or move it to a cell from which it does not pass "
        "the edge.",
        place=one.pose.shift,
        measured_mm=-over_mm,
        required_mm=0.0,
    )
