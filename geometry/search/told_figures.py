"""How finely figures of a search are handed to other programs, in JSON and CSV alike."""

from __future__ import annotations

DECIMALS = 3
"""A thousandth: finer than anything is made, without the digits that sums of floats leave."""


def told_figure(value: float) -> float:
    """Return a figure to a thousandth; nought is never minus nought.

    >>> told_figure(1.8000000000000007), told_figure(5.84674), told_figure(-1e-9)
    (1.8, 5.847, 0.0)
    """
    return round(value, DECIMALS) + 0.0
