"""What stands in a layout and not in another that a search makes of it, in words."""

from __future__ import annotations

from collections import Counter
from typing import Literal

from geometry.edits.base import used_parts
from geometry.layout import Layout
from geometry.placement import owner_state

Gone = Counter[tuple[Literal["part", "obstacle"], str]]
"""How many parts and obstacles of an id are gone."""


def taken_out(before: Layout, after: Layout) -> tuple[str, ...]:
    """Return what is gone: parts with how many of them, then obstacles that stood before.

    What is put elsewhere is not gone, nor is a part that another of its kind stands for.
    """
    return gone_words(before, gone(before, after))


def parts_taken_out(before: Layout, after: Layout) -> tuple[str, ...]:
    """Return the parts that are gone, fittings on ports too, with how many of them."""
    return gone_words(before, _parts(before, after))


def gone(before: Layout, after: Layout) -> Gone:
    """Return what is gone as `taken_out` has it, counted."""
    return _parts(before, after) + _obstacles(before, after)


def gone_words(before: Layout, what: Gone) -> tuple[str, ...]:
    """Name what is gone of a layout, with how many of each."""
    obstacles = {one.id: one.name for one in before.enclosure.obstacles}
    names = (
        (before.part(one).name if kind == "part" else obstacles[one], count)
        for (kind, one), count in what.items()
    )
    return tuple(f"{count} x {name}" if count > 1 else name for name, count in names)


def _parts(before: Layout, after: Layout) -> Gone:
    count = Counter(used_parts(before)) - Counter(used_parts(after))
    return Counter({("part", one): many for one, many in count.items()})


def _obstacles(before: Layout, after: Layout) -> Gone:
    left = {one.id for one in after.enclosure.obstacles if _stands(after, one.id)}
    return Counter(
        ("obstacle", one.id)
        for one in before.enclosure.obstacles
        if _stands(before, one.id) and one.id not in left
    )


def _stands(layout: Layout, obstacle: str) -> bool:
    present, _ = owner_state(layout.enclosure, obstacle, layout.states)
    return present
