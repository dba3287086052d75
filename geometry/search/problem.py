"""A search made ready: what stands, the options of every zone, and which cannot stand together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TypeVar

import numpy as np

from catalog.parts import Exchanger, Fan, Part, Pump, PumpReservoir
from geometry.checks.runner import Checked, check_layout
from geometry.layout import Layout, Stack
from geometry.search.alone import ZoneJudge, ZoneOptions
from geometry.search.levels import option_levels
from geometry.search.options import Option, ZoneLister, new_prefix, with_parts
from geometry.search.room import Room
from geometry.search.tables import Tables
from geometry.search.units import CLEAR, TIGHT, role_margins
from geometry.search.wishes import Wishes

P = TypeVar("P", Exchanger, Fan, Pump | PumpReservoir)


class SearchError(ValueError):
    """A search that cannot begin; the message says why, and what would mend it."""


@dataclass(frozen=True)
class Progress:
    """How far the making ready has come."""

    what: str
    done: int
    of: int


@dataclass(frozen=True, eq=False)
class Problem:
    """The zones of a search with their options, and the tables of what conflicts.

    `base` is what stands already, with its report; `standing` its faults that no option can mend.
    """

    wishes: Wishes
    base: Checked
    zones: tuple[ZoneOptions, ...]
    tables: Tables

    def options(self, combination: tuple[int, ...]) -> tuple[Option, ...]:
        """Return the options of a combination, one number a zone."""
        return tuple(zone.options[k] for zone, k in zip(self.zones, combination, strict=True))

    def layout(self, combination: tuple[int, ...]) -> Layout:
        """Return the layout that a combination makes, with copies of the parts that it uses."""
        return combined(self.base.scene.layout, self.wishes, self.options(combination))


def combined(base: Layout, wishes: Wishes, options: tuple[Option, ...]) -> Layout:
    """Return a layout with the stacks of some options added."""
    stacks = tuple(o.stack for o in options if o.stack is not None)
    every = {p.id: p for p in (*wishes.exchangers, *wishes.fans, *wishes.pumps)}
    used = dict.fromkeys(i for stack in stacks for i in _part_ids(stack))
    parts: list[Part] = [every[i] for i in used]
    return with_parts(base, parts).but(stacks=(*base.stacks, *stacks))


def _part_ids(stack: Stack) -> Iterator[str]:
    for layer in (*stack.inner, *stack.outer):
        for item in layer.items:
            yield item.part


def open_zones(layout: Layout, wishes: Wishes) -> list[str]:
    """Return the zones that a search fills: those asked for, or all without a locked stack.

    Raises SearchError where one is asked for that is not there or is locked.
    """
    known = [zone.id for zone in layout.enclosure.zones]
    locked = {s.zone for s in layout.stacks if s.locked or _has_lock(s)}
    if wishes.zones is None:
        return [zone for zone in known if zone not in locked]
    for zone in wishes.zones:
        if zone not in known:
            raise SearchError(f'there is no zone "{zone}" (there are {", ".join(known)})')
        if zone in locked:
            raise SearchError(f'the stack on zone "{zone}" is locked (unlock it, or leave it out)')
    return [zone for zone in known if zone in wishes.zones]


def _has_lock(stack: Stack) -> bool:
    return any(item.locked for layer in (*stack.inner, *stack.outer) for item in layer.items)


def prepared(layout: Layout, wishes: Wishes) -> Iterator[Progress | Problem]:
    """Make a search ready; yield how far it has come and at last the problem.

    The stacks of the zones that are searched are taken out; everything else stays as it is.
    Raises SearchError where it cannot begin.
    """
    searched = open_zones(layout, wishes)
    own = layout.parts
    wishes = replace(
        wishes,
        exchangers=tuple(_own_copy(own, p) for p in wishes.exchangers),
        fans=tuple(_own_copy(own, p) for p in wishes.fans),
        pumps=tuple(_own_copy(own, p) for p in wishes.pumps),
    )
    emptied = layout.but(stacks=tuple(s for s in layout.stacks if s.zone not in searched))
    base = check_layout(emptied, remedies=False, worst_cases=False)
    room = Room.of(base.scene)
    zones: list[ZoneOptions] = []
    for number, zone in enumerate(z for z in layout.enclosure.zones if z.id in searched):
        lister = ZoneLister(emptied, zone, wishes, new_prefix(layout, number + 1))
        judge = ZoneJudge(room, lister)
        for k, option in enumerate(lister.options()):
            judge.add(option)
            if k % 200 == 0:
                yield Progress(f"options of {zone.name}", number, len(searched))
        zones.append(judge.judged())
    made = Tables((), {})
    for step in tables_of(tuple(zones), base, wishes):
        if isinstance(step, Progress):
            yield step
        else:
            made = step
    yield Problem(wishes, base, tuple(zones), made)


def _own_copy(own: Mapping[str, Part], part: P) -> P:
    """Return the layout's own copy of a part of the same kind and id, where it has one."""
    copy = own.get(part.id)
    return copy if isinstance(copy, type(part)) else part


def tables_of(
    zones: tuple[ZoneOptions, ...], base: Checked, wishes: Wishes
) -> Iterator[Progress | Tables]:
    """Make the tables of conflicts of all pairs of zones; the last that is yielded are they."""
    margins = role_margins(base.scene.layout.settings)
    most = TIGHT if wishes.tight_allowed else CLEAR
    clash = {}
    pairs = list(combinations(range(len(zones)), 2))
    for at, (i, j) in enumerate(pairs):
        table = option_levels(zones[i].makeup, zones[j].makeup, margins) > most
        mine, theirs = (np.array([o.pump for o in zones[k].options]) for k in (i, j))
        table |= mine[:, None] & theirs[None, :]
        if table.any():
            clash[i, j] = table
        yield Progress("pairs of zones", at + 1, len(pairs))
    yield Tables(tuple(len(zone.options) for zone in zones), clash)
