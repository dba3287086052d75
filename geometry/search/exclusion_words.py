"""What excludes what in words: what is missing, and by which dimensions."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from geometry.search.excludes import Exclusion
from geometry.search.words import short_figure

AT_WORST = "at worst"
BY_RULE = "by rule"
"""Said where no length is missing: one pump is asked for, or an obstacle is in another state."""


def missing_text(one: Exclusion, write: Callable[[float], str]) -> str:
    """Say how much is missing, and whether that is so only once every dimension is off."""
    if one.judged == "rule":
        return BY_RULE
    told = short_figure(one.short_mm, write)
    return f"{told} {AT_WORST}" if one.judged == "worst case" else told


def meeting_text(one: Exclusion) -> str:
    """Say what of two groups excludes each other: "core is in the way of fan"."""
    if one.judged == "rule":
        return f"{one.first} with {one.second}"
    return f"{one.first} is in the way of {one.second}"


def in_order(exclusions: Iterable[Exclusion]) -> list[Exclusion]:
    """Return what never stands together first, and last what a rule excludes."""
    return sorted(
        exclusions, key=lambda e: (e.judged == "rule", not e.always, -e.excluded / e.pairs)
    )
