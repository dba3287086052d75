"""What a draughtsman adds to the outline of a part: rings, hubs, holes, fins, threads, arrows."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from app.drawing.primitives import (
    XY,
    Arc,
    Bounds,
    Circle,
    Fill,
    Hatch,
    Ink,
    LineType,
    Path,
    Primitive,
)
from app.drawing.silhouettes import rectangle
from catalog.parts import Exchanger, Fan, part_cells, part_ports
from catalog.threads import PIPE_THREADS, pipe_thread
from geometry.layout import Item
from geometry.measures.pose import way

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from catalog.parts import Port
    from geometry.measures.pose import Vec, Way
    from geometry.placement import Placed

RING_SHARE = 0.95
"""Inner diameter of a fan's ring, as a share of its frame (common practice)."""

FAN_HOLE_MM = 4.3
"""Hole of a fan's frame (common practice: 4.3 to 4.5)."""

CORE_HOLE_MM = 3.0
"""Thread of an exchanger's face (common practice: M3, M4 or 6-32 UNC)."""

BOARD_HOLE_MM = 3.96
"""Mounting hole of a board (ATX specification 2.1: 0.156 in)."""

AIR_ARROW_SHARE = 0.41
"""How far from a fan's axis the arrows for its air stand, as a share of its frame."""

LEAST_HOLE_PX = 1.6
LEAST_DETAIL_PX = 14.0
"""Details of a smaller size on screen are left out."""


def part_details(one: Placed, view: ViewFrame, drafting: Drafting) -> Iterator[Primitive]:
    """Yield the details of a placed part as seen in a view, over its outlines."""
    part = one.part
    face_on = one.pose.z.axis == view.toward.axis
    # By kind: of a model, `isinstance` goes through Python where it fails.
    if part.kind == "fan":
        yield from (
            _fan_face(part, one, view, drafting)
            if face_on
            else _fan_edge(part, one, view, drafting)
        )
    elif part.kind == "exchanger" and face_on:
        yield from _core_face(part, one, view, drafting)
    elif part.kind == "board" and face_on:
        for x, y in part.holes_mm:
            yield from _hole(view.to_board(one.pose.point((x, y, 0.0))), BOARD_HOLE_MM, drafting)


def port_details(one: Placed, view: ViewFrame, drafting: Drafting) -> Iterator[Primitive]:
    """Yield ports and fittings: threads end on, centre lines of those seen from the side."""
    for port in part_ports(one.part):
        facing = one.pose.turn(way(port.facing))
        at = view.to_board(one.pose.point(port.at_mm))
        use = one.use.ports.get(port.id)
        plugged = use.plugged if use is not None else not port.open
        if facing == view.toward:
            yield from _thread(at, port, drafting, plugged=plugged)
        elif facing.axis != view.toward.axis and not plugged:
            along = view.direction(facing)
            assert along is not None
            yield _centre_line(at, along, 34.0, drafting)


def label_hurdles(one: Placed, view: ViewFrame, drafting: Drafting) -> Iterator[Bounds]:
    """Yield rectangles of details on which a label would be hard to read."""
    part = one.part
    if part.kind != "fan" or part.frame_mm < LEAST_DETAIL_PX * drafting.unit_mm:
        return
    if one.pose.z.axis == view.toward.axis:
        x, y = view.to_board(one.pose.point((0.0, 0.0, 0.0)))
        half, hub, line = part.frame_mm / 2, part.hub_mm / 2, drafting.unit_mm
        yield (x - hub, y - hub, x + hub, y + hub)
        yield (x - half, y - line, x + half, y + line)
        yield (x - line, y - half, x + line, y + half)
        return
    for (ax, ay), (bx, by) in _air_arrows(part, one, view, drafting):
        pad = 3 * drafting.unit_mm
        yield (min(ax, bx) - pad, min(ay, by) - pad, max(ax, bx) + pad, max(ay, by) + pad)


def air_way(one: Placed) -> Way:
    """Return the direction of a fan's air: its stack's, unless it is set against it."""
    if one.stack is None or one.frame is None or not isinstance(one.use, Item):
        return one.pose.z
    air = one.frame.inward if one.stack.air == "inward" else -one.frame.inward
    return air if one.use.air == "with" else -air


def _fan_face(fan: Fan, one: Placed, view: ViewFrame, drafting: Drafting) -> Iterator[Primitive]:
    centre = view.to_board(one.pose.point((0.0, 0.0, 0.0)))
    if fan.frame_mm < LEAST_DETAIL_PX * drafting.unit_mm:
        return
    ring = fan.frame_mm * RING_SHARE / 2
    yield Circle(centre, ring, drafting.narrow(Ink.OUTLINE))
    yield Circle(centre, fan.hub_mm / 2, drafting.narrow(Ink.OUTLINE))
    half = fan.pitch_mm / 2
    for sx in (-1, 1):
        for sy in (-1, 1):
            corner = (centre[0] + sx * half, centre[1] + sy * half)
            yield from _hole(corner, FAN_HOLE_MM, drafting)
    yield from _cross(centre, fan.frame_mm / 2 + 4 * drafting.unit_mm, drafting)
    yield from _air_end_on(centre, air_way(one), view, min(fan.hub_mm * 0.16, 6.0), drafting)


