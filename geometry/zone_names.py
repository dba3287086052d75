"""What zones are called where several may be named: two of one name are told apart by their ids."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from catalog.enclosure import Enclosure


def zone_names(enclosure: Enclosure) -> Mapping[str, str]:
    """Return the names of all zones by id.

    >>> from catalog.store import Library
    >>> sorted(zone_names(Library().enclosure("bench-box")).values())[0]
    'floor'
    """
    used = Counter(zone.name for zone in enclosure.zones)
    return {
        zone.id: f"{zone.name} ({zone.id})" if used[zone.name] > 1 else zone.name
        for zone in enclosure.zones
    }
