"""What options meet that stands already: levels of their units, and what falls short at worst."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from geometry.layout import Side
from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.placement import ZoneFrame
from geometry.search.judging.levels import box_levels, pair_levels
from geometry.search.judging.room import Room
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.units import BLOCKED, CLEAR, Levels, Units
from geometry.search.judging.worst import short_options
from geometry.search.judging.worst_pairs import Seen
from geometry.search.long_work import Steps, share_of, told_as

PAIRS_AT_ONCE = 2**22
"""So many pairs of units are judged at once, a few bytes each."""

OPTIONS_AT_ONCE = 2**15
"""So many options are looked at at once for what falls short, some kilobytes each."""

OUTER, OPEN, INSIDE = 1, 2, 4
"""Flags of units: on the outer side of the plate; free to stand outside; inside the cavity."""


@dataclass(frozen=True)
class Footing:
    """What options stand on: the owner of it, and the frame of the zone where they are stacks."""

    owner: str
    frame: ZoneFrame | None = None


def by_side(units: Units) -> Iterator[tuple[Side, Indices]]:
    """Yield the units on the inner side, then those on the outer side, as far as there are some."""
    sides: tuple[Side, Side] = ("inner", "outer")
    for side in sides:
        rows = np.flatnonzero(((units.flags & OUTER) > 0) == (side == "outer"))
        if len(rows):
            yield side, rows


def levels_with(
    units: Units, room: Room, footing: Footing, margins: Floats, *, boxes_only: bool = False
) -> Levels:
    """Return the level of every unit with every unit of a room, or with boxes among it."""
    out = np.zeros((len(units), len(room.units)), dtype=np.uint8)
    beyond = room.spread(room.beyond)
    within, without = np.flatnonzero(~beyond), np.flatnonzero(beyond)
    levels = box_levels if boxes_only else pair_levels
    for side, rows in by_side(units):
        part = units.some(rows)
        held = room.spread(_held(room, footing, side))[None, :]
        inside = (part.flags & INSIDE) > 0
        touching = held | (inside[:, None] & room.spread(room.outside)[None, :])
        out[np.ix_(rows, within)] = levels(
            part, room.units.some(within), margins, touching[:, within]
        )
        worst = out[rows].max(axis=1, initial=CLEAR)
        asked = rows[((part.flags & OPEN) == 0) & part.hard & (worst < BLOCKED)]
        out[np.ix_(asked, without)] = levels(
            units.some(asked), room.units.some(without), margins, True
        )
    return out


def worst_with(
    units: Units, room: Room, footing: Footing, margins: Floats, *, boxes_only: bool = False
) -> Levels:
    """Return the worst level of each unit with a room, shape (n,); some are looked at at once."""
    out = np.full(len(units), CLEAR, dtype=np.uint8)
    step = max(1, PAIRS_AT_ONCE // max(1, len(room.units)))
    for start in range(0, len(units), step):
        some = np.arange(start, min(start + step, len(units)), dtype=np.intp)
        met = levels_with(units.some(some), room, footing, margins, boxes_only=boxes_only)
        out[some] = met.max(axis=1, initial=CLEAR)
    return out


def short_with(options: Tolerant, room: Room, footing: Footing, margins: Floats) -> Steps[Bools]:
    """Return in steps which options keep their margin to a room as drawn, but not at worst."""
    out = np.zeros(options.size, dtype=bool)
    if not len(options) or not len(room.tolerant):
        return out
    seen: Seen = {}
    for start in range(0, options.size, OPTIONS_AT_ONCE):
        rows = np.arange(start, min(start + OPTIONS_AT_ONCE, options.size), dtype=np.intp)
        some = options.only(rows)
        skip = _skipped(some, room, footing)
        looking = short_options(some, room.tolerant, margins, skip=skip, seen=seen)
        share = partial(share_of, (start / options.size, (start + len(rows)) / options.size))
        out[rows] = (yield from told_as(looking, share))[:, 0]
    return out


def _skipped(options: Tolerant, room: Room, footing: Footing) -> Bools:
    """Return which solids are not looked at with which of a room: they hold them, or lie within."""
    stands = ~room.beyond
    skip = np.zeros((len(options), len(room.tolerant)), dtype=bool)
    sides: tuple[Side, Side] = ("inner", "outer")
    for side in sides:
        rows = options.outer == (side == "outer")
        skip[rows] = _held(room, footing, side)[stands]
    skip |= _inside(options, room)[:, None] & room.outside[stands][None, :]
    return skip


def _held(room: Room, footing: Footing, side: Side) -> Bools:
    joint = room.joint(footing.owner)
    if footing.frame is None:
        return joint
    found: Bools = joint | room.behind(footing.frame, side)
    return found


def _inside(options: Tolerant, room: Room) -> Bools:
    cavity = np.array(room.scene.walls.cavity)
    bounds = options.bounds(options.every)
    low = bounds[:, :3] >= cavity[:3] - LENGTH_EPS_MM
    high = bounds[:, 3:] <= cavity[3:] + LENGTH_EPS_MM
    found: Bools = np.all(low & high, axis=1)
    return found