def _air_end_on(
    centre: XY, air: Way, view: ViewFrame, r: float, drafting: Drafting
) -> Iterator[Primitive]:
    """Yield the mark for air that comes to the viewer (a dot) or goes away (a cross).

    Common practice: the point and the feathers of an arrow.
    """
    if r < 2 * drafting.unit_mm:
        return
    yield Circle(centre, r, drafting.narrow(Ink.FAN), Fill(Ink.PAPER))
    if air == view.toward:
        yield Circle(centre, r * 0.36, None, Fill(Ink.FAN, solid=True))
        return
    d = r * math.sqrt(0.5)
    x, y = centre
    yield Path(((x - d, y - d), (x + d, y + d)), drafting.narrow(Ink.FAN))
    yield Path(((x - d, y + d), (x + d, y - d)), drafting.narrow(Ink.FAN))


def _fan_edge(fan: Fan, one: Placed, view: ViewFrame, drafting: Drafting) -> Iterator[Primitive]:
    """Yield arrows for the air through a fan seen from its edge, near both ends of its frame."""
    line = drafting.narrow(Ink.FAN)
    for start, tip in _air_arrows(fan, one, view, drafting):
        length = math.dist(start, tip)
        along = ((tip[0] - start[0]) / length, (tip[1] - start[1]) / length)
        back, half = length * 0.42, length * 0.17
        neck = (tip[0] - along[0] * back, tip[1] - along[1] * back)
        wing = (-along[1] * half, along[0] * half)
        yield Path((start, tip), line)
        yield Path(
            ((neck[0] + wing[0], neck[1] + wing[1]), tip, (neck[0] - wing[0], neck[1] - wing[1])),
            line,
        )


def _air_arrows(
    fan: Fan, one: Placed, view: ViewFrame, drafting: Drafting
) -> Iterator[tuple[XY, XY]]:
    """Yield where the arrows for a fan's air start and end; none where there is no room."""
    if fan.thickness_mm < LEAST_DETAIL_PX * 0.6 * drafting.unit_mm:
        return
    along = view.direction(air_way(one))
    if along is None:
        return
    middle = view.to_board(one.pose.point((0.0, 0.0, fan.thickness_mm / 2)))
    half = min(fan.thickness_mm * 0.62, 16 * drafting.unit_mm) / 2
    reach = AIR_ARROW_SHARE * fan.frame_mm
    for shift in (-reach, reach):
        x, y = middle[0] - along[1] * shift, middle[1] + along[0] * shift
        yield (
            (x - along[0] * half, y - along[1] * half),
            (x + along[0] * half, y + along[1] * half),
        )


def _core_face(
    part: Exchanger, one: Placed, view: ViewFrame, drafting: Drafting
) -> Iterator[Primitive]:
    half_l, half_w = part.core_length_mm / 2, part.core_width_mm / 2
    corners = [view.to_board(one.pose.point((x, y, 0.0))) for x in (-half_l, half_l)
               for y in (-half_w, half_w)]  # fmt: skip
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    along = view.direction(one.pose.x)
    assert along is not None
    kind: Hatch = "level" if along[1] == 0.0 else "upright"
    fins = Fill(Ink.EXCHANGER, kind, max(drafting.hatch_mm * 0.8, 4.0), drafting.narrow_mm * 0.6)
    yield rectangle((min(xs), min(ys), max(xs), max(ys)), None, fins)
    for cell in part_cells(part):
        pitch = cell.accepts[0].pitch_mm / 2
        for sx in (-1, 1):
            for sy in (-1, 1):
                point: Vec = (cell.u_mm + sx * pitch, cell.v_mm + sy * pitch, 0.0)
                at = view.to_board(one.pose.point(point))
                yield from _hole(at, CORE_HOLE_MM, drafting, Fill(Ink.EXCHANGER))


def _hole(
    at: XY, diameter_mm: float, drafting: Drafting, fill: Fill | None = None
) -> Iterator[Primitive]:
    if diameter_mm / 2 >= LEAST_HOLE_PX * drafting.unit_mm:
        yield Circle(at, diameter_mm / 2, drafting.narrow(Ink.OUTLINE), fill)


def _cross(centre: XY, reach: float, drafting: Drafting) -> Iterator[Primitive]:
    x, y = centre
    line = drafting.narrow(Ink.CENTRE, LineType.CHAIN)
    yield Path(((x - reach, y), (x + reach, y)), line)
    yield Path(((x, y - reach), (x, y + reach)), line)


def _centre_line(at: XY, along: XY, length: float, drafting: Drafting) -> Path:
    start = (at[0] - along[0] * 5.0, at[1] - along[1] * 5.0)
    end = (at[0] + along[0] * length, at[1] + along[1] * length)
    return Path((start, end), drafting.narrow(Ink.CENTRE, LineType.CHAIN))


def _thread(at: XY, port: Port, drafting: Drafting, *, plugged: bool) -> Iterator[Primitive]:
    """Yield an internal thread seen end on: minor circle wide, major as three quarters narrow.

    ISO 6410-1, 3.1: the root of a thread seen from its end is drawn as about three quarters of
    a circle, the gap preferably in the upper right quadrant.
    """
    thread = pipe_thread(port.thread) or PIPE_THREADS["G1/4"]
    major, minor = thread.major_mm, thread.minor_mm
    if minor < 6 * drafting.unit_mm:
        return
    inside = Fill(Ink.FITTING) if plugged else Fill(Ink.PAPER)
    yield Circle(at, minor / 2, drafting.wide(Ink.OUTLINE), inside)
    yield Arc(at, major / 2, 95.0, 260.0, drafting.narrow(Ink.OUTLINE))
    if plugged:
        # A plug's hexagon socket.
        r = minor * 0.28
        corners = tuple(
            (at[0] + r * math.cos(math.pi / 3 * k), at[1] + r * math.sin(math.pi / 3 * k))
            for k in range(6)
        )
        yield Path(corners, drafting.narrow(Ink.OUTLINE), closed=True)
    yield from _cross(at, major / 2 + 2.5, drafting)
