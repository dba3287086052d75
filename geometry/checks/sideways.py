"""What stands in a stack's way and is left sooner by a move across the stack than along it.

Then no depth is missing: the stack is not too deep, it stands beside where it could be. So that is
told, and by how much both overlap sideways, and not the way back out of the depth.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from geometry.checks.survey import Group, Survey
from geometry.finding import Finding, Leftover, StackDepth
from geometry.measures.overlap import Shift
from geometry.measures.tolerance import LENGTH_EPS_MM


def sideways_text(survey: Survey, group: Group, shift: Shift) -> str:
    """Return what follows the figure of an overlap: " sideways" where `shift` goes across a stack.

    So it is told of a stacked item that stands in what lies ahead of it; not where that has depth
    left or is limited by something else.
    """
    across = any(
        item.found.mm < 0.0 and item.way.axis != shift.way.axis
        for one, other in ((group.owner, group.other), (group.other, group.owner))
        for item in [survey.depths.items.get(one)]
        if item is not None and item.hit is not None and item.hit.owner == other
    )
    return " sideways" if across else ""


def with_sideways(
    depths: tuple[StackDepth, ...], findings: Iterable[Finding]
) -> tuple[StackDepth, ...]:
    """Return depths that tell by how much each of their items overlaps its limit sideways."""
    parted = [one for one in findings if one.shift is not None and one.measured_mm is not None]
    return tuple(
        replace(depth, cells=tuple(_told(left, parted) for left in depth.cells))
        if any(left.mm < 0.0 for left in depth.cells)
        else depth
        for depth in depths
    )


def _told(left: Leftover, findings: Iterable[Finding]) -> Leftover:
    """Return a leftover depth with the move across its stack that parts what is in its way.

    Not where a move along the stack is what parts both elsewhere: there depth is missing.
    """
    if left.mm >= 0.0:
        return left
    shifts = [
        (abs(found.measured_mm), found.shift[left.way.axis])
        for found in findings
        if left.item in found.ids and left.limited_by in found.ids
        if found.shift is not None and found.measured_mm is not None
    ]
    if not shifts or any(abs(along_mm) > LENGTH_EPS_MM for _, along_mm in shifts):
        return left
    return replace(left, sideways_mm=max(mm for mm, _ in shifts))
