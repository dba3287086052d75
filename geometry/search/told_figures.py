"""How finely figures of a search are told: to other programs, in JSON and CSV alike, and shares."""

from __future__ import annotations

import math

DECIMALS = 3
"""A thousandth: finer than anything is made, without the digits that sums of floats leave."""


def told_figure(value: float) -> float:
    """Return a figure to a thousandth; nought is never minus nought.

    >>> told_figure(1.8000000000000007), told_figure(5.84674), told_figure(-1e-9)
    (1.8, 5.847, 0.0)
    """
    return round(value, DECIMALS) + 0.0


def looked_at_text(share: float) -> str:
    """Say which share was looked at, rounded down so that all of it is told of all alone.

    >>> looked_at_text(0.29), looked_at_text(0.999), looked_at_text(1.0)
    ('29% looked at', '99% looked at', '100% looked at')
    """
    return f"{done_percent(share)} looked at"


def done_percent(share: float) -> str:
    """Write in percent which share is done, all of it alone as 100%.

    >>> done_percent(0.29), done_percent(0.999), done_percent(1.0)
    ('29%', '99%', '100%')
    """
    return f"{100 if share >= 1.0 else min(math.floor(100 * share + 1e-9), 99)}%"
