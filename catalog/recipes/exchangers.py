"""Exchangers: a core for a row of fans, a tank at each end, ports on the port end.

The rules are common practice, no source: the core is as long as its fans and as wide as one; the
port end is 28 to 40 mm long, the return end 12 to 18; a tank is as thick as the core but at least
27 mm, so that a G1/4 port fits on its end, and lies flush with the seat face. Ports are G1/4, half
a frame apart, and look away from the seat unless the name says otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

from catalog.model import FrozenMap
from catalog.parts import Exchanger, Port, Tank
from catalog.recipes.frames import ASSUMED, row_of_cells

Variant = Literal["face", "end", "side", "both"]


class Core(NamedTuple):
    """A core thickness with its trade word and the tank lengths that go with it (mm)."""

    thickness: int
    word: str
    port_tank: float
    return_tank: float


CORES = (
    Core(20, "slim", 28.0, 12.0),
    Core(30, "slim", 30.0, 14.0),
    Core(45, "medium", 32.0, 15.0),
    Core(60, "thick", 36.0, 16.0),
    Core(80, "extra-thick", 40.0, 18.0),
)

LEAST_TANK_MM = 27.0
RETURN_TANK_WITH_PORT_MM = 28.0

_WHERE: dict[Variant, str] = {
    "face": "",
    "end": ", ports on the end",
    "side": ", ports on the sides",
    "both": ", ports on both ends",
}


def exchangers() -> Iterator[Exchanger]:
    """Yield one to four fans of 120 and 140 mm, one to three of 80 and 92 mm, by core."""
    for frame, most in ((80, 3), (92, 3), (120, 4), (140, 4)):
        for count in range(1, most + 1):
            for core in CORES:
                for variant in _variants(frame, count, core.thickness):
                    yield exchanger(count, frame, core, variant)


def _variants(frame: int, count: int, thickness: int) -> tuple[Variant, ...]:
    """Return where the ports may be: the rarer places for the sizes that are most in use."""
    if frame < 120:
        return () if thickness > 60 else ("face",)
    found: list[Variant] = ["face"]
    if thickness in (30, 45, 60):
        found.append("end")
    if thickness == 30 and count <= 3:
        found.append("side")
    if thickness in (30, 45) and 2 <= count <= 3:
        found.append("both")
    return tuple(found)


def exchanger(count: int, frame: int, core: Core, variant: Variant = "face") -> Exchanger:
    """Return the exchanger for a row of `count` fans, with its ports where `variant` says."""
    return_mm = RETURN_TANK_WITH_PORT_MM if variant == "both" else core.return_tank
    thickness = max(float(core.thickness), LEAST_TANK_MM)
    offset = (thickness - core.thickness) / 2
    half = count * frame / 2
    suffix = "" if variant == "face" else f"-{variant}"
    return Exchanger(
        id=f"exchanger-{count}x{frame}-{core.thickness}{suffix}",
        name=f"Exchanger {count} x {frame}, {core.thickness} mm{_WHERE[variant]}",
        aliases=("radiator", "cooler", core.word, f"{count * frame}"),
        core_length_mm=float(count * frame),
        core_width_mm=float(frame),
        core_thickness_mm=float(core.thickness),
        port_tank=_tank(core.port_tank, frame, thickness, offset),
        return_tank=_tank(return_mm, frame, thickness, offset),
        ports=_ports(variant, half, core.port_tank, return_mm, frame, thickness),
        cells=row_of_cells(count, frame),
        dimensions=FrozenMap(
            {
                "core_thickness_mm": ASSUMED,
                "port_tank.length_mm": ASSUMED,
                "port_tank.thickness_mm": ASSUMED,
                "return_tank.length_mm": ASSUMED,
                "return_tank.thickness_mm": ASSUMED,
            }
        ),
    )


def _tank(length: float, frame: int, thickness: float, offset: float) -> Tank:
    return Tank(length_mm=length, width_mm=float(frame), thickness_mm=thickness, offset_z_mm=offset)


def _ports(
    variant: Variant, half: float, port_mm: float, return_mm: float, frame: int, thickness: float
) -> tuple[Port, ...]:
    x, y, top = half + port_mm / 2, frame / 4, thickness
    if variant == "end":
        end, middle = half + port_mm, thickness / 2
        return (
            Port(id="1", at_mm=(end, -y, middle), facing="+x", tank="port_end"),
            Port(id="2", at_mm=(end, y, middle), facing="+x", tank="port_end"),
        )
    if variant == "side":
        side, middle = frame / 2, thickness / 2
        return (
            Port(id="1", at_mm=(x, -side, middle), facing="-y", tank="port_end"),
            Port(id="2", at_mm=(x, side, middle), facing="+y", tank="port_end"),
        )
    on_face = (
        Port(id="1", at_mm=(x, -y, top), facing="+z", tank="port_end"),
        Port(id="2", at_mm=(x, y, top), facing="+z", tank="port_end"),
    )
    if variant == "both":
        far = (-half - return_mm / 2, 0.0, top)
        return (*on_face, Port(id="3", at_mm=far, facing="+z", tank="return_end", open=False))
    return on_face
