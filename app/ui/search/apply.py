"""What a row of a search does to the layout at hand. No widget in it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import get_args

from geometry.edits import with_placed, without_leftovers
from geometry.layout import FreePart, Layout, Side
from geometry.search.listing.zone_lister import with_parts
from geometry.search.near.summary import LetIn, NearSummary
from geometry.search.summary import RowSummary
from geometry.search.wishes import Wishes


@dataclass(frozen=True, eq=False)
class Ground:
    """What a search rests on: the layout that it began with, and what of it the search chooses.

    `zones` are those that it fills, `states` whether it chooses the states of obstacles. `put` are
    the free parts that its rows put in, whatever their ids: one that was moved since is not one.
    """

    layout: Layout
    zones: tuple[str, ...]
    states: bool
    put: frozenset[FreePart] = frozenset()

    @classmethod
    def of(cls, layout: Layout, wishes: Wishes) -> Ground:
        """Return the ground of a search."""
        known = tuple(zone.id for zone in layout.enclosure.zones)
        return cls(
            layout, wishes.zones if wishes.zones is not None else known, wishes.obstacle_states
        )

    def knowing(self, layouts: Iterable[Layout]) -> Ground:
        """Return the ground with the free parts that some layouts put in."""
        every = {_nameless(one) for layout in layouts for one in layout.free}
        return replace(self, put=self.put | (every - {_nameless(one) for one in self.layout.free}))

    def with_row(self, now: Layout, row: RowSummary) -> Layout:
        """Return a layout with what a row puts in place of all that the search chooses.

        Everything else stays as it is now, edits made since included. What is put in goes by the
        ids that it would have if it were placed by hand.
        """
        stacks = [s for s in row.layout.stacks if s.zone in self.zones]
        free = [one for one in row.layout.free if self._is_put(one)]
        used = {item.part for s in stacks for la in (*s.inner, *s.outer) for item in la.items}
        used |= {one.part for one in free}
        parts = [part for key, part in row.layout.parts.items() if key in used]
        kept = with_parts(now, parts).but(
            stacks=tuple(s for s in now.stacks if s.zone not in self.zones),
            free=tuple(one for one in now.free if not self._is_put(one)),
            states=row.layout.states if self.states else now.states,
        )
        return without_leftovers(with_placed(kept, stacks, free))

    def is_other(self, now: Layout) -> bool:
        """Say whether a layout differs from the one that was searched in what the rows rest on.

        What the search chooses does not count: it was taken out for it.
        """
        pairs = zip(self._rest(now), self._rest(self.layout), strict=True)
        # Edits share what they leave, so that most of it need not be gone through.
        return not all(a is b or a == b for a, b in pairs)

    def is_elsewhere(self, now: Layout) -> bool:
        """Say whether a layout has not the zones that were searched."""
        mine = self.layout.enclosure
        return now.enclosure is not mine and now.enclosure.zones != mine.zones

    def _is_put(self, one: FreePart) -> bool:
        return _nameless(one) in self.put

    def _rest(self, layout: Layout) -> tuple[object, ...]:
        kept = tuple(s for s in layout.stacks if s.zone not in self.zones)
        free = tuple(one for one in layout.free if not self._is_put(one))
        used = {item.part for s in kept for la in (*s.inner, *s.outer) for item in la.items}
        used |= {one.part for one in free}
        parts = {key: layout.parts[key] for key in sorted(used)}
        settings = (layout.settings.margin_mm, layout.settings.margins, layout.settings.judge)
        states = None if self.states else layout.states
        return (layout.enclosure, kept, free, states, settings, parts)


def _nameless(one: FreePart) -> FreePart:
    return one.but(id="")


def with_change(now: Layout, changed: Layout) -> Layout:
    """Return a layout that a relaxation makes, called and drawn as the one at hand is."""
    settings = changed.settings.but(projection=now.settings.projection)
    # The same value in another copy would make the board lay its views out anew.
    same = changed.enclosure == now.enclosure
    return changed.but(
        name=now.name,
        revision=now.revision,
        settings=settings,
        enclosure=now.enclosure if same else changed.enclosure,
    )


def filled(before: Layout, after: Layout) -> tuple[tuple[str, Side], ...]:
    """Return the zones and sides on which something is stacked now that was not before."""
    earlier = {stack.zone: stack for stack in before.stacks}
    return tuple(
        (stack.zone, side)
        for stack in after.stacks
        if stack != earlier.get(stack.zone)
        for side in get_args(Side)
        if stack.side(side)
    )


def row_name(row: RowSummary) -> str:
    """Return the name of the edit that applies a row."""
    return f"Apply combination {row.number}"


def change_name(miss: NearSummary, change: LetIn) -> str:
    """Return the name of the edit that applies a near miss with a change: what is put in, and how.

    "Apply row 1 with Exchanger 1 x 120, 30 mm on floor, and slide the stack on floor 0.8 mm up"
    """
    told = change.name[:1].lower() + change.name[1:]
    put_in = f"pply {miss.what}, and {told}"
    return f"Cut enclosure: a{put_in}" if change.cuts else f"A{put_in}"
