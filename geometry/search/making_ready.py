"""Making a search ready: options are listed and judged zone by zone, then each pair of zones."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from itertools import combinations
from typing import TypeVar

import numpy as np

from catalog.enclosure import Zone
from catalog.parts import Exchanger, Fan, Part, Pump, PumpReservoir
from geometry.checks.runner import Checked, check_layout
from geometry.finding import Verdict
from geometry.layout import Layout, Stack
from geometry.measures.broadphase import Bools, Floats, Indices
from geometry.scene import build_scene
from geometry.search.fault import SearchError
from geometry.search.held_memory import Held
from geometry.search.judging.alone import ZoneJudge
from geometry.search.judging.levels import marked_conflicts
from geometry.search.judging.room import Room
from geometry.search.judging.standing import Footing, short_with, worst_with
from geometry.search.judging.tolerant import worst_case_counts
from geometry.search.judging.units import CLEAR, TIGHT, Makeup, UnitSet, role_margins
from geometry.search.judging.worst_classes import short_marked
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.left_settled import left_settled
from geometry.search.listed_count import ListedCount
from geometry.search.listing.families import Family, families, with_states
from geometry.search.listing.free_pumps import FLOOR, FreeLister, free_options
from geometry.search.listing.option import FREE, Option, holds_pump
from geometry.search.listing.option_rows import Options
from geometry.search.listing.zone_lister import ZoneLister, new_prefix, with_parts
from geometry.search.long_work import Steps, told_as
from geometry.search.past_nominal import PastNominal
from geometry.search.problem import Listed, Problem
from geometry.search.solving.pair_table import PairTable
from geometry.search.solving.zone_tables import Table, ZoneTables
from geometry.search.stage import Doing, Stage
from geometry.search.wishes import Judging, Wishes
from geometry.zone_names import zone_names

P = TypeVar("P", Exchanger, Fan, Pump | PumpReservoir)


def open_zones(layout: Layout, wishes: Wishes) -> list[str]:
    """Return the zones that a search fills: those asked for, or all without a locked stack.

    Raises SearchError where one is asked for that is not there or is locked.
    """
    known = [zone.id for zone in layout.enclosure.zones]
    locked = {s.zone for s in layout.stacks if s.is_fixed}
    if wishes.zones is None:
        return [zone for zone in known if zone not in locked]
    for zone in wishes.zones:
        if zone not in known:
            raise SearchError(f'there is no zone "{zone}" (there are {", ".join(known)})')
        if zone in locked:
            raise SearchError(f'the stack on zone "{zone}" is locked (unlock it, or leave it out)')
    return [zone for zone in known if zone in wishes.zones]


@dataclass(frozen=True)
class Progress:
    """How far the making ready has come, and the zones whose options are listed so far."""

    stage: Stage
    listed: tuple[Listed, ...] = ()


def prepared(layout: Layout, wishes: Wishes) -> Iterator[Progress | Problem]:
    """Make a search ready; yield how far it has come and at last the problem.

    The stacks of the zones that are searched are taken out; everything else stays as it is.
    Raises SearchError where it cannot begin, and TooMuchHeld where more stands than there is memory
    for.
    """
    held = Held.now()
    for step in _prepared(layout, wishes, held):
        held.need_room(by_worst_case=worst_case_counts(layout, wishes))
        yield step


def _prepared(layout: Layout, wishes: Wishes, held: Held) -> Iterator[Progress | Problem]:
    searched = open_zones(layout, wishes)
    own = layout.parts
    wishes = replace(
        wishes,
        exchangers=tuple(_own_copy(own, p) for p in wishes.exchangers),
        fans=tuple(_own_copy(own, p) for p in wishes.fans),
        pumps=tuple(_own_copy(own, p) for p in wishes.pumps),
    )
    emptied = layout.but(stacks=tuple(s for s in layout.stacks if s.zone not in searched))
    if wishes.judge is not None and wishes.judge != emptied.settings.judge:
        emptied = emptied.but(settings=emptied.settings.but(judge=wishes.judge))
    base = check_layout(emptied, remedies=False)
    varied = families(emptied) if wishes.obstacle_states else []
    making = _Making(base, wishes, varied, layout.stacks)
    to_fill = [z for z in layout.enclosure.zones if z.id in searched]
    for stage in making.need_room(to_fill):
        yield Progress(stage)
    for at, zone in enumerate(to_fill):
        for stage in making.zone(zone, new_prefix(layout, at + 1)):
            yield Progress(replace(stage, done=at, parts=len(to_fill)), making.listed)
        held.give_back_if_much()
    making.others(new_prefix(layout, len(layout.enclosure.zones) + 1))
    made = ZoneTables((), {})
    for step in making.tables():
        if isinstance(step, Stage):
            yield Progress(step, making.listed)
        else:
            made = step
    zones, made = yield from told_as(making.settled(made), partial(_settling, making.listed))
    yield Problem(wishes, base, tuple(zones), made, making.names, layout)


DRAWN_SHARE = 0.1
"""The share of the work on a pair of zones by worst case that judging it as drawn has."""


@dataclass
class _Making:
    """The options of all zones and what stands for one, and what of them conflicts."""

    base: Checked
    wishes: Wishes
    families: list[Family]
    present: tuple[Stack, ...]
    zones: list[ZoneOptions] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)
    footings: list[list[tuple[Footing, int]]] = field(default_factory=list)
    """For each zone its footing in each outcome of the family that carries it, and how many of its
    options stand there."""

    @property
    def layout(self) -> Layout:
        return self.base.scene.layout

    @property
    def listed(self) -> tuple[Listed, ...]:
        return tuple(Listed(z.zone, z.listed, z.fit_alone) for z in self.zones)

    @cached_property
    def zone_names(self) -> Mapping[str, str]:
        return zone_names(self.layout.enclosure)

    @cached_property
    def margins(self) -> Floats:
        return role_margins(self.layout.settings)

    @cached_property
    def varied(self) -> frozenset[str]:
        """The obstacles of which the states are chosen, which therefore do not stand yet."""
        return frozenset(member for family in self.families for member in family.members)

    @cached_property
    def room(self) -> Room:
        return Room.of(self.base.scene, self.varied)

    @cached_property
    def outcomes(self) -> Mapping[str, ZoneOptions]:
        """The outcomes of each family that stand with what stands already."""
        return {f.root: family_options(self.base, f, self.wishes) for f in self.families}

    @cached_property
    def moved(self) -> Mapping[str, Sequence[Room]]:
        """The obstacles of each family in each of these."""
        return {
            f.root: [self._members(f, o.states) for o in self.outcomes[f.root].options]
            for f in self.families
        }

    def zone(self, zone: Zone, prefix: str) -> Iterator[Stage]:
        """List and judge the options of a zone; yield how far that has come."""
        family = self._carrier(zone.owner)
        outcomes = family.outcomes if family is not None else ({},)
        listed: list[ZoneOptions] = []
        footings: list[tuple[Footing, int]] = []
        name, count = self.zone_names[zone.id], 0
        for states in outcomes:
            layout = with_states(self.layout, states)
            room = self.room
            if family is not None:
                scene = build_scene(layout, self.base.scene)
                room = Room.of(scene, self.varied - family.members)
            lister = self._lister(layout, zone, prefix)
            moved = [() if other is family else self.moved[other.root] for other in self.families]
            stacks = partial(_stacks_with, states, lister, empty=not listed)
            judge, number = ZoneJudge(room, lister, stacks, moved), 0
            for number in judge.gathering():
                if (count + number) % 100 == 0:
                    yield Stage(Doing.LISTING, name, so_far=f"{count + number:,} so far")
            count += number
            tell = partial(_judging, name, judge.listed)
            listed.append((yield from told_as(judge.judged(), tell)))
            footings.append((judge.footing, len(listed[-1].options)))
        self.zones.append(ZoneOptions.joined(listed))
        self.names[zone.id] = name
        self.footings.append(footings)

    def need_room(self, zones: Sequence[Zone]) -> Iterator[Stage]:
        """Look how many options of zones would be listed; yield how far that has come.

        Raises TooManyListed where they would take more memory than there is.
        """
        by_worst_case = worst_case_counts(self.layout, self.wishes)
        judge: Judging = "worst case" if by_worst_case else "nominal"
        counted = ListedCount(judge, self.wishes.side_by_side, bare=len(zones))
        for at, zone in enumerate(zones):
            yield Stage(Doing.SIZING, self.zone_names[zone.id], done=at, parts=len(zones))
            for lister in self._listers(zone, f"Z{at + 1}"):
                counted.add(lister)
        counted.need_room(self.wishes.slide_steps)

    def _listers(self, zone: Zone, prefix: str) -> Iterator[ZoneLister]:
        """Yield what lists the options of a zone in each outcome of the family that carries it."""
        family = self._carrier(zone.owner)
        for states in family.outcomes if family is not None else ({},):
            yield self._lister(with_states(self.layout, states), zone, prefix)

    def _lister(self, layout: Layout, zone: Zone, prefix: str) -> ZoneLister:
        slides_mm = [(s.slide_u_mm, s.slide_v_mm) for s in self.present if s.zone == zone.id]
        return ZoneLister(layout, zone, self.wishes, prefix, slides_mm)

    def _carrier(self, owner: str) -> Family | None:
        return next((f for f in self.families if owner in f.members), None)

    def others(self, prefix: str) -> None:
        """List what is chosen next to the zones: states of obstacles, a pump on its own feet."""
        for family in self.families:
            self.zones.append(self.outcomes[family.root])
            self.names[family.root] = family.name
        if self.wishes.free_pumps and self.wishes.pumps and self.wishes.pump != "none":
            layout = with_parts(self.layout, self.wishes.pumps)
            lister = FreeLister(layout, self.wishes, f"{prefix}-P")
            self.zones.append(free_options(self.room, lister))
            self.names[FREE] = "pump on its own feet"

    def tables(self) -> Iterator[Stage | ZoneTables]:
        """Make the tables of conflicts of all pairs of zones; the last that is yielded are they."""
        clash = {}
        pairs = list(combinations(range(len(self.zones)), 2))
        for at, (i, j) in enumerate(pairs):
            names = " with ".join(self.names[self.zones[k].zone] for k in (i, j))
            table = yield from told_as(self._table(i, j), partial(_pairing, names, at, len(pairs)))
            if table.any():
                clash[i, j] = table
            yield Stage(Doing.PAIRING, done=at + 1, parts=len(pairs))
        yield ZoneTables(tuple(zone.options.which(holds_pump) for zone in self.zones), clash)

    def settled(self, tables: ZoneTables) -> Steps[tuple[list[ZoneOptions], ZoneTables]]:
        """Return in steps zones and tables in which it is settled what depends on several zones.

        What is past a nominal depth has something ahead, and what is left is that of the states
        that are chosen.
        """
        first = len(self.footings)
        places = range(first, first + len(self.families))
        zones = self.zones
        if self.wishes.tight_allowed:
            layout = with_parts(
                self.layout, (*self.wishes.exchangers, *self.wishes.fans, *self.wishes.pumps)
            )
            moved = {at: self.moved[f.root] for at, f in zip(places, self.families, strict=True)}
            past = PastNominal(layout, self.base.scene, self.room, moved)
            zones, tables = past.settled(zones, tables)
        return (yield from left_settled(zones, tables, places))

    def _table(self, i: int, j: int) -> Steps[Table]:
        one, other = self.zones[i], self.zones[j]
        first = len(self.footings)
        if first <= i < first + len(self.families):
            # A family with another is no pair to judge; with a pump on its feet it is the room.
            if j < first + len(self.families):
                return PairTable.of(np.zeros((len(one.options), len(other.options)), dtype=bool))
            floor = [(Footing(FLOOR), len(other.options))]
            return (yield from self._with_family(other, floor, i - first)).turned()
        if first <= j < first + len(self.families):
            return (yield from self._with_family(one, self.footings[i], j - first))
        most = TIGHT if self.wishes.tight_allowed else CLEAR
        pumped = one.options.which(holds_pump), other.options.which(holds_pump)
        drawn = marked_conflicts(one.makeup, other.makeup, pumped, self.margins, most)
        a, b = one.tolerant, other.tolerant
        if a is None or b is None:
            return (yield from drawn).simplest
        table = yield from told_as(drawn, lambda done: done * DRAWN_SHARE)
        short = short_marked(a, b, self.margins, table)
        told = told_as(short, lambda done: DRAWN_SHARE + done * (1 - DRAWN_SHARE))
        found = yield from told
        for options in (a, b):
            options.kinds.forget()
        return found.simplest

    def _with_family(
        self, zone: ZoneOptions, footings: list[tuple[Footing, int]], number: int
    ) -> Steps[PairTable]:
        """Return which options of a zone conflict with which outcomes of a family."""
        family = self.families[number]
        chosen = self.zones[len(self.footings) + number].options
        out = np.zeros((len(zone.options), len(chosen)), dtype=bool)
        start = 0
        for footing, size in footings:
            rows = np.arange(start, start + size, dtype=np.intp)
            start += size
            for k, outcome in enumerate(chosen):
                if footing.owner in family.members:
                    elsewhere = partial(_stands_elsewhere, outcome.states)
                    out[rows, k] = zone.options.some(rows).which(elsewhere)
                else:
                    met = self._met(zone, rows, footing, family, outcome.states)
                    out[rows, k] = yield from met
        return PairTable.of(out)

    def _members(self, family: Family, states: Mapping[str, str]) -> Room:
        """Return a family's obstacles as some states have them."""
        scene = build_scene(with_states(self.layout, states), self.base.scene)
        return Room.holding(scene, [s for s in scene.fixed if s.owner in family.members])

    def _met(
        self,
        zone: ZoneOptions,
        rows: Indices,
        footing: Footing,
        family: Family,
        states: Mapping[str, str],
    ) -> Steps[Bools]:
        """Return which options of a zone meet a family's obstacles as some states have them."""
        room = self._members(family, states)
        most = TIGHT if self.wishes.tight_allowed else CLEAR
        some = zone.makeup.some(rows)
        levels = worst_with(some.units, room, footing, self.margins)
        met: Bools = some.worst(levels[:, None])[:, 0] > most
        if zone.tolerant is not None:
            tolerant = zone.tolerant.some(rows)
            met |= yield from short_with(tolerant, room, footing, self.margins)
        return met


