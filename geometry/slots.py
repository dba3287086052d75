"""How far a stack may be slid in the slots of its zone, and whether its holes then meet."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf

from catalog.shapes import mount_sizes
from geometry.layout import Layout, Stack
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import Placed, place_stack
from geometry.seats import Seat

PLAY_MM = 0.5
"""How far a hole may be off and a screw still be got in, and so how far a part may sit off the
place at which its holes meet those below: the play of M4 in two holes of 4.5 mm, ISO 273 medium
fit, is 0.25 mm each (common practice for fans; the fit from ISO 273)."""


def slot_range(items: Iterable[Placed], along: int) -> tuple[float, float] | None:
    """Return the least and the greatest slide of a stack along u (0) or v (1) in its slots (mm).

    None when nothing of it is screwed to the zone; least over greatest when no slide suits all.
    """
    least, most = -inf, inf
    for one in items:
        for seat in one.seats:
            if one.frame is None or seat.on != one.frame.zone.id:
                continue
            slot = seat.slot_u_mm if along == 0 else seat.slot_v_mm
            off = seat.off_u_mm if along == 0 else seat.off_v_mm
            least, most = max(least, slot[0] - off), min(most, slot[1] - off)
    return None if least == -inf else (least, most)


def slide_into_slots(layout: Layout, stack: Stack) -> tuple[float, float]:
    """Return the slide nearest to a stack's own (mm) at which all its items meet their slots.

    Its own slide along an axis on which no slide suits all of them.
    """
    items = place_stack(layout, stack)
    slide = [stack.slide_u_mm, stack.slide_v_mm]
    for along in (0, 1):
        span = slot_range(items, along)
        if span is not None and span[0] <= span[1]:
            slide[along] = min(max(slide[along], span[0]), span[1])
    return slide[0], slide[1]


def slide_kept(layout: Layout, was: Stack, stack: Stack) -> tuple[float, float]:
    """Return the slide (mm) of a stack that has been changed: its own, if it `was` as far off.

    Along an axis on which it is farther off its slots now, the nearest at which all its items meet
    them.
    """
    slide, before = (stack.slide_u_mm, stack.slide_v_mm), (was.slide_u_mm, was.slide_v_mm)
    back = slide_into_slots(layout, stack)
    were = slide_into_slots(layout, was)
    farther = (abs(back[k] - slide[k]) > abs(were[k] - before[k]) + LENGTH_EPS_MM for k in (0, 1))
    u, v = (back[k] if off else slide[k] for k, off in enumerate(farther))
    return u, v


def seat_fits(one: Placed, seat: Seat) -> bool:
    """Whether a seat's holes match what is below, and meet its holes or slots."""
    if seat.on is None or mount_sizes(seat.accepts).isdisjoint(mount_sizes(seat.mount)):
        return False
    on_zone = one.frame is not None and one.stack is not None and seat.on == one.frame.zone.id
    slide = (one.stack.slide_u_mm, one.stack.slide_v_mm) if on_zone and one.stack else (0.0, 0.0)
    return all(
        slot[0] - LENGTH_EPS_MM <= off + by <= slot[1] + LENGTH_EPS_MM
        for slot, off, by in (
            (seat.slot_u_mm, seat.off_u_mm, slide[0]),
            (seat.slot_v_mm, seat.off_v_mm, slide[1]),
        )
    )
