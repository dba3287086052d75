"""The gap that two solids must keep, by their roles."""

from __future__ import annotations

from geometry.layout import Settings
from geometry.measures.solid import Role, Solid


def judged(a: Solid, b: Solid) -> bool:
    """Whether there is a verdict on two solids at all.

    There is none within the enclosure, within one part, on air, and between two keep-outs, which
    may share their room.
    """
    if (a.fixed and b.fixed) or a.owner == b.owner:
        return False
    if Role.AIR in (a.role, b.role):
        return False
    return a.hard or b.hard


def may_touch(a: Solid, b: Solid) -> bool:
    """Whether two solids need no gap: bolted neighbours, and any pair with a keep-out."""
    return not (a.hard and b.hard) or a.bolted_to(b)


def required_mm(settings: Settings, a: Solid, b: Solid) -> float:
    """Return the gap asked for between two solids (mm); 0 where they may touch."""
    return 0.0 if may_touch(a, b) else role_margin_mm(settings, a.role, b.role)


def role_margin_mm(settings: Settings, a: Role, b: Role) -> float:
    """Return the margin of a pair of roles (mm), the layout's where none is set for it."""
    for margin in settings.margins:
        if margin.roles in ((a.value, b.value), (b.value, a.value)):
            return margin.margin_mm
    return settings.margin_mm


def greatest_margin_mm(settings: Settings) -> float:
    """Return how far one must look for pairs that are too near (mm)."""
    return max(settings.margin_mm, *(m.margin_mm for m in settings.margins), 0.0)