def _stacks_with(states: Mapping[str, str], lister: ZoneLister, *, empty: bool) -> Iterator[Option]:
    """Yield the options of a zone where states are chosen, the empty one among them or not."""
    for option in lister.options():
        if option.layers is not None:
            yield replace(option, states=states) if states else option
        elif empty:
            yield option


def _stands_elsewhere(states: Mapping[str, str], option: Option) -> bool:
    return option.layers is not None and option.states != states


def _judging(name: str, listed: int, share: float) -> Stage:
    return Stage(Doing.JUDGING, name, share, f"{listed:,} to choose from")


def _pairing(names: str, done: int, parts: int, share: float) -> Stage:
    return Stage(Doing.PAIRING, names, share, done=done, parts=parts)


def _settling(listed: tuple[Listed, ...], share: float) -> Progress:
    return Progress(Stage(Doing.SETTLING, share=share), listed)


def family_options(base: Checked, family: Family, wishes: Wishes) -> ZoneOptions:
    """Return the outcomes of a family that stand with what stands already, by all checks."""
    before = {(f.kind, f.ids) for f in base.report.findings}
    most = (Verdict.CLEAR, Verdict.TIGHT) if wishes.tight_allowed else (Verdict.CLEAR,)
    options = []
    for states, text in zip(family.outcomes, family.texts, strict=True):
        checked = check_layout(with_states(base.scene.layout, states), base, remedies=False)
        new = [f for f in checked.report.findings if (f.kind, f.ids) not in before]
        if all(f.verdict in most for f in new):
            options.append(Option(family.root, text, states=states))
    open_mm = np.full(len(options), np.inf)
    makeup = Makeup.of(UnitSet().units(), [()] * len(options))
    listed = len(family.outcomes)
    return ZoneOptions(family.root, Options.of(options), makeup, open_mm, open_mm, listed)


def _own_copy(own: Mapping[str, Part], part: P) -> P:
    """Return the layout's own copy of a part of the same kind and id, where it has one."""
    copy = own.get(part.id)
    return copy if isinstance(copy, type(part)) else part
