"""Zones that are named on the command line, by their ids or by their names."""

from __future__ import annotations

from collections.abc import Iterable

from catalog.enclosure import Enclosure
from geometry.zone_names import zone_names


def zone_ids(words: Iterable[str], enclosure: Enclosure) -> tuple[str, ...]:
    """Return the ids of zones given by id or by name; what is neither stays as it is.

    A name that two zones share names neither: it is told with its id, as "wall (left-zone)".
    """
    names = zone_names(enclosure)
    ids = {name.lower(): zone for zone, name in names.items()}
    return tuple(word if word in names else ids.get(word.lower(), word) for word in words)
