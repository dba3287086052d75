"""Zones that are named on the command line, by their ids or by their names."""

from __future__ import annotations

from collections.abc import Iterable

from catalog.enclosure import Enclosure
from geometry.zone_names import zone_names


def zone_id(word: str, enclosure: Enclosure) -> str:
    """Return the id of a zone given by id or by name; what is neither stays as it is.

    A name that two zones share names neither: it is told with its id, as "wall (left-zone)".
    """
    names = zone_names(enclosure)
    ids = {name.lower(): zone for zone, name in names.items()}
    return word if word in names else ids.get(word.lower(), word)


def zone_ids(words: Iterable[str], enclosure: Enclosure) -> tuple[str, ...]:
    """Return the ids of zones as above, of words that may hold several with commas between."""
    known = {zone.id for zone in enclosure.zones}
    found: list[str] = []
    for word in words:
        # Names hold commas too: only what is no zone as a whole is a list.
        whole = zone_id(word, enclosure)
        each = [word] if whole in known else word.split(",")
        found += [zone_id(one.strip(), enclosure) for one in each]
    return tuple(found)
