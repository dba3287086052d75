"""What a search may use: parts, ways to put fans, slides; and what it asks of an answer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from catalog.parts import Exchanger, Fan, Part, Pump, PumpReservoir
from geometry.layout import Judge

FanPlace = Literal["none", "plate", "far", "both", "outer", "across"]
"""Where fans stand to the core: nowhere, between plate and core, on the far face, on both faces,
on the other side of the plate, or in push-pull across the plate: on its other side and on the far
face."""

FAN_PLACES: tuple[FanPlace, ...] = ("none", "plate", "far", "both", "outer", "across")

THROUGH_THE_PLATE: frozenset[FanPlace] = frozenset({"outer", "across"})
"""Places that only a zone which takes parts on both its sides has."""

PumpWish = Literal["none", "allowed", "required"]

Judging = Judge
"""How gaps are judged: with every dimension at its worst, or as drawn (as in layout settings)."""


@dataclass(frozen=True)
class Wishes:
    """What a search may use, and what it asks for.

    `slide_steps` is the number of listed slides along each slot: 1 as it lies, 3 both ends and the
    middle of the slot besides, where it does not lie there. `tight_allowed` keeps what is merely
    tight. `pump` "required" wants exactly one. `zones` None searches every zone that the layout
    leaves open.

    `obstacle_states` lists the states of every obstacle that has several as choices of their own,
    next to the zones. `mixed_fans` allows fans of different kinds on the two faces of a core.
    `side_by_side` lists several exchangers on one zone too, and fans or a pump on the cells that
    they leave; `part_rows` lists rows of fans on only some of the cells of a core.
    `free_pumps` allows a pump on its own feet or bracket at listed places, not only in a stack.
    `judge` None judges as the layout's settings say.
    """

    exchangers: tuple[Exchanger, ...] = ()
    fans: tuple[Fan, ...] = ()
    pumps: tuple[Pump | PumpReservoir, ...] = ()
    fan_places: tuple[FanPlace, ...] = FAN_PLACES
    pump: PumpWish = "none"
    slide_steps: int = 3
    tight_allowed: bool = False
    zones: tuple[str, ...] | None = None
    obstacle_states: bool = False
    mixed_fans: bool = False
    side_by_side: bool = False
    part_rows: bool = False
    free_pumps: bool = False
    judge: Judging | None = None


_AS_USUAL = Wishes()


def wishes_from(parts: Iterable[Part], asked: Wishes = _AS_USUAL) -> Wishes:
    """Return wishes for the parts of a list that a stack can take; the others are left out.

    All else is as in `asked`; a pump without a plate counts where it has `free_pumps`.
    """
    every = tuple(parts)
    return replace(
        asked,
        exchangers=tuple(p for p in every if isinstance(p, Exchanger)),
        fans=tuple(p for p in every if isinstance(p, Fan)),
        pumps=tuple(
            p
            for p in every
            if isinstance(p, Pump | PumpReservoir) and (asked.free_pumps or p.plate is not None)
        ),
    )
