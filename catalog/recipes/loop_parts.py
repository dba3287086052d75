"""Circulators, reservoirs, units of both, and fittings.

Sizes are common practice, no source, and stated as assumed.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from catalog.model import Direction, FrozenMap, Point
from catalog.parts import Fitting, Plate, Port, Pump, PumpReservoir, Reservoir
from catalog.recipes.frames import ASSUMED, row_of_cells
from catalog.shapes import Box, Cylinder, Plug, Shape

PLATE_MM = 3.0
"""Thickness of a plate with a fan's hole pattern."""

PLATE_FRAMES = (120, 140)


def _plate(frame: int | None) -> Plate | None:
    if frame is None:
        return None
    return Plate(
        length_mm=float(frame),
        width_mm=float(frame),
        thickness_mm=PLATE_MM,
        cells=row_of_cells(1, frame),
    )


def _base(frame: int | None) -> float:
    """Return the level on which bodies stand: the seat face, or the top of the plate."""
    return 0.0 if frame is None else PLATE_MM


def _block(length: float, width: float, height: float, base: float, x: float = 0.0) -> Box:
    return Box(at_mm=(x - length / 2, -width / 2, base), size_mm=(length, width, height))


def _lead(at: Point, facing: Direction) -> Plug:
    return Plug(
        id="lead", name="pump lead", at_mm=at, facing=facing,
        width_mm=12.0, height_mm=10.0, plug_mm=6.0, bend_mm=14.0,
    )  # fmt: skip


def _suffix(frame: int | None) -> tuple[str, str]:
    return ("", ", bare") if frame is None else (f"-plate-{frame}", f" on a {frame} plate")


def pumps() -> Iterator[Pump]:
    """Yield a compact and a large body, each bare and on a fan-pattern plate."""
    for frame in (None, *PLATE_FRAMES):
        base, (ident, words) = _base(frame), _suffix(frame)
        yield Pump(
            id=f"pump-compact{ident}",
            name=f"Pump, compact body 60 x 60 x 40{words}",
            aliases=("circulator",),
            plate=_plate(frame),
            bodies=(_block(60.0, 60.0, 40.0, base),),
            ports=(
                Port(id="in", at_mm=(-12.0, 0.0, base + 40.0), facing="+z"),
                Port(id="out", at_mm=(30.0, 0.0, base + 26.0), facing="+x"),
            ),
            plugs=(_lead((-30.0, 0.0, base + 10.0), "-x"),),
            dimensions=FrozenMap({"bodies[0].size_mm[2]": ASSUMED}),
        )
        yield Pump(
            id=f"pump-large{ident}",
            name=f"Pump, large body 64 across x 66{words}",
            aliases=("circulator",),
            plate=_plate(frame),
            bodies=(
                _block(70.0, 70.0, 6.0, base),
                Cylinder(axis="z", at_mm=(0.0, 0.0, base + 6.0), diameter_mm=64.0, length_mm=60.0),
            ),
            ports=(
                Port(id="in", at_mm=(0.0, 0.0, base + 66.0), facing="+z"),
                Port(id="out", at_mm=(32.0, 0.0, base + 50.0), facing="+x"),
            ),
            plugs=(_lead((-32.0, 0.0, base + 20.0), "-x"),),
            dimensions=FrozenMap(
                {"bodies[1].diameter_mm": ASSUMED, "bodies[1].length_mm": ASSUMED}
            ),
        )


TUBE_MM = 60.0
"""Outside diameter of a tube reservoir."""

FOOT_MM = 6.0
"""Height of the clamps' feet under a lying tube."""


def _lying_tube(start_x: float, length: float, base: float) -> tuple[Shape, ...]:
    """Return a tube along X on two feet, from `start_x` on."""
    tube = Cylinder(
        axis="x",
        at_mm=(start_x, 0.0, base + FOOT_MM + TUBE_MM / 2),
        diameter_mm=TUBE_MM,
        length_mm=length,
    )
    feet = (
        Box(at_mm=(start_x + at - 8.0, -24.0, base), size_mm=(16.0, 48.0, FOOT_MM + 6.0))
        for at in (length * 0.2, length * 0.8)
    )
    return (tube, *feet)


def reservoirs() -> Iterator[Reservoir]:
    """Yield lying tubes of several lengths and boxes of several sizes."""
    for length in (100, 150, 200, 250):
        middle = FOOT_MM + TUBE_MM / 2
        yield Reservoir(
            id=f"reservoir-tube-{length}",
            name=f"Reservoir, tube {TUBE_MM:g} across x {length}",
            aliases=("res", "tank", "tube"),
            bodies=_lying_tube(-length / 2, float(length), 0.0),
            ports=(
                Port(id="1", at_mm=(length / 2, -14.0, middle), facing="+x"),
                Port(id="2", at_mm=(length / 2, 14.0, middle), facing="+x"),
                Port(id="fill", at_mm=(-length / 2, 0.0, middle), facing="-x", open=False),
            ),
            dimensions=FrozenMap({"bodies[0].diameter_mm": ASSUMED}),
        )
    for length, width, height in ((80, 50, 70), (120, 50, 90), (150, 60, 110)):
        yield _box_reservoir(length, width, height, None)
    for frame in PLATE_FRAMES:
        yield _box_reservoir(110, 110, 45, frame)


