"""The least value of a function that falls, then rises: golden section."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

_RATIO = (sqrt(5.0) - 1.0) / 2.0
_STEPS = 60
"""A bracket shrinks by 3e-13: below 1e-8 mm from a length of 10 m."""


def least_at(f: Callable[[float], float], length: float) -> tuple[float, float]:
    """Return where on [0, length] `f` is least, and its value there.

    Of equal places the middle comes first.
    """
    lo, hi = 0.0, length
    s1, s2 = hi - _RATIO * (hi - lo), lo + _RATIO * (hi - lo)
    f1, f2 = f(s1), f(s2)
    for _ in range(_STEPS):
        if f1 <= f2:
            hi, s2, f2 = s2, s1, f1
            s1 = hi - _RATIO * (hi - lo)
            f1 = f(s1)
        else:
            lo, s1, f1 = s1, s2, f2
            s2 = lo + _RATIO * (hi - lo)
            f2 = f(s2)
    return min(((s, f(s)) for s in (length / 2, s1, s2, 0.0, length)), key=lambda pair: pair[1])
