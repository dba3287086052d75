"""How the holes of stacked items meet those of what they are bolted to."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

from catalog.shapes import Mount
from geometry.placement import Placed
from geometry.seats import Seat
from geometry.slots import PLAY_MM


class Shiftable(NamedTuple):
    """The shifts at which all seats of an item meet holes or slots, on one axis (mm)."""

    least_mm: float
    most_mm: float

    def holds(self, shift_mm: float) -> bool:
        """Whether a shift is among them."""
        return self.least_mm <= shift_mm <= self.most_mm

    @property
    def possible(self) -> bool:
        """Whether there is one at all."""
        return self.least_mm <= self.most_mm


def nearest_mounts(own: Sequence[Mount], offered: Sequence[Mount]) -> tuple[Mount, Mount]:
    """Return the two patterns, one of each, whose holes lie nearest each other."""
    if len(own) == len(offered) == 1:
        return own[0], offered[0]
    return min(
        ((mine, theirs) for mine in own for theirs in offered),
        key=lambda pair: (
            abs(pair[0].pitch_mm - pair[1].pitch_mm),
            abs(pair[0].frame_mm - pair[1].frame_mm),
        ),
    )


def play_left_mm(mine: Mount, theirs: Mount) -> float:
    """Return the play that is left when each hole is off by half the difference of pitch (mm)."""
    return PLAY_MM - abs(mine.pitch_mm - theirs.pitch_mm) / 2


def shiftable(seats: Sequence[Seat], *, play: bool = True) -> tuple[Shiftable, Shiftable]:
    """Return the shifts along u and v at which all seats meet slots, with their play or not."""
    u0, u1, v0, v1 = -inf, inf, -inf, inf
    for seat in seats:
        if seat.on is None:
            continue
        extra, slot_u, slot_v = _play(seat) if play else 0.0, seat.slot_u_mm, seat.slot_v_mm
        u0 = max(u0, slot_u[0] - seat.off_u_mm - extra)
        u1 = min(u1, slot_u[1] - seat.off_u_mm + extra)
        v0 = max(v0, slot_v[0] - seat.off_v_mm - extra)
        v1 = min(v1, slot_v[1] - seat.off_v_mm + extra)
    return Shiftable(u0, u1), Shiftable(v0, v1)


def slide_room(items: Sequence[Placed], along: int) -> Shiftable:
    """Return the slides of a stack along u (0) or v (1) that suit all items on its zone's holes.

    The slots alone where they do, with the play of the holes where that is needed. Items whose
    own cells cannot all meet the zone's holes are left out.
    """
    seats = [on_zone(one) for one in items]
    for play in (False, True):
        ranges = [shiftable(own, play=play)[along] for own in seats if own]
        if play:
            ranges = [r for r in ranges if r.possible]
        room = Shiftable(
            max((r.least_mm for r in ranges), default=-inf),
            min((r.most_mm for r in ranges), default=inf),
        )
        if room.possible:
            break
    return room


def _play(seat: Seat) -> float:
    mine, theirs = nearest_mounts(seat.mount, seat.accepts)
    return max(0.0, play_left_mm(mine, theirs))


def on_zone(one: Placed) -> tuple[Seat, ...]:
    """Return the seats of an item that are bolted to its zone's own holes."""
    if one.frame is None:
        return ()
    return tuple(seat for seat in one.seats if seat.on == one.frame.zone.id)


def on_items(one: Placed) -> dict[str, tuple[Seat, ...]]:
    """Return the seats of an item that are bolted to other items, by that item's id."""
    found: dict[str, tuple[Seat, ...]] = {}
    for seat in one.seats:
        if seat.on is not None and one.frame is not None and seat.on != one.frame.zone.id:
            found[seat.on] = (*found.get(seat.on, ()), seat)
    return found