def _box_reservoir(length: int, width: int, height: int, frame: int | None) -> Reservoir:
    base, (ident, words) = _base(frame), _suffix(frame)
    y = min(width / 2 - 11.0, 25.0)
    return Reservoir(
        id=f"reservoir-box-{length}x{width}x{height}{ident}",
        name=f"Reservoir, box {length} x {width} x {height}{words}",
        aliases=("res", "tank", "vessel"),
        plate=_plate(frame),
        bodies=(_block(float(length), float(width), float(height), base),),
        ports=(
            Port(id="1", at_mm=(length / 2, -y, base + 15.0), facing="+x"),
            Port(id="2", at_mm=(length / 2, y, base + 15.0), facing="+x"),
            Port(id="fill", at_mm=(0.0, 0.0, base + height), facing="+z", open=False),
        ),
        dimensions=FrozenMap({"bodies[0].size_mm[2]": ASSUMED}),
    )


def pump_reservoirs() -> Iterator[PumpReservoir]:
    """Yield standing units with tubes of several lengths, and lying ones with and without plate."""
    for length in (60, 110, 170, 220):
        top = 60.0 + length
        yield PumpReservoir(
            id=f"unit-standing-{length}",
            name=f"Pump and reservoir, standing, 90 x 90 x {top:g}",
            aliases=("combo", "pump", "res", "circulator"),
            bodies=(
                _block(90.0, 90.0, 60.0, 0.0),
                Cylinder(
                    axis="z", at_mm=(0.0, 0.0, 60.0), diameter_mm=TUBE_MM, length_mm=float(length)
                ),
            ),
            ports=(
                Port(id="in", at_mm=(45.0, -20.0, 40.0), facing="+x"),
                Port(id="out", at_mm=(45.0, 20.0, 40.0), facing="+x"),
                Port(id="fill", at_mm=(0.0, 0.0, top), facing="+z", open=False),
            ),
            plugs=(_lead((-45.0, 0.0, 12.0), "-x"),),
            dimensions=FrozenMap({"bodies[0].size_mm[2]": ASSUMED, "bodies[1].length_mm": ASSUMED}),
        )
    for frame in (None, *PLATE_FRAMES):
        for overall in (120, 170, 230):
            yield _lying_unit(overall, frame)


LYING_PUMP_MM = 62.0


def _lying_unit(overall: int, frame: int | None) -> PumpReservoir:
    """Return a unit along X: pump at +X, vessel behind it; it may hang over its plate."""
    base, (ident, words) = _base(frame), _suffix(frame)
    end = overall / 2
    pump_middle = end - LYING_PUMP_MM / 2
    vessel = overall - LYING_PUMP_MM
    return PumpReservoir(
        id=f"unit-lying-{overall}{ident}",
        name=f"Pump and reservoir, lying, {overall} x 90 x 62{words}",
        aliases=("combo", "pump", "res", "circulator"),
        plate=_plate(frame),
        bodies=(
            _block(LYING_PUMP_MM, 70.0, 62.0 - base, base, pump_middle),
            _block(vessel, 90.0, 62.0 - base, base, -end + vessel / 2),
        ),
        ports=(
            Port(id="out", at_mm=(end, 0.0, 40.0), facing="+x"),
            Port(id="in", at_mm=(-end + 20.0, 0.0, 62.0), facing="+z"),
            Port(id="fill", at_mm=(-end, 0.0, 40.0), facing="-x", open=False),
        ),
        plugs=(_lead((pump_middle, -35.0, base + 12.0), "-y"),),
        dimensions=FrozenMap({"bodies[0].size_mm[2]": ASSUMED, "bodies[1].size_mm[2]": ASSUMED}),
    )


class Connection(NamedTuple):
    """A fitting by what it connects, with its size (mm) and the hand or spanner room round it."""

    ident: str
    name: str
    length: float
    diameter: float
    hand: float
    aliases: tuple[str, ...]


CONNECTIONS = (
    Connection("24x20", "Fitting 24 x 20", 24.0, 20.0, 0.0, ("default",)),
    Connection("barb-10-13", "Barb for tube 10/13", 30.0, 20.0, 4.0, ("hose tail", "clamp")),
    Connection("barb-10-16", "Barb for tube 10/16", 30.0, 22.0, 4.0, ("hose tail", "clamp")),
    Connection("barb-13-19", "Barb for tube 13/19", 33.0, 26.0, 4.0, ("hose tail", "clamp")),
    Connection("compression-10-13", "Compression fitting for tube 10/13", 24.0, 18.0, 5.0, ()),
    Connection("compression-10-16", "Compression fitting for tube 10/16", 25.0, 22.0, 5.0, ()),
    Connection("compression-13-19", "Compression fitting for tube 13/19", 27.0, 26.0, 5.0, ()),
    Connection("rigid-12", "Fitting for rigid tube 12", 22.0, 20.0, 5.0, ("hard tube",)),
    Connection("rigid-14", "Fitting for rigid tube 14", 22.0, 22.0, 5.0, ("hard tube",)),
    Connection("rigid-16", "Fitting for rigid tube 16", 23.0, 25.0, 5.0, ("hard tube",)),
    Connection("angle-45", "Angle fitting 45 degrees, with its swing", 30.0, 34.0, 0.0, ("bend",)),
    Connection("angle-90", "Angle fitting 90 degrees, with its swing", 28.0, 44.0, 0.0, ("elbow",)),
    Connection("extender-15", "Extender 15 mm", 15.0, 18.0, 4.0, ("spacer",)),
    Connection("plug-low", "Plug, low, 4 x 18", 4.0, 18.0, 0.0, ("stop", "blanking plug", "cap")),
)  # fmt: skip


def fittings() -> Iterator[Fitting]:
    """Yield fittings for G1/4 ports; an angle is the round that its arm sweeps."""
    for one in CONNECTIONS:
        yield Fitting(
            id=f"fitting-{one.ident}",
            name=one.name,
            aliases=one.aliases,
            length_mm=one.length,
            diameter_mm=one.diameter,
            hand_mm=one.hand,
            dimensions=FrozenMap({"length_mm": ASSUMED, "diameter_mm": ASSUMED}),
        )
