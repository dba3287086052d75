"""What stands in a layout and not in another that a search makes of it, in words."""

from __future__ import annotations

from collections import Counter

from geometry.edits.base import used_parts
from geometry.layout import Layout
from geometry.placement import owner_state


def taken_out(before: Layout, after: Layout) -> tuple[str, ...]:
    """Return what is gone: parts with how many of them, then obstacles that stood before.

    What is put elsewhere is not gone, nor is a part that another of its kind stands for.
    """
    return (*parts_taken_out(before, after), *_obstacles(before, after))


def parts_taken_out(before: Layout, after: Layout) -> tuple[str, ...]:
    """Return the parts that are gone, fittings on ports too, with how many of them."""
    gone = Counter(used_parts(before)) - Counter(used_parts(after))
    return tuple(
        f"{count} x {before.part(one).name}" if count > 1 else before.part(one).name
        for one, count in gone.items()
    )


def _obstacles(before: Layout, after: Layout) -> tuple[str, ...]:
    left = {one.id for one in after.enclosure.obstacles if _stands(after, one.id)}
    return tuple(
        one.name
        for one in before.enclosure.obstacles
        if _stands(before, one.id) and one.id not in left
    )


def _stands(layout: Layout, obstacle: str) -> bool:
    present, _ = owner_state(layout.enclosure, obstacle, layout.states)
    return present
