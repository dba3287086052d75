"""Where a stack of a row is slid, and how far it may be slid on from there, in the room's words."""

from __future__ import annotations

from geometry.checks.words import slide_text, way_text
from geometry.placement import ZoneFrame

Ends = tuple[float, float]
"""How far something may go back and ahead along one axis (mm)."""


def slid_words(frame: ZoneFrame, slide_mm: tuple[float, float]) -> str:
    """Say where a stack is listed in its slots, along u and v: "20.0 mm up (along +z)"."""
    u, v = (round(mm, 1) for mm in slide_mm)
    return slide_text(frame, (u, v)) if u or v else "middle"


def free_words(frame: ZoneFrame, free_mm: tuple[Ends, Ends]) -> str:
    """Say how far a stack may be slid on from where it is listed, along u and v, to a tenth.

    "19.0 mm down or 22.0 mm up from there, until it touches or its slots end"; "no" where it may
    not.
    """
    told = []
    for way, (back, ahead) in zip((frame.pose.x, frame.pose.y), free_mm, strict=True):
        ends = ((round(back, 1), -way), (round(ahead, 1), way))
        some = [f"{mm:.1f} mm {way_text(to)}" for mm, to in ends if mm]
        if some:
            told.append(" or ".join(some))
    return f"{' and '.join(told)} from there, until it touches or its slots end" if told else "no"
