"""A search made ready: what stands, the options of every zone, and which cannot stand together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import prod

from catalog.parts import Part
from geometry.checks.runner import Checked
from geometry.edits import with_placed
from geometry.finding import Verdict
from geometry.layout import Layout, Settings, Stack
from geometry.search.judging.zone_options import ZoneOptions
from geometry.search.listing.families import with_states
from geometry.search.listing.option import Option
from geometry.search.listing.zone_lister import with_parts
from geometry.search.solving.zone_tables import ZoneTables
from geometry.search.wishes import Judging, Wishes


@dataclass(frozen=True)
class Listed:
    """A zone whose options are listed: how many were, and how many of them stand.

    They stand alone, or with something ahead of them.
    """

    zone: str
    listed: int
    fit_alone: int


@dataclass(frozen=True, eq=False)
class Problem:
    """The zones of a search with their options, and the tables of what conflicts.

    `before` is the layout that the search began with. `base` is what stands already, with its
    report, judged as the search judges. `names` has what each zone, or what stands for one, is
    called.
    """

    wishes: Wishes
    base: Checked
    zones: tuple[ZoneOptions, ...]
    tables: ZoneTables
    names: Mapping[str, str]
    before: Layout

    @property
    def own(self) -> Settings:
        """The settings of the layout itself."""
        return self.before.settings

    @property
    def judge(self) -> Judging:
        """How gaps are judged."""
        return self.base.scene.layout.settings.judge

    @cached_property
    def standing(self) -> frozenset[tuple[str, tuple[str, ...]]]:
        """What is at fault already, by kind and ids: nothing that is searched can mend it."""
        found = self.base.report.findings
        return frozenset((f.kind, f.ids) for f in found if f.verdict is not Verdict.CLEAR)

    @property
    def combinations(self) -> int:
        """How many combinations of different options there are, conflicts or not."""
        return prod(zone.fit_alone for zone in self.zones)

    def options(self, combination: tuple[int, ...]) -> tuple[Option, ...]:
        """Return the options of a combination, one number a zone."""
        return tuple(zone.options[k] for zone, k in zip(self.zones, combination, strict=True))

    def judged_layout(self, combination: tuple[int, ...]) -> Layout:
        """Return the layout that a combination makes, to be judged as the search judges.

        What it puts in goes by the ids that it would have if it were placed by hand.
        """
        base = self.base.scene.layout
        made = combined(base, self.wishes, self.options(combination))
        stacks, free = made.stacks[len(base.stacks) :], made.free[len(base.free) :]
        return with_placed(made.but(stacks=base.stacks, free=base.free), stacks, free)

    def layout(self, combination: tuple[int, ...]) -> Layout:
        """Return the layout that a combination makes, with copies of the parts that it uses."""
        made = self.judged_layout(combination)
        return made if made.settings == self.own else made.but(settings=self.own)


def combined(base: Layout, wishes: Wishes, options: tuple[Option, ...]) -> Layout:
    """Return a layout with the stacks and free parts of some options, in the states they choose."""
    stacks = tuple(o.stack for o in options if o.stack is not None)
    free = tuple(o.free for o in options if o.free is not None)
    every = {p.id: p for p in (*wishes.exchangers, *wishes.fans, *wishes.pumps)}
    used = dict.fromkeys(i for stack in stacks for i in _part_ids(stack))
    used.update((one.part, None) for one in free)
    parts: list[Part] = [every[i] for i in used]
    states = {k: v for o in options for k, v in o.states.items()}
    filled = with_parts(base, parts).but(stacks=(*base.stacks, *stacks), free=(*base.free, *free))
    return with_states(filled, states)


def _part_ids(stack: Stack) -> Iterator[str]:
    for layer in (*stack.inner, *stack.outer):
        for item in layer.items:
            yield item.part
