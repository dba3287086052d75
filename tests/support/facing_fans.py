"""A small room to search: two zones face each other, with three parts that may go on them."""

from __future__ import annotations

import small_rooms as make

from geometry.layout import Layout

FAN = make.fan(25.0)
PARTS = (FAN, make.exchanger(1, 30.0), make.exchanger(1, 60.0))
IDS = tuple(part.id for part in PARTS)
WANTED = ("volume", "leftover")


def two_zones() -> Layout:
    """Two zones for one fan face each other over 200 mm; a fan stands on the rear one."""
    room = make.room(
        (200.0, 180.0, 200.0),
        zones=(
            make.zone("front-zone", "front", (200.0, 20.0, 20.0), "+z", "+y", make.row(1)),
            make.zone("rear-zone", "rear", (0.0, 140.0, 20.0), "+z", "-y", make.row(1)),
        ),
    )
    return make.layout(room, PARTS, [make.stack("S1", "rear-zone", make.one("F1", FAN))])
