"""Areas, volumes and lengths of a search in the unit that the window is set to."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from app.ui.units import MM_PER_INCH, Unit, figure_text
from geometry.search.answers import Measure

SIGNS: Mapping[str, Mapping[Unit, str]] = {
    "mm": {unit: unit.value for unit in Unit},
    "cm2": {Unit.MM: "cm²", Unit.INCH: "in²"},
    "cm3": {Unit.MM: "cm³", Unit.INCH: "in³"},
}
_CM_PER_INCH = MM_PER_INCH / 10
PER_INCH: Mapping[str, float] = {
    "mm": MM_PER_INCH,
    "cm2": _CM_PER_INCH**2,
    "cm3": _CM_PER_INCH**3,
}
"""How many of a unit an inch, a square inch or a cubic inch has."""

_GAIN = re.compile(r"(\d[\d,.]*) (cm2|cm3)\b")


def unit_sign(measure: Measure, unit: Unit) -> str:
    """Return the unit in which a measure is told; empty for plain numbers."""
    return SIGNS[measure.unit][unit] if measure.unit in SIGNS else measure.unit


def per_unit(measure: Measure, unit: Unit) -> float:
    """Return by what a figure of a measure is divided to be told in a unit."""
    return PER_INCH.get(measure.unit, 1.0) if unit is Unit.INCH else 1.0


def measure_text(measure: Measure, value: float, unit: Unit, signed: bool = False) -> str:
    """Return a figure without its unit; "open" where nothing limits a length."""
    if not math.isfinite(value):
        return "open" if measure.unit == "mm" else "–"
    if measure.unit == "mm":
        return figure_text(value, unit, signed)
    decimals = 0 if per_unit(measure, unit) == 1.0 else 1
    text = f"{value / per_unit(measure, unit):{'+' if signed else ''},.{decimals}f}"
    return text.replace("-", "−") if signed else text


def in_unit_signs(text: str, unit: Unit) -> str:
    """Return words of the search with the areas and volumes in them in a unit.

    >>> in_unit_signs("+432 cm3 core volume", Unit.INCH), in_unit_signs("+3 cm2", Unit.MM)
    ('+26.4 in³ core volume', '+3 cm²')
    """

    def told(found: re.Match[str]) -> str:
        sign = SIGNS[found[2]][unit]
        if unit is Unit.MM:
            return f"{found[1]} {sign}"
        return f"{float(found[1].replace(',', '')) / PER_INCH[found[2]]:,.1f} {sign}"

    return _GAIN.sub(told, text)
