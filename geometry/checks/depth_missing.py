"""What a fault lacks of a stack's depth where it is parted sooner by a move across the stack.

The two figures are of one fault: the least move that parts both things, and the way back out of
the depth that the drawing tells.
"""

from __future__ import annotations

from geometry.checks.survey import Group, Survey
from geometry.checks.words import mm_text
from geometry.measures.overlap import Shift


def depth_missing_mm(survey: Survey, group: Group, shift: Shift) -> float | None:
    """Return by how much a stacked item of a group is too deep, where `shift` goes across that.

    None where it has depth left, is limited by something else or `shift` goes along its stack.
    """
    lacks = [
        -item.found.mm
        for one, other in ((group.owner, group.other), (group.other, group.owner))
        for item in [survey.depths.items.get(one)]
        if item is not None and item.hit is not None and item.hit.owner == other
        if item.found.mm < 0.0 and item.way.axis != shift.way.axis
    ]
    return max(lacks, default=None)


def across_text(missing_mm: float | None) -> str:
    """Say that the figure before it is sideways, and what is missing of the depth.

    >>> across_text(13.8), across_text(None)
    (' sideways; 13.8 mm of depth missing', '')
    """
    return "" if missing_mm is None else f" sideways; {mm_text(missing_mm)} of depth missing"
