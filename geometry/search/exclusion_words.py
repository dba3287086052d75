"""What excludes what in words: what is missing, and by which dimensions."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from geometry.search.excludes import ONE_PUMP, Exclusion
from geometry.search.words import short_figure

AT_WORST = "at worst"
BY_RULE = "by rule"
"""Said where no length is missing: one pump is asked for, or an obstacle is in another state."""


PUMP_RULE = "one pump at most"

NEVER = "never"


def often_text(excluded: int, pairs: int) -> str:
    """Say how often two groups do not go together; empty where they do in all ways.

    >>> often_text(4, 4), often_text(1, 20), often_text(0, 20)
    ('never', 'not in 5.0 % of ways', '')
    """
    if excluded == pairs:
        return NEVER
    return f"not in {percent_figure(excluded, pairs)} % of ways" if excluded else ""


def percent_figure(some: int, of: int) -> str:
    """Write a share in percent, of some but not all as neither none nor all.

    >>> percent_figure(24_999_999, 25_000_000), percent_figure(1, 25_000_000)
    ('99.9', '0.1')
    """
    return f"{min(max(100 * some / of, 0.1), 99.9):.1f}"


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


def rule_text(one: Exclusion) -> str:
    """Say what a rule asks for that excludes two groups: one pump, or what was searched for."""
    return PUMP_RULE if is_pump_rule(one) else BY_RULE


def is_pump_rule(one: Exclusion) -> bool:
    """Whether two groups exclude each other since all of both hold a pump."""
    return one.judged == "rule" and (one.first, one.second) == ONE_PUMP


def in_order(exclusions: Iterable[Exclusion]) -> list[Exclusion]:
    """Return what never stands together first, and last what a rule excludes."""
    return sorted(
        exclusions, key=lambda e: (e.judged == "rule", not e.always, -e.excluded / e.pairs)
    )
