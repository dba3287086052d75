"""Solids of every kind of part, in the part frame, with their roles.

Part frame: origin in the middle of the seat face, X along the length (port end at +X), Y along
the width, Z away from the plate.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from catalog.parts import (
    Adapter,
    Board,
    Card,
    Drive,
    Exchanger,
    Fan,
    Fitting,
    Gasket,
    Part,
    Port,
    Pump,
    PumpReservoir,
    Reservoir,
    Supply,
    Tank,
    part_plugs,
    part_ports,
)
from catalog.shapes import Box, Extrusion, Plug, Shape, Stadium
from geometry.layout import PortUse, port_use
from geometry.measures.pose import AXES, Vec, way
from geometry.measures.prism import PLANE, Poly, Prism, Rect, Round, box
from geometry.measures.solid import Role

DEFAULT_FITTING = Fitting.model_construct(
    id="fitting-24x20", name="Fitting 24 x 20", length_mm=24.0, diameter_mm=20.0
)
"""What stands on an open port unless another is chosen (common practice, no source).

Sound as it is: to have it validated would make the schema of fittings whenever this is loaded.
"""


@dataclass(frozen=True)
class Piece:
    """One solid of a part: a suffix for its id, a name, a role and its prisms."""

    suffix: str
    name: str
    role: Role
    prisms: tuple[Prism, ...]


def shape_prism(shape: Shape) -> Prism:
    """Return the prism that a catalog shape describes."""
    if isinstance(shape, Box):
        least = shape.at_mm
        return box(least, [a + s for a, s in zip(least, shape.size_mm, strict=True)])
    axis = AXES.index(shape.axis)
    if isinstance(shape, Extrusion):
        outline = Poly(shape.outline_mm, shape.holes_mm)
        return Prism(axis, outline, shape.from_mm, shape.to_mm)
    i, j = PLANE[axis]
    a, b, base = shape.at_mm[i], shape.at_mm[j], shape.at_mm[axis]
    reach = (shape.overall_mm - shape.diameter_mm) / 2 if isinstance(shape, Stadium) else 0.0
    along_a = isinstance(shape, Stadium) and AXES.index(shape.along) == i
    da, db = (reach, 0.0) if along_a else (0.0, reach)
    rounded = Round(a - da, b - db, a + da, b + db, shape.diameter_mm / 2)
    return Prism(axis, rounded, base, base + shape.length_mm)


def rod(at: Vec, facing: str, diameter_mm: float, length_mm: float) -> Prism:
    """Return the round prism that starts at `at` and runs along a direction."""
    out = way(facing)
    i, j = PLANE[out.axis]
    ends = sorted((at[out.axis], at[out.axis] + out.sign * length_mm))
    outline = Round(at[i], at[j], at[i], at[j], diameter_mm / 2)
    return Prism(out.axis, outline, ends[0], ends[1])


def plug_room(plug: Plug) -> Prism | None:
    """Return the keep-out before a plug's connector; None when it asks for no room."""
    room = plug.plug_mm + plug.bend_mm
    if room <= 0:
        return None
    out = way(plug.facing)
    i, j = PLANE[out.axis]
    a, b = plug.at_mm[i], plug.at_mm[j]
    ends = sorted((plug.at_mm[out.axis], plug.at_mm[out.axis] + out.sign * room))
    half_a, half_b = plug.width_mm / 2, plug.height_mm / 2
    return Prism(out.axis, Rect(a - half_a, b - half_b, a + half_a, b + half_b), ends[0], ends[1])


def seat_thickness_mm(part: Part) -> float:
    """Return how much a part adds to the stack under the next layer (mm)."""
    if isinstance(part, Exchanger):
        return part.core_thickness_mm
    if isinstance(part, Fan | Adapter):
        return part.thickness_mm
    if isinstance(part, Gasket):
        return part.compressed_mm
    if isinstance(part, Pump | Reservoir | PumpReservoir):
        return part.plate.thickness_mm if part.plate else 0.0
    return part.length_mm if isinstance(part, Fitting) else part.height_mm


