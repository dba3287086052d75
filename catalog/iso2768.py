"""General tolerances of ISO 2768-1 for linear dimensions, and the tolerance of a model's field."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import Literal

from catalog.enclosure import Enclosure
from catalog.model import Dimension
from catalog.parts import Part
from catalog.paths import length_at

Grade = Literal["f", "m", "c", "v"]
"""Tolerance classes: fine, medium, coarse, very coarse."""

LEAST_MM = 0.5
"""Below it the standard asks for a tolerance beside the dimension itself."""

UPPER_MM = (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
"""Upper ends of the ranges "over ... up to and including ..."."""

LINEAR_MM: dict[Grade, tuple[float | None, ...]] = {
    "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None),
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
    "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0),
    "v": (None, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0),
}
"""Permissible deviations, plus and minus (ISO 2768-1:1989, Table 1)."""


def linear_tolerance_mm(nominal_mm: float, grade: Grade = "m") -> float | None:
    """Return the permissible deviation either way; None where the table gives none.

    The upper end of a range belongs to it. There is none below 0.5 mm, over 4 m, for class f over
    2 m, and for class v up to 3 mm. Source: ISO 2768-1:1989, Table 1.

    >>> linear_tolerance_mm(120.0), linear_tolerance_mm(120.1)
    (0.3, 0.5)
    """
    size = abs(nominal_mm)
    if size < LEAST_MM or size > UPPER_MM[-1]:
        return None
    return LINEAR_MM[grade][bisect_left(UPPER_MM, size)]


@dataclass(frozen=True)
class KnownDimension:
    """One number of a model with its tolerance and where it comes from.

    A deviation is None where neither the model nor the standard gives one; `general` tells that
    the standard's was taken for at least one of the two. Origin "unknown": the model does not say.
    """

    nominal_mm: float
    minus_mm: float | None
    plus_mm: float | None
    origin: Literal["measured", "drawing", "assumed", "unknown"]
    general: bool


def dimension_of(model: Part | Enclosure, field_path: str, grade: Grade = "m") -> KnownDimension:
    """Return tolerance and origin of the number at a field path such as "port_tank.length_mm".

    Raises KeyError when no number stands there.
    """
    nominal = length_at(model, field_path)
    general = linear_tolerance_mm(nominal, grade)
    given: Dimension | None = model.dimensions.get(field_path)
    if given is None:
        return KnownDimension(nominal, general, general, "unknown", general=True)
    minus = general if given.minus_mm is None else given.minus_mm
    plus = general if given.plus_mm is None else given.plus_mm
    from_table = given.minus_mm is None or given.plus_mm is None
    return KnownDimension(nominal, minus, plus, given.origin, general=from_table)
