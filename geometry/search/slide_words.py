"""Where a stack of a row is slid, and how far it may be slid on from there, in the room's words."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.checks.words import slide_text, way_text
from geometry.placement import Placed, ZoneFrame
from geometry.slots import slot_range

Ends = tuple[float, float]
"""How far something may go back and ahead along one axis (mm)."""


Slots = tuple[Ends | None, Ends | None]
"""From where to where slots let a stack slide along u and along v (mm); None without any."""

AS_IT_LIES = "unslid"
NOT_FREE = "no"

SAME_MM = 0.05


def slots_of(items: Sequence[Placed]) -> Slots:
    """Return from where to where the slots of a stack let it slide."""
    return slot_range(items, 0), slot_range(items, 1)


def slid_words(frame: ZoneFrame, slide_mm: tuple[float, float], slots: Slots) -> str:
    """Say where a stack is listed in its slots: "20.0 mm up (along +z), end of its slots".

    Whether that is an end or the middle of its slots is told of each way in which they are long.
    """
    u, v = (round(mm, 1) + 0.0 for mm in slide_mm)
    where = slide_text(frame, (u, v)) if u or v else AS_IT_LIES
    places = {
        axis.name[1]: place
        for axis, mm, slot in zip((frame.pose.x, frame.pose.y), slide_mm, slots, strict=True)
        if slot is not None and slot[1] - slot[0] > SAME_MM
        for place in [_place(mm, slot)]
    }
    if not any(places.values()):
        return where
    if len(set(places.values())) == 1:
        return f"{where}, {next(iter(places.values()))} of its slots"
    told = " and ".join(f"{place} along {axis}" for axis, place in places.items() if place)
    return f"{where}, {told} of its slots"


def _place(mm: float, slot: Ends) -> str:
    """Say whether a slide is at an end or in the middle of a slot; empty elsewhere."""
    least, most = slot
    if min(abs(mm - least), abs(mm - most)) < SAME_MM:
        return "end"
    return "middle" if abs(mm - (least + most) / 2) < SAME_MM else ""


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
    if not told:
        return NOT_FREE
    return f"{' and '.join(told)} from there, until it touches or its slots end"
