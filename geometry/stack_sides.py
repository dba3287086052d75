"""Which side of its zone a stacked item is on, where it is seated, and which way it piles up."""

from __future__ import annotations

from catalog.enclosure import ZoneSide
from geometry.layout import Layout, Side
from geometry.measures.pose import Way
from geometry.placement import Placed, ZoneFrame


def out_way(one: Placed) -> Way:
    """Return the direction in which the stack of a placed item piles up.

    Raises ValueError for a free part.
    """
    if one.frame is None or one.side is None:
        raise ValueError(f"{one.id} is in no stack")
    return one.frame.out_of_plate(one.side)


def seat_face_mm(one: Placed) -> float:
    """Return the world coordinate, along the stack, of the face on which a stack is seated."""
    assert one.frame is not None
    way, plate = out_way(one), zone_side(one).plate_mm
    return one.frame.pose.shift[way.axis] + way.sign * plate


def plate_mm(frame: ZoneFrame, side: Side) -> float:
    """Return how far off a zone's datum the face lies on which one of its sides is seated (mm)."""
    given = frame.zone.side(side)
    return given.plate_mm if given is not None else 0.0


def zone_side(one: Placed) -> ZoneSide:
    """Return the side of its zone on which a stacked item lies; one that says nothing by default.

    Raises ValueError for a free part.
    """
    if one.frame is None or one.side is None:
        raise ValueError(f"{one.id} is in no stack")
    return one.frame.zone.side(one.side) or ZoneSide()


def on_wall(layout: Layout, one: Placed) -> bool:
    """Whether an item's zone is on a wall or panel, not on a bracket inside the enclosure."""
    if one.frame is None:
        return False
    owner = one.frame.zone.owner
    return all(obstacle.id != owner for obstacle in layout.enclosure.obstacles)
