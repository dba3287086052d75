"""What a stack leaves of the depth before the next solid thing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from math import isinf

from catalog.parts import Fan
from geometry.checks.answers import Thing
from geometry.checks.movable import can_go
from geometry.checks.shared_room import Sides
from geometry.checks.survey import Group, Survey, WorstGroup, along_stack
from geometry.checks.words import (
    as_drawn,
    at_least_text,
    called,
    may_go,
    mm_text,
    way_text,
)
from geometry.depths import standing_out
from geometry.finding import Finding, Leftover, NotRun, StackDepth, Verdict
from geometry.layout import Layer
from geometry.margins import role_margin_mm
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import meets
from geometry.placement import Placed
from geometry.scene import Scene
from geometry.stack_sides import out_way, zone_side
from geometry.walls import OUTSIDE

KIND = "leftover_depth"


def check(survey: Survey) -> Iterator[Finding | NotRun]:
    """What a stack leaves of the depth before the next solid thing.

    What: how far the innermost items of a stack, heads and fittings included, could move before
    they touch anything that is not in the stack; the least of all its items, what limits it, and
    where. Told also when it is ample. A shortfall across the stack, at its port end or in a plug's
    room is told by those checks instead.
    Why: a few millimetres decide whether the next thicker exchanger or fan goes in, and fans want
    some free depth to breathe.
    Change: a thinner exchanger or thinner fans, fans on one face only, or a plug with an angled
    cable where a plug limits.
    """
    groups = survey.group(KIND)
    short: dict[tuple[str, str], list[tuple[Group, Placed]]] = {}
    for group in groups:
        one = along_stack(survey.scene, group.worst)
        assert one is not None
        assert one.stack is not None
        other = group.other if group.owner == one.id else group.owner
        short.setdefault((one.stack.id, other), []).append((group, one))
    for (_, other), together in short.items():
        yield _short(survey, together, other)
    depends = (*survey.depths.stacks, survey.scene.layout.settings)
    told = survey.each(KIND, depends, partial(_things, survey)).values()
    worst = survey.worst
    for depth, answer in zip(survey.depths.stacks, told, strict=True):
        at_worst = bool(worst) and _short_at_worst(worst, depth)
        for said in answer.found:
            clear = isinstance(said, Finding) and said.verdict is Verdict.CLEAR
            if not (clear and at_worst):
                yield said


def _things(survey: Survey) -> Iterator[Thing]:
    settings = survey.scene.layout.settings
    for depth in survey.depths.stacks:
        yield (depth.stack, depth.side), (depth, settings), partial(_depth, survey, depth)


def _short_at_worst(groups: Sequence[WorstGroup], depth: StackDepth) -> bool:
    """Whether the worst case tells of the stack and what limits it, so that it is not clear."""
    limit = depth.least.limited_by
    told = [group.ids for group in groups if limit in group.ids]
    return any(left.item in ids for ids in told for left in depth.cells)


def _short(survey: Survey, together: list[tuple[Group, Placed]], other: str) -> Finding:
    """Return what tells of a stack that is too deep by groups of shortfalls, each with its item."""
    scene, groups = survey.scene, [group for group, _ in together]
    group, one = min(together, key=lambda each: each[0].worst.gap_mm)
    assert one.stack is not None
    gap, required = group.worst.gap_mm, group.required_mm
    limit, stack = called(scene, other), _zone_name(scene, one)
    items = tuple(dict.fromkeys(o for g in groups for o in (g.owner, g.other) if o != other))
    if gap < 0:
        title = f"Stack on {stack} is {mm_text(-gap)} too deep: {limit} is in its way"
    else:
        title = f"Stack on {stack} leaves {mm_text(gap)} to {limit}"
    shared = survey.shared(_sides(groups, other)) if gap < 0 else None
    back = tuple(gap * along for along in out_way(one).vector)
    return Finding(
        kind=KIND,
        verdict=group.verdict,
        ids=(*items, one.stack.id, other),
        title=title,
        advice=_make_room(scene, one, other, required - gap, required),
        place=group.worst.place,
        measured_mm=gap,
        of_a_gap=True,
        required_mm=required,
        shares_room=shared is not None,
        volume_mm3=shared.volume_mm3 if shared else None,
        shift=(back[0], back[1], back[2]) if shared else None,
    )


def _make_room(scene: Scene, one: Placed, other: str, by_mm: float, margin_mm: float) -> str:
    """Advise how `by_mm` of depth is won: a free part moves; a stack with layers to spare thins."""
    assert one.stack is not None
    assert one.side is not None
    layers = one.stack.side(one.side)
    fans = [layer for layer in layers if _has_fan(scene, layer)]
    faces = ", or fans on one face only" if len(fans) > 1 and len(fans) < len(layers) else ""
    kept = f"so that the margin of {mm_text(margin_mm)} is kept{as_drawn(scene)}"
    free = other in scene.placed and scene.placed[other].free
    if not (free and can_go(scene, other, out_way(one))):
        locked = f" {called(scene, other)} is locked where it stands." if free else ""
        return (
            f"Make the stack {at_least_text(by_mm)} thinner, {kept}: thinner parts{faces}"
            f"{may_go(scene, other)}.{locked}"
        )
    thinner = f" Or make the stack as much thinner: thinner parts{faces}." * (len(layers) > 1)
    way = way_text(out_way(one))
    return f"Move {called(scene, other)} {at_least_text(by_mm)} {way}, {kept}.{thinner}"


def _has_fan(scene: Scene, layer: Layer) -> bool:
    return any(isinstance(scene.layout.part(item.part), Fan) for item in layer.items)


def _sides(groups: list[Group], other: str) -> Sides:
    """Return the stack's solids that share room with what limits it, and that one's solids."""
    own: dict[Solid, None] = {}
    theirs: dict[Solid, None] = {}
    for gap in (gap for group in groups for gap in group.gaps if gap.shared):
        for solid in (gap.a, gap.b):
            (theirs if solid.owner == other else own)[solid] = None
    return tuple(own), tuple(theirs)


def _depth(survey: Survey, depth: StackDepth) -> Iterator[Finding | NotRun]:
    """Yield what is left where it is enough; what falls short is told by pairs of solids."""
    scene, least = survey.scene, depth.least
    one = scene.placed[least.item]
    side = zone_side(one)
    if isinf(least.mm):
        reason = f"nothing in the layout limits the {depth.side} side of {_zone_name(scene, one)}"
        yield NotRun(KIND, (depth.stack,), f"{reason}; its depth is not known")
        return
    if least.limited_by == _zone_id(one):
        within = meets(least.mm, 0.0)
        yield _against_nominal(scene, one, least, Verdict.CLEAR if within else Verdict.BLOCKED)
        if not within:
            return
    else:
        margin = _limit_margin(survey, least)
        if meets(least.mm, margin):
            yield _ample(survey, depth, margin)
    if side.depth_mm is not None and not meets(side.depth_mm, depth.total_mm):
        yield _over_nominal(scene, one, depth, side.depth_mm)


def _over_nominal(scene: Scene, one: Placed, depth: StackDepth, stated_mm: float) -> Finding:
    least, over_mm = depth.least, depth.total_mm - stated_mm
    measured = least.limited_by != _zone_id(one)
    if measured and not meets(least.mm, 0.0):
        advice = "Use thinner parts on this side."
    else:
        said = "Something stands ahead of what reaches farthest"
        if measured:
            said = f"The depth measured in the model leaves {mm_text(least.mm)}"
        advice = f"{said}; measure the real enclosure before you count on it."
    out = standing_out(scene, depth)
    counts = f" (with {mm_text(out.top_mm - out.base_mm)} of {out.name})" if out else ""
    return Finding(
        kind=KIND,
        verdict=Verdict.TIGHT,
        ids=(depth.stack, _zone_id(one)),
        title=f"Stack of {mm_text(depth.total_mm)} on {_zone_name(scene, one)}{counts} exceeds the "
        f"stated depth of {mm_text(stated_mm)} by {mm_text(over_mm)}",
        advice=advice,
        place=least.start,
        measured_mm=-over_mm,
        required_mm=0.0,
    )


def _ample(survey: Survey, depth: StackDepth, margin: float) -> Finding:
    """Return what tells of a stack that it has room; how much may be added is looked at later."""
    scene, least = survey.scene, depth.least
    one = scene.placed[least.item]
    spare = least.mm - margin
    return Finding(
        kind=KIND,
        verdict=Verdict.CLEAR,
        ids=(least.item, depth.stack, least.limited_by or ""),
        title=f"Stack on {_zone_name(scene, one)} leaves {mm_text(least.mm)} to "
        f"{least.limited_name}",
        advice=f"{mm_text(spare)} more than the margin of {mm_text(margin)} as drawn.",
        place=least.place,
        measured_mm=least.mm,
        required_mm=margin,
        of_a_gap=True,
    )


def _against_nominal(scene: Scene, one: Placed, least: Leftover, verdict: Verdict) -> Finding:
    short = verdict is Verdict.BLOCKED
    return Finding(
        kind=KIND,
        verdict=verdict,
        ids=(least.item, least.stack, least.limited_by or ""),
        title=f"Stack on {_zone_name(scene, one)} "
        + (
            f"is {mm_text(-least.mm)} deeper than its stated depth"
            if short
            else f"leaves {mm_text(max(least.mm, 0.0))} of its stated depth"
        ),
        advice="Use thinner parts on this side."
        if short
        else "The depth is the one stated for the zone; nothing is modelled there to measure to.",
        place=least.place,
        measured_mm=least.mm,
        required_mm=0.0,
    )


def _limit_margin(survey: Survey, least: Leftover) -> float:
    """Return the margin to what limits a stack: none where it is a keep-out."""
    item = survey.depths.items[least.item]
    if item.hit is None or not item.hit.hard or item.hit.owner == OUTSIDE:
        return 0.0
    return role_margin_mm(survey.scene.layout.settings, Role.BODY, item.hit.role)


def _zone_id(one: Placed) -> str:
    assert one.frame is not None
    return one.frame.zone.id


def _zone_name(scene: Scene, one: Placed) -> str:
    assert one.frame is not None
    return scene.name_of(one.frame.zone.id)
