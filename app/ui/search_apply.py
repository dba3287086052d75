"""What a row of a search does to the layout at hand. No widget in it."""

from __future__ import annotations

from collections.abc import Collection

from catalog.model import FrozenMap
from geometry.layout import Layout
from geometry.search.problem import with_parts
from geometry.search.summary import RowSummary


def with_row(layout: Layout, row: RowSummary, searched: Layout, zones: Collection[str]) -> Layout:
    """Return a layout with what a row puts in place of all that stands on the searched zones.

    `searched` is the layout that the search began with. Everything else stays as it is now, edits
    made since included; so do free parts and obstacle states that the row leaves as they were.
    """
    stacks = tuple(s for s in row.layout.stacks if s.zone in zones)
    known = {one.id for one in searched.free}
    free = tuple(one for one in row.layout.free if one.id not in known)
    states = {k: v for k, v in row.layout.states.items() if searched.states.get(k) != v}
    used = {item.part for s in stacks for la in (*s.inner, *s.outer) for item in la.items}
    used |= {one.part for one in free}
    parts = [part for key, part in row.layout.parts.items() if key in used]
    kept = tuple(s for s in layout.stacks if s.zone not in zones)
    mine = {one.id for one in free}
    return with_parts(layout, parts).but(
        stacks=(*kept, *stacks),
        free=(*(one for one in layout.free if one.id not in mine), *free),
        states=FrozenMap({**layout.states, **states}),
    )


def changed_since(now: Layout, searched: Layout, zones: Collection[str]) -> bool:
    """Say whether a layout differs from the one that was searched in what the rows rest on.

    What stands on the searched zones does not count: the search took it out.
    """
    pairs = zip(_rest(now, zones), _rest(searched, zones), strict=True)
    # Edits share what they leave, so that most of it need not be gone through.
    return not all(a is b or a == b for a, b in pairs)


def _rest(layout: Layout, zones: Collection[str]) -> tuple[object, ...]:
    kept = tuple(s for s in layout.stacks if s.zone not in zones)
    used = {item.part for s in kept for la in (*s.inner, *s.outer) for item in la.items}
    used |= {one.part for one in layout.free}
    parts = {key: layout.parts[key] for key in sorted(used)}
    settings = (layout.settings.margin_mm, layout.settings.margins, layout.settings.judge)
    return (layout.enclosure, kept, layout.free, layout.states, settings, parts)


def row_name(row: RowSummary) -> str:
    """Return the name of the edit that applies a row."""
    return f"Apply combination {row.number}"
