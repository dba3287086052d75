"""Names and other texts that a layout brings with it, which are told as their author wrote them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import partial

from catalog.model import Model
from geometry.layout import Layout
from geometry.recent import Recent

_LENGTH = r"\d[ \N{NO-BREAK SPACE}]mm\b"
"""Not compiled before it is wanted: a window shows its first picture without it."""


def texts_with_lengths(layouts: Iterable[Layout]) -> frozenset[str]:
    """Return the texts of enclosures and parts in which a length in mm stands."""
    things: dict[int, Model] = {}
    for layout in layouts:
        for thing in (layout.enclosure, *layout.parts.values()):
            things[id(thing)] = thing
    return frozenset(text for thing in things.values() for text in _texts_of(thing))


_recent: Recent[tuple[str, ...]] = Recent(512)


def _texts_of(thing: Model) -> tuple[str, ...]:
    return _recent.of(thing, find=partial(_found_in, thing))


def _found_in(thing: Model) -> tuple[str, ...]:
    return tuple(text for text in _texts(thing) if re.search(_LENGTH, text))


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Model):
        for _, field in value:
            yield from _texts(field)
    elif isinstance(value, Mapping):
        for key, held in value.items():
            yield from _texts(key)
            yield from _texts(held)
    elif isinstance(value, tuple):
        for held in value:
            yield from _texts(held)
