"""Shapes as numbers: what a caliper and a drawing can tell of a solid.

Each is one outline pushed along an axis. Plane coordinates are the two other axes in the
order x, y, z: across "x" they are (y, z), across "y" (x, z), across "z" (x, y).
"""

from collections.abc import Iterable
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from catalog.model import (
    Axis,
    Direction,
    Id,
    Label,
    Length,
    Mm,
    Model,
    PlanePoint,
    Point,
    Room,
    refusal,
)
from catalog.outlines import outline_fault

MOST_POINTS = 1000
"""A shape with more points comes from another kind of file than one read off with a caliper."""

Ring = Annotated[tuple[PlanePoint, ...], Field(min_length=3, max_length=MOST_POINTS)]


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

    @model_validator(mode="after")
    def _is_long(self) -> Self:
        if self.along == self.axis:
            raise refusal("along", f'is "{self.axis}", as axis is', "name one of the other two")
        if self.overall_mm < self.diameter_mm:
            raise refusal(
                "overall_mm",
                f"is {self.overall_mm:g}, less than diameter_mm, {self.diameter_mm:g}",
                "overall_mm is the long side with both rounds",
            )
        return self


class Extrusion(Model):
    """A polygon, with holes, pushed along `axis` from `from_mm` to `to_mm`.

    Each ring of points closes by itself; it neither crosses nor touches itself or another.
    """

    shape: Literal["extrusion"] = "extrusion"
    axis: Axis
    outline_mm: Ring
    holes_mm: Annotated[tuple[Ring, ...], Field(max_length=200)] = ()
    from_mm: Mm
    to_mm: Mm

    @model_validator(mode="after")
    def _is_solid(self) -> Self:
        if self.from_mm >= self.to_mm:
            raise refusal(
                "to_mm",
                f"is {self.to_mm:g}, not more than from_mm, {self.from_mm:g}",
                "give the lesser coordinate as from_mm",
            )
        points = len(self.outline_mm) + sum(len(hole) for hole in self.holes_mm)
        if points > MOST_POINTS:
            raise refusal(
                "holes_mm", f"has {points} points with outline_mm", f"keep to {MOST_POINTS} in all"
            )
        fault = outline_fault(self.outline_mm, self.holes_mm)
        if fault is not None:
            raise refusal(*fault, "list the points in the order in which one walks round")
        return self


Shape = Annotated[Box | Cylinder | Stadium | Extrusion, Field(discriminator="shape")]


def shape_bounds(shape: Shape) -> tuple[Point, Point]:
    """Return the least and the greatest corner of a shape's bounding box (mm)."""
    if isinstance(shape, Box):
        a, s = shape.at_mm, shape.size_mm
        return a, (a[0] + s[0], a[1] + s[1], a[2] + s[2])
    axis = "xyz".index(shape.axis)
    across = [k for k in range(3) if k != axis]
    least, most = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    if isinstance(shape, Extrusion):
        least[axis], most[axis] = shape.from_mm, shape.to_mm
        for place, k in enumerate(across):
            least[k] = min(point[place] for point in shape.outline_mm)
            most[k] = max(point[place] for point in shape.outline_mm)
    else:
        least[axis] = shape.at_mm[axis]
        most[axis] = shape.at_mm[axis] + shape.length_mm
        for k in across:
            size = shape.diameter_mm
            if isinstance(shape, Stadium) and "xyz"[k] == shape.along:
                size = shape.overall_mm
            half = size / 2
            least[k], most[k] = shape.at_mm[k] - half, shape.at_mm[k] + half
    return (least[0], least[1], least[2]), (most[0], most[1], most[2])


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


MountSize = tuple[float, float]
"""A frame and the pitch of its holes (mm)."""


class Mount(Model):
    """A frame size with the pitch of its four holes."""

    frame_mm: Length
    pitch_mm: Length

    @model_validator(mode="after")
    def _holes_are_in_the_frame(self) -> Self:
        require_pitch_in_frame(self.frame_mm, self.pitch_mm)
        return self

    @property
    def size_mm(self) -> MountSize:
        """The frame and its pitch; mounts of one size fit each other."""
        return self.frame_mm, self.pitch_mm


def mount_sizes(mounts: Iterable[Mount]) -> frozenset[MountSize]:
    """Return the sizes of some mounts."""
    return frozenset([mount.size_mm for mount in mounts])


def require_pitch_in_frame(frame_mm: float, pitch_mm: float) -> None:
    """Raise a refusal where holes would stand on the edge of their frame, or beyond it."""
    if pitch_mm >= frame_mm:
        raise refusal(
            "pitch_mm",
            f"is {pitch_mm:g}, not less than frame_mm, {frame_mm:g}",
            "the pitch is taken from hole to hole along one side",
        )


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

    @model_validator(mode="after")
    def _slots_run_up(self) -> Self:
        for field, (least, most) in (("slot_u_mm", self.slot_u_mm), ("slot_v_mm", self.slot_v_mm)):
            if least > most:
                raise refusal(field, f"runs from {least:g} to {most:g}", "give the lesser first")
        return self


def cell_sizes(cells: Iterable[Cell]) -> frozenset[MountSize]:
    """Return the sizes of all mounts that some cells take."""
    return frozenset([mount.size_mm for cell in cells for mount in cell.accepts])
