"""Drawing scales of ISO 5455:1979."""

from __future__ import annotations

from dataclasses import dataclass


class ScaleError(ValueError):
    """A scale that ISO 5455 does not know, or at which the views do not fit the paper."""


@dataclass(frozen=True, order=True)
class Scale:
    """`paper` millimetres on the sheet stand for `real` millimetres."""

    paper: int
    real: float

    @property
    def factor(self) -> float:
        """Sheet millimetres for one real millimetre."""
        return self.paper / self.real

    def __str__(self) -> str:
        return f"{self.paper}:{self.real:g}"


SCALES = (
    *(Scale(n, 1) for n in (50, 20, 10, 5, 2)),
    Scale(1, 1),
    *(Scale(1, n * decade) for decade in (1, 10, 100, 1000) for n in (2, 5, 10)),
)
"""The recommended scales, largest first (ISO 5455:1979, clause 5)."""

INTERMEDIATE = tuple(Scale(1, real) for real in (2.5, 7.5, 25.0, 75.0))
"""Those between, for sheets on which the views are too large at the next recommended one and would
stand lost at the one after it: "intermediate scales may be chosen" (ISO 5455:1979, clause 5, from
memory). Scale rules carry them (common practice, no source)."""

OFFERED = tuple(sorted((*SCALES, *INTERMEDIATE), key=lambda one: -one.factor))
"""All of them, largest first."""


def read_scale(text: str) -> Scale:
    """Read "1:5".

    Raises ScaleError when it is no scale of ISO 5455.
    """
    for scale in OFFERED:
        if str(scale) == text.replace(" ", ""):
            return scale
    offered = ", ".join(str(scale) for scale in OFFERED if scale.real <= 100 and scale.paper <= 10)
    raise ScaleError(f"scale {text!r} is not one of ISO 5455; choose one of {offered}")
