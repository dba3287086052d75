"""Shapes as numbers: what a caliper and a drawing can tell of a solid.

Each is one outline pushed along an axis. Plane coordinates are the two other axes in the
order x, y, z: across "x" they are (y, z), across "y" (x, z), across "z" (x, y).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from catalog.model import Axis, Direction, Id, Label, Length, Mm, Model, PlanePoint, Point, Room


class Box(Model):
    """A block by its least corner and its size."""

    shape: Literal["box"] = "box"
    at_mm: Point
    size_mm: tuple[Length, Length, Length]


class Cylinder(Model):
    """A round bar: `at_mm` is the centre of the end with the least coordinate along `axis`."""

    shape: Literal["cylinder"] = "cylinder"
    axis: Axis
    at_mm: Point
    diameter_mm: Length
    length_mm: Length


class Stadium(Model):
    """A bar with rounded narrow sides.

    `at_mm` is the centre of the end with the least coordinate along `axis`, `along` the axis of
    its long side, `overall_mm` that side's length with both rounds, `diameter_mm` its width.
    """

    shape: Literal["stadium"] = "stadium"
    axis: Axis
    along: Axis
    at_mm: Point
    overall_mm: Length
    diameter_mm: Length
    length_mm: Length


class Extrusion(Model):
    """A polygon, with holes, pushed along `axis` from `from_mm` to `to_mm`."""

    shape: Literal["extrusion"] = "extrusion"
    axis: Axis
    outline_mm: Annotated[tuple[PlanePoint, ...], Field(min_length=3)]
    holes_mm: tuple[Annotated[tuple[PlanePoint, ...], Field(min_length=3)], ...] = ()
    from_mm: Mm
    to_mm: Mm


Shape = Annotated[Box | Cylinder | Stadium | Extrusion, Field(discriminator="shape")]


class Plug(Model):
    """A connector and the room in front of it: the plug's length, then the bend of its cable.

    `at_mm` is the middle of the connector's face; the keep-out runs from there along `facing`.
    `width_mm` lies along the first of the two other axes in the order x, y, z; `height_mm`
    along the second.
    """

    id: Id
    name: Label
    at_mm: Point
    facing: Direction
    width_mm: Length
    height_mm: Length
    plug_mm: Room
    bend_mm: Room = 0.0


class Mount(Model):
    """A frame size with the pitch of its four holes."""

    frame_mm: Length
    pitch_mm: Length


class Cell(Model):
    """One place for a fan-sized frame: on a zone, an exchanger's face, a plate.

    The centre lies at (u, v) in the frame of its owner. Slots let a screw move from the centre
    by `slot_u_mm` and `slot_v_mm` (least, most); round holes have none.
    """

    id: Id
    u_mm: Mm
    v_mm: Mm
    accepts: Annotated[tuple[Mount, ...], Field(min_length=1)]
    slot_u_mm: tuple[Mm, Mm] = (0.0, 0.0)
    slot_v_mm: tuple[Mm, Mm] = (0.0, 0.0)
