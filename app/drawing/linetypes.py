"""The dash patterns of ISO 128-2 line types, in multiples of the line's width.

ISO 128-20 table of line elements: dot up to 0.5 d, gap 3 d, dash 12 d, long dash 24 d. The dot
is drawn 1 d long here: half a pixel would not show on a screen.
"""

from __future__ import annotations

from app.drawing.primitives import LineType

GAP = 3.0
DOT = 1.0
DASH = 12.0
LONG_DASH = 24.0

PATTERNS: dict[LineType, tuple[float, ...]] = {
    LineType.CONTINUOUS: (),
    LineType.DASHED: (DASH, GAP),
    LineType.CHAIN: (LONG_DASH, GAP, DOT, GAP),
    LineType.DOUBLE_CHAIN: (LONG_DASH, GAP, DOT, GAP, DOT, GAP),
}
"""Drawn and left out in turn; empty for a continuous line."""
