"""Drawing scales of ISO 5455:1979."""

from __future__ import annotations

from dataclasses import dataclass


class ScaleError(ValueError):
    """A scale that ISO 5455 does not know, or at which the views do not fit the paper."""


@dataclass(frozen=True, order=True)
class Scale:
    """`paper` millimetres on the sheet stand for `real` millimetres."""

    paper: int
    real: int

    @property
    def factor(self) -> float:
        """Sheet millimetres for one real millimetre."""
        return self.paper / self.real

    def __str__(self) -> str:
        return f"{self.paper}:{self.real}"


SCALES = (
    *(Scale(n, 1) for n in (50, 20, 10, 5, 2)),
    Scale(1, 1),
    *(Scale(1, n * decade) for decade in (1, 10, 100, 1000) for n in (2, 5, 10)),
)
"""The recommended scales, largest first (ISO 5455:1979, clause 5)."""


def read_scale(text: str) -> Scale:
    """Read "1:5".

    Raises ScaleError when it is no scale of ISO 5455.
    """
    for scale in SCALES:
        if str(scale) == text.replace(" ", ""):
            return scale
    offered = ", ".join(str(scale) for scale in SCALES if scale.real <= 100 and scale.paper <= 10)
    raise ScaleError(f"scale {text!r} is not one of ISO 5455; choose one of {offered}")