def part_pieces(
    part: Part, ports: Mapping[str, PortUse], fittings: Mapping[str, Part]
) -> tuple[Piece, ...]:
    """Return the solids of `part`, the fittings on its open ports, the room for its plugs."""
    pieces = [*_bodies(part)]
    for port in part_ports(part):
        pieces.extend(_fitting_pieces(port, port_use(port, ports), fittings))
    for plug in part_plugs(part):
        room = plug_room(plug)
        if room is not None:
            pieces.append(Piece(f"plug:{plug.id}", plug.name, Role.KEEP_OUT, (room,)))
    return tuple(pieces)


def _bodies(part: Part) -> Iterator[Piece]:
    if isinstance(part, Exchanger):
        yield from _exchanger(part)
    elif isinstance(part, Fan):
        yield _block("body", part.name, part.frame_mm, part.frame_mm, part.thickness_mm)
    elif isinstance(part, Gasket):
        yield _block("body", part.name, part.length_mm, part.width_mm, part.compressed_mm)
    elif isinstance(part, Adapter):
        yield _block("body", part.name, part.length_mm, part.width_mm, part.thickness_mm)
    elif isinstance(part, Pump | Reservoir | PumpReservoir):
        prisms = [shape_prism(shape) for shape in part.bodies]
        if part.plate is not None:
            plate = part.plate
            prisms.append(_slab(plate.length_mm, plate.width_mm, plate.thickness_mm))
        yield Piece("body", part.name, Role.BODY, tuple(prisms))
    elif isinstance(part, Fitting):
        prism = rod((0.0, 0.0, 0.0), "+z", part.diameter_mm, part.length_mm)
        yield Piece("body", part.name, Role.FITTING, (prism,))
    elif isinstance(part, Board | Card | Supply | Drive):
        slab = _slab(part.length_mm, part.width_mm, part.height_mm)
        standing = tuple(shape_prism(shape) for shape in part.bodies)
        yield Piece("body", part.name, Role.BODY, (slab, *standing))


def _exchanger(part: Exchanger) -> Iterator[Piece]:
    half = part.core_length_mm / 2
    middle_z = part.core_thickness_mm / 2
    core = _slab(part.core_length_mm, part.core_width_mm, part.core_thickness_mm)
    back = _tank(part.return_tank, -half - part.return_tank.length_mm, middle_z)
    yield Piece("core", f"{part.name}, core", Role.BODY, (core, back))
    port_end = _tank(part.port_tank, half, middle_z)
    yield Piece("port-end", f"{part.name}, port end", Role.PORT_END, (port_end,))


def _tank(tank: Tank, start_x: float, middle_z: float) -> Prism:
    y, z = tank.offset_y_mm, middle_z + tank.offset_z_mm
    half_w, half_t = tank.width_mm / 2, tank.thickness_mm / 2
    return box(
        (start_x, y - half_w, z - half_t), (start_x + tank.length_mm, y + half_w, z + half_t)
    )


def _slab(length_mm: float, width_mm: float, thickness_mm: float) -> Prism:
    x, y = length_mm / 2, width_mm / 2
    return box((-x, -y, 0.0), (x, y, thickness_mm))


def _block(suffix: str, name: str, length: float, width: float, thickness: float) -> Piece:
    return Piece(suffix, name, Role.BODY, (_slab(length, width, thickness),))


def _fitting_pieces(port: Port, use: PortUse, fittings: Mapping[str, Part]) -> Iterator[Piece]:
    if use.plugged:
        return
    chosen = fittings[use.fitting] if use.fitting is not None else DEFAULT_FITTING
    if not isinstance(chosen, Fitting):
        raise TypeError(f"{chosen.id} on port {port.id} is no fitting")
    body = rod(port.at_mm, port.facing, chosen.diameter_mm, chosen.length_mm)
    yield Piece(f"fitting:{port.id}", f"{chosen.name} on port {port.id}", Role.FITTING, (body,))
    if chosen.hand_mm > 0:
        across = chosen.diameter_mm + 2 * chosen.hand_mm
        room = rod(port.at_mm, port.facing, across, chosen.length_mm)
        name = f"hand room at port {port.id}"
        yield Piece(f"hand:{port.id}", name, Role.KEEP_OUT, (room,))
