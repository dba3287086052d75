"""Layouts for the clearance sheet: one small, one with twelve stacks and forty findings."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from catalog.enclosure import Enclosure, Obstacle, Zone, ZoneSide
from catalog.model import Dimension, FrozenMap
from catalog.parts import Exchanger, Fan, Fitting, Port, Tank
from catalog.shapes import Box, Cell, Mount
from geometry.checks.runner import Checked, check_layout
from geometry.finding import NotRun, Verdict
from geometry.layout import FreePart, Item, Layer, Layout, Stack

MOUNT = Mount(frame_mm=120.0, pitch_mm=105.0)


def cells(count: int) -> tuple[Cell, ...]:
    """Cells of 120 mm frames in a row along u."""
    return tuple(
        Cell(id=f"c{k + 1}", u_mm=60.0 + 120.0 * k, v_mm=60.0, accepts=(MOUNT,))
        for k in range(count)
    )


FAN = Fan(
    id="fan-120x25",
    name="Fan 120 × 25",
    frame_mm=120.0,
    pitch_mm=105.0,
    thickness_mm=25.0,
    hub_mm=40.0,
    dimensions=FrozenMap(
        {"thickness_mm": Dimension(origin="measured"), "hub_mm": Dimension(origin="assumed")}
    ),
)


def exchanger(count: int) -> Exchanger:
    """An exchanger of 30 mm for a row of 120 mm fans, its ports on the far face."""
    half = 60.0 * count
    return Exchanger(
        id=f"exchanger-{count}x120x30",
        name=f"Exchanger {count} × 120, 30 slim",
        core_length_mm=2 * half,
        core_width_mm=120.0,
        core_thickness_mm=30.0,
        port_tank=Tank(length_mm=25.0, width_mm=120.0, thickness_mm=30.0),
        return_tank=Tank(length_mm=12.0, width_mm=120.0, thickness_mm=30.0),
        ports=tuple(
            Port(id=name, at_mm=(half + 12.0, y, 30.0), facing="+z")
            for name, y in (("p1", -20.0), ("p2", 20.0))
        ),
        cells=tuple(
            Cell(id=f"c{k + 1}", u_mm=120.0 * k - half + 60.0, v_mm=0.0, accepts=(MOUNT,))
            for k in range(count)
        ),
        dimensions=FrozenMap(
            {
                "core_length_mm": Dimension(origin="assumed"),
                "port_tank.length_mm": Dimension(origin="assumed"),
                "port_tank.thickness_mm": Dimension(origin="assumed"),
                "ports[0].at_mm[1]": Dimension(origin="drawing"),
            }
        ),
    )


def push_stack(stack_id: str, zone: str, count: int) -> Stack:
    """Fans on the plate, an exchanger on them."""
    fans = tuple(
        Item(id=f"{stack_id}-F{k + 1}", part=FAN.id, cell=f"c{k + 1}") for k in range(count)
    )
    core = Item(id=f"{stack_id}-E", part=f"exchanger-{count}x120x30", cell="c1")
    return Stack(
        id=stack_id,
        zone=zone,
        inner=(
            Layer(id=f"{stack_id}-fans", items=fans),
            Layer(id=f"{stack_id}-core", items=(core,)),
        ),
    )


@pytest.fixture(scope="session")
def small_checked() -> Checked:
    """A bench box with one stack on the floor, whose port end strikes a peg."""
    enclosure = Enclosure(
        id="bench-box",
        name="Bench box 430 × 200 × 400",
        cavity=(Box(at_mm=(0.0, 0.0, 0.0), size_mm=(430.0, 200.0, 400.0)),),
        outer=(Box(at_mm=(-2.0, -2.0, -2.0), size_mm=(434.0, 204.0, 404.0)),),
        obstacles=(
            Obstacle(
                id="board",
                name="Board with tray",
                kind="board",
                shapes=(Box(at_mm=(10.0, 160.0, 120.0), size_mm=(250.0, 30.0, 260.0)),),
            ),
            Obstacle(
                id="peg",
                name="Peg",
                kind="peg",
                shapes=(Box(at_mm=(378.0, 60.0, 40.0), size_mm=(10.0, 30.0, 60.0)),),
            ),
        ),
        zones=(
            Zone(
                id="floor-zone",
                name="Floor zone 2 × 120",
                owner="floor",
                origin_mm=(120.0, 30.0, 0.0),
                u="+x",
                v="+y",
                length_mm=240.0,
                width_mm=120.0,
                cells=cells(2),
                inner=ZoneSide(depth_mm=100.0),
            ),
        ),
        dimensions=FrozenMap({"cavity[0].size_mm[1]": Dimension(origin="assumed")}),
    )
    layout = Layout(
        name="Analysis machine 2",
        enclosure=enclosure,
        parts=FrozenMap({FAN.id: FAN, "exchanger-2x120x30": exchanger(2)}),
        stacks=(push_stack("S1", "floor-zone", 2),),
    )
    return check_layout(layout)


def _tower_zones() -> tuple[Zone, ...]:
    """Three zones of one 120 mm frame on each of floor, roof, rear and front."""
    origins = {
        "floor": [((70.0 + 170.0 * k, 40.0, 0.0), "+x", "+y") for k in range(3)],
        "roof": [((190.0 + 170.0 * k, 40.0, 640.0), "-x", "+y") for k in range(3)],
        "rear": [((0.0, 40.0, 110.0 + 160.0 * k), "+y", "+z") for k in range(3)],
        "front": [((600.0, 40.0, 230.0 + 160.0 * k), "+y", "-z") for k in range(3)],
    }
    return tuple(
        Zone(
            id=f"{wall}-{k + 1}",
            name=f"{wall.capitalize()} zone {k + 1}, one 120 mm frame",
            owner=wall,
            origin_mm=at,
            u=u,
            v=v,
            length_mm=120.0,
            width_mm=120.0,
            cells=cells(1),
        )
        for wall, places in origins.items()
        for k, (at, u, v) in enumerate(places)
    )


@pytest.fixture(scope="session")
def large_checked() -> Checked:
    """A tower with twelve stacks, forty findings and checks that were not run."""
    zones = _tower_zones()
    enclosure = Enclosure(
        id="tower",
        name="Tall tower 600 × 220 × 640 with twelve zones",
        cavity=(Box(at_mm=(0.0, 0.0, 0.0), size_mm=(600.0, 220.0, 640.0)),),
        outer=(Box(at_mm=(-2.0, -2.0, -2.0), size_mm=(604.0, 224.0, 644.0)),),
        obstacles=(
            Obstacle(
                id="board",
                name="Board with tray",
                kind="board",
                shapes=(Box(at_mm=(150.0, 180.0, 200.0), size_mm=(300.0, 30.0, 240.0)),),
            ),
        ),
        zones=zones,
    )
    layout = Layout(
        name="Analysis machine 7, north mast, twelve exchangers in one tower",
        revision="C",
        enclosure=enclosure,
        parts=FrozenMap(
            {
                FAN.id: FAN,
                "exchanger-1x120x30": exchanger(1),
                "fitting-30x18": Fitting(
                    id="fitting-30x18", name="Fitting 30 × 18", length_mm=30.0, diameter_mm=18.0
                ),
            }
        ),
        stacks=tuple(push_stack(f"S{k + 1}", zone.id, 1) for k, zone in enumerate(zones)),
        free=(FreePart(id="spare-fan", part=FAN.id, at_mm=(300.0, 100.0, 320.0)),),
    )
    checked = check_layout(layout)
    real = [f for f in checked.report.findings if f.verdict is not Verdict.CLEAR]
    made = [
        replace(
            real[k % len(real)],
            verdict=Verdict.BLOCKED if k < 25 else Verdict.TIGHT,
            place=(30.0 + 77.0 * k % 540.0, 20.0 + 31.0 * k % 180.0, 40.0 + 113.0 * k % 560.0),
            advice=(
                "Flip the port end, or slide the stack away from what stands there; "
                "the slots let it go 12 mm. " * (1 + k % 3)
            ).strip(),
        )
        for k in range(40)
    ]
    not_run = tuple(
        NotRun(
            "screw length", (f"S{k + 1}-E",), "the part says nothing of the depth of its threads"
        )
        for k in range(6)
    )
    report = replace(checked.report, findings=tuple(made), not_run=not_run)
    return replace(checked, report=report)


@pytest.fixture
def date() -> datetime.date:
    """The date on every sheet of these tests."""
    return datetime.date(2026, 1, 31)


@pytest.fixture(params=["small", "large"])
def any_checked(
    request: pytest.FixtureRequest, small_checked: Checked, large_checked: Checked
) -> Checked:
    """Either layout."""
    return small_checked if request.param == "small" else large_checked
