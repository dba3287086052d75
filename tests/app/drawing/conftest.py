"""A small enclosure with one stack, for tests of the board's drawings."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from catalog.enclosure import Enclosure, Obstacle, Zone
from catalog.model import FrozenMap
from catalog.parts import Exchanger, Fan, Port, Tank
from catalog.shapes import Box, Cell, Mount
from geometry.checks.runner import Checked, run_checks
from geometry.layout import Item, Layer, Layout, Stack
from geometry.scene import build_scene

MOUNT = Mount(frame_mm=120.0, pitch_mm=105.0)


def block(x: float, y: float, z: float, a: float, b: float, c: float) -> Box:
    return Box(at_mm=(x, y, z), size_mm=(a, b, c))


def obstacle(name: str, shape: Box, kind: str = "other") -> Obstacle:
    return Obstacle(id=name, name=name, kind=kind, shapes=(shape,))


def fan_part() -> Fan:
    return Fan(
        id="fan", name="Fan 120 x 25", frame_mm=120.0, pitch_mm=105.0, thickness_mm=25.0,
        hub_mm=40.0,
    )  # fmt: skip


def exchanger_part() -> Exchanger:
    return Exchanger(
        id="ex",
        name="Exchanger 1 x 120, 30 mm",
        core_length_mm=120.0,
        core_width_mm=120.0,
        core_thickness_mm=30.0,
        port_tank=Tank(length_mm=28.0, width_mm=120.0, thickness_mm=30.0),
        return_tank=Tank(length_mm=12.0, width_mm=120.0, thickness_mm=30.0),
        ports=(
            Port(id="p1", at_mm=(74.0, 30.0, 30.0), facing="+z", tank="port_end"),
            Port(id="p2", at_mm=(74.0, -30.0, 30.0), facing="+z", tank="port_end", open=False),
        ),
        cells=(Cell(id="1", u_mm=0.0, v_mm=0.0, accepts=(MOUNT,)),),
    )


def floor_zone() -> Zone:
    """One cell on the floor, its middle at (160, 100, 0)."""
    cell = Cell(id="c1", u_mm=60.0, v_mm=60.0, accepts=(MOUNT,))
    return Zone(
        id="floor-zone", name="Floor zone", owner="floor", origin_mm=(100.0, 40.0, 0.0),
        u="+x", v="+y",
        length_mm=120.0, width_mm=120.0, cells=(cell,),
    )  # fmt: skip


@pytest.fixture
def room() -> Callable[..., Layout]:
    """Return a builder: cavity 400 x 200 x 180, walls 2 thick, the given obstacles, one stack.

    The stack holds an exchanger (port end to the front) under a fan, or what `layers` says.
    """

    def build(*obstacles: Obstacle, layers: tuple[Layer, ...] | None = None) -> Layout:
        enclosure = Enclosure(
            id="box",
            name="Box",
            cavity=(block(0.0, 0.0, 0.0, 400.0, 200.0, 180.0),),
            outer=(block(-2.0, -2.0, -2.0, 404.0, 204.0, 184.0),),
            obstacles=obstacles,
            zones=(floor_zone(),),
        )
        if layers is None:
            layers = (
                Layer(id="L1", items=(Item(id="E1", part="ex", cell="c1"),)),
                Layer(id="L2", items=(Item(id="F1", part="fan", cell="c1"),)),
            )
        stacks = (Stack(id="S1", zone="floor-zone", inner=layers),) if layers else ()
        parts = FrozenMap({"ex": exchanger_part(), "fan": fan_part()})
        return Layout(name="test", enclosure=enclosure, parts=parts, stacks=stacks)

    return build


@pytest.fixture
def check() -> Callable[[Layout], Checked]:
    """Return a function that checks a layout."""

    def checked(layout: Layout) -> Checked:
        scene = build_scene(layout)
        return Checked(scene, run_checks(scene))

    return checked
