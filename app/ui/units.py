"""Millimetres as the user reads and types them: in mm, or in inches."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from app.drawing.verdict_words import MM_PER_INCH as MM_PER_INCH


class Unit(StrEnum):
    """The unit of rulers, figures, pointer position and typed lengths. Files are always in mm."""

    MM = "mm"
    INCH = "in"

    @property
    def mm(self) -> float:
        """How many millimetres one unit has."""
        return MM_PER_INCH if self is Unit.INCH else 1.0

    @property
    def decimals(self) -> int:
        """How many decimals are worth showing: a tenth of a millimetre, three of an inch."""
        return 3 if self is Unit.INCH else 1


def length_text(length_mm: float | None, unit: Unit, signed: bool = False) -> str:
    """Return a length with its unit, "12.5 mm"; an en dash where there is none, "open" for inf."""
    if length_mm is None:
        return "–"
    if math.isinf(length_mm):
        return "open"
    return f"{figure_text(length_mm, unit, signed)} {unit.value}"


def figure_text(length_mm: float, unit: Unit, signed: bool = False) -> str:
    """Return a length in `unit` without its name; minus is a true minus sign, never "-0.0"."""
    value = round(length_mm / unit.mm, unit.decimals)
    text = f"{abs(value):.{unit.decimals}f}"
    if value < 0:
        return f"−{text}"
    return f"+{text}" if signed and value > 0 else text


def in_unit(text: str, unit: Unit, kept: Iterable[str] = ()) -> str:
    """Return a sentence with its lengths in mm told in `unit`; what is `kept` stays as it is.

    A name is no measurement: "Exchanger 2 x 120, 30 mm" is called so in inches too. A number whose
    neighbour has no unit of its own, as in "2 x 3 mm", stays with it: half of it would be false.

    >>> in_unit("Fan, 25 mm stands 12.7 mm off", Unit.INCH, ["Fan, 25 mm"])
    'Fan, 25 mm stands 0.500 in off'
    """
    if unit is Unit.MM:
        return text

    def told(found: re.Match[str]) -> str:
        length = found["length"]
        return found[0] if length is None else _told_length(float(length), unit)

    return _lengths_but(frozenset(kept)).sub(told, text)


_JOINTS = (" x ", " × ", " ± ", " to ", " or ", "-", "–", "/")
"""What may stand between two numbers that share one unit."""

_ALONE = "".join(rf"(?<!\d{joint})" for joint in _JOINTS)
_NUMBER = r"(?P<length>\d+(?:\.\d+)?(?:e[+-]?\d+)?)"
_LENGTH = rf"(?<![\w.]){_ALONE}{_NUMBER}[ \N{{NO-BREAK SPACE}}]mm\b"


@lru_cache(maxsize=16)
def _lengths_but(kept: frozenset[str]) -> re.Pattern[str]:
    """Return the pattern of what is kept, at the start of a sentence too, and of other lengths."""
    longest_first = sorted(kept - {""}, key=lambda text: (-len(text), text))
    names = [f"(?i:{re.escape(name[0])}){re.escape(name[1:])}" for name in longest_first]
    return re.compile("|".join([*(rf"(?<![\w.]){name}(?!\w)" for name in names), _LENGTH]))


def _told_length(length_mm: float, unit: Unit) -> str:
    """Return a length with as many more decimals as it takes to see it at all."""
    value = length_mm / unit.mm
    for decimals in range(unit.decimals, 10):
        text = f"{value:.{decimals}f}"
        if float(text) or not value:
            break
    return f"{text} {unit.value}"


class TickSteps(NamedTuple):
    """Ruler steps in mm: between labelled ticks, and how many parts each is divided into."""

    label_mm: float
    parts: int


_MM_STEPS = tuple(
    TickSteps(m * 10.0**k, p) for k in range(5) for m, p in ((1.0, 10), (2.0, 4), (5.0, 5))
)
_INCH_STEPS = tuple(
    TickSteps(m * MM_PER_INCH, p)
    for m, p in (
        (0.125, 4),
        (0.25, 4),
        (0.5, 8),
        (1.0, 8),
        (2.0, 8),
        (5.0, 5),
        (10.0, 10),
        (50.0, 5),
    )
)


def tick_steps(mm_per_px: float, unit: Unit, least_px: float = 56.0) -> TickSteps:
    """Return the finest steps whose labels stand at least `least_px` apart."""
    steps = _INCH_STEPS if unit is Unit.INCH else _MM_STEPS
    for step in steps:
        if step.label_mm / mm_per_px >= least_px:
            return step
    return steps[-1]
