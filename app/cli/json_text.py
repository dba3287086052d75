"""Figures for other programs: to the length tolerance, without what sums of floats leave."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

from geometry.edits.base import DECIMALS

SHARE_DECIMALS = 9
"""Shares have no unit, and are to add up to one."""


def json_text(values: object) -> str:
    """Return plain values as JSON, every figure to a millionth; nought is never minus nought.

    >>> json_text({"gap_mm": 8.450000000000022, "at": [-1e-9], "count": 2})
    '{\\n  "gap_mm": 8.45,\\n  "at": [\\n    0.0\\n  ],\\n  "count": 2\\n}'
    """
    return json.dumps(_rounded(values), indent=2, ensure_ascii=False)


def _rounded(value: object, decimals: int = DECIMALS) -> object:
    if isinstance(value, float):
        return round(value, decimals) + 0.0
    if isinstance(value, Mapping):
        return {
            key: _rounded(each, SHARE_DECIMALS if key == "share" else DECIMALS)
            for key, each in value.items()
        }
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_rounded(each) for each in value]
    return value
