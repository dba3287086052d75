"""A fan blows against the air of its stack, or against a closed wall."""

from __future__ import annotations

from collections.abc import Iterator

from catalog.enclosure import Enclosure
from catalog.parts import Fan
from geometry.checks.faces import WALL_AXIS, openings_behind, wall_of
from geometry.checks.survey import Survey
from geometry.checks.words import called
from geometry.finding import Finding, NotRun, Verdict
from geometry.layout import Item, Stack
from geometry.measures.prism import box, place, view
from geometry.placement import Placed
from geometry.scene import Scene

KIND = "air_sense"


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """A fan blows against the air of its stack, or against a closed wall.

    What: a fan that is set against the air sense of its stack, inward or outward; a fan on a wall
    that has no opening behind it. Where no opening is described of an enclosure at all, and of
    brackets inside it, that is not looked at.
    Why: two fans on one core that blow at each other move next to no air, and no air passes a
    closed wall.
    Change: change the fan's air direction, or that of the whole stack; move fans to cells with a
    grille.
    """
    yield from survey.each_stack(f"{KIND} opening", _closed)
    yield from survey.each_stack(f"{KIND} against", _against)


def _against(scene: Scene, stack: Stack, items: tuple[Placed, ...]) -> Iterator[Finding]:
    for one in items:
        use = one.use
        if isinstance(use, Item) and use.air == "against" and isinstance(one.part, Fan):
            yield Finding(
                kind=KIND,
                verdict=Verdict.TIGHT,
                ids=(one.id, stack.id),
                title=f"{called(scene, one.id)} blows against its stack's air",
                advice=f"Change its air direction: the air of the stack goes {stack.air}.",
                place=one.pose.point((0.0, 0.0, one.part.thickness_mm / 2)),
            )


def _closed(scene: Scene, stack: Stack, items: tuple[Placed, ...]) -> Iterator[Finding | NotRun]:
    """Yield one finding for all fans of a stack that have no opening behind them."""
    frame, enclosure = scene.frames[stack.zone], scene.layout.enclosure
    wall = wall_of(enclosure, frame.zone.owner)
    fans = [one for one in items if isinstance(one.part, Fan)]
    if wall is None or not fans:
        return
    if not enclosure.openings:
        reason = f"no opening of {enclosure.name} is described; whether air passes is not known"
        yield NotRun(KIND, (stack.id, frame.zone.id), reason)
        return
    closed = [one for one in fans if not opening_behind(enclosure, one, wall)]
    if closed:
        names = ", ".join(called(scene, one.id) for one in closed)
        yield Finding(
            kind=KIND,
            verdict=Verdict.TIGHT,
            ids=(*(one.id for one in closed), stack.id, frame.zone.id),
            title=f"No opening of {scene.name_of(frame.zone.id)} behind {names}: no air passes",
            advice="Move fans to cells with a grille behind them, or have one cut.",
            place=closed[0].pose.shift,
        )


def opening_behind(enclosure: Enclosure, one: Placed, wall: str) -> bool:
    """Whether an opening of a wall lies behind any of a fan's frame."""
    assert isinstance(one.part, Fan)
    half = one.part.frame_mm / 2
    frame = place(box((-half, -half, 0.0), (half, half, one.part.thickness_mm)), one.pose)
    behind, _ = openings_behind(enclosure, wall, [view(frame, WALL_AXIS[wall])])
    return bool(behind)
