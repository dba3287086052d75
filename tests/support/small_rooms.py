"""Small enclosures, parts and layouts by numbers, for tests of placement and checks.

Walls are 2 mm thick. Fan frames stand side by side: the cells of a row of 120 mm frames are 120 mm
apart. Exchangers lie with their core along u, port end at the far end of the row unless turned.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from catalog.enclosure import Enclosure, Obstacle, ObstacleState, Opening, Zone, ZoneSide
from catalog.model import FrozenMap
from catalog.parts import Exchanger, Fan, Part, Plate, Port, Pump, Supply, Tank
from catalog.shapes import Box, Cell, Mount, Plug
from geometry.finding import Finding, Report, Verdict
from geometry.layout import FreePart, Held, Item, Layer, Layout, Settings, Stack

PITCH_MM = {80.0: 71.5, 92.0: 82.5, 120.0: 105.0, 140.0: 124.5}

WALL_MM = 2.0


def mount(frame_mm: float = 120.0) -> Mount:
    return Mount(frame_mm=frame_mm, pitch_mm=PITCH_MM[frame_mm])


def row(
    count: int,
    frame_mm: float = 120.0,
    *,
    first_mm: float | None = None,
    apart_mm: float | None = None,
    slot_u_mm: float = 0.0,
    slot_v_mm: float = 0.0,
    letter: str = "c",
    v_mm: float | None = None,
) -> tuple[Cell, ...]:
    """Cells in a row along u; the first centre is half a frame in unless said otherwise."""
    first = frame_mm / 2 if first_mm is None else first_mm
    return tuple(
        Cell(
            id=f"{letter}{k + 1}",
            u_mm=first + k * (frame_mm if apart_mm is None else apart_mm),
            v_mm=frame_mm / 2 if v_mm is None else v_mm,
            accepts=(mount(frame_mm),),
            slot_u_mm=(-slot_u_mm, slot_u_mm),
            slot_v_mm=(-slot_v_mm, slot_v_mm),
        )
        for k in range(count)
    )


def zone(
    zone_id: str,
    owner: str,
    origin_mm: tuple[float, float, float],
    u: str,
    v: str,
    cells: Sequence[Cell],
    **more: Any,
) -> Zone:
    """A zone just long and wide enough for its row of cells."""
    frame = max(m.frame_mm for c in cells for m in c.accepts)
    fields: dict[str, Any] = {
        "length_mm": max(c.u_mm for c in cells) + frame / 2,
        "width_mm": max(c.v_mm for c in cells) + frame / 2,
        "inner": ZoneSide(),
    }
    return Zone(
        id=zone_id,
        name=zone_id.replace("-", " "),
        owner=owner,
        origin_mm=origin_mm,
        u=u,
        v=v,
        cells=tuple(cells),
        **{**fields, **more},
    )


def block(
    block_id: str,
    least: tuple[float, float, float],
    most: tuple[float, float, float],
    **more: Any,
) -> Obstacle:
    """A box-shaped obstacle between two corners."""
    size = tuple(b - a for a, b in zip(least, most, strict=True))
    return Obstacle(
        id=block_id,
        name=block_id,
        shapes=(Box(at_mm=least, size_mm=size),),  # type: ignore[arg-type]
        **more,
    )


IN_OR_OUT = (
    ObstacleState(id="in-place", name="in place"),
    ObstacleState(id="out", name="taken out", out=True),
)


def room(
    size_mm: tuple[float, float, float],
    zones: Iterable[Zone] = (),
    obstacles: Iterable[Obstacle] = (),
    **more: Any,
) -> Enclosure:
    """A plain box with walls of 2 mm."""
    least = (-WALL_MM,) * 3
    outer = tuple(s + 2 * WALL_MM for s in size_mm)
    fields: dict[str, Any] = {
        "cavity": (Box(at_mm=(0.0, 0.0, 0.0), size_mm=size_mm),),
        "outer": (Box(at_mm=least, size_mm=outer),),  # type: ignore[arg-type]
    }
    return Enclosure(
        id="room",
        name="Room",
        zones=tuple(zones),
        obstacles=tuple(obstacles),
        **{**fields, **more},
    )


def fan(
    thickness_mm: float = 25.0, frame_mm: float = 120.0, *, plugs: tuple[Plug, ...] = ()
) -> Fan:
    return Fan(
        id=f"fan-{frame_mm:g}x{thickness_mm:g}",
        name=f"Fan {frame_mm:g} x {thickness_mm:g}",
        frame_mm=frame_mm,
        pitch_mm=PITCH_MM[frame_mm],
        thickness_mm=thickness_mm,
        hub_mm=40.0,
        plugs=plugs,
    )


def exchanger(
    fans: int,
    thickness_mm: float,
    frame_mm: float = 120.0,
    *,
    port_end_mm: float = 30.0,
    return_end_mm: float = 15.0,
    ports: int = 1,
    port_facing: str = "+z",
    apart_mm: float | None = None,
) -> Exchanger:
    """An exchanger for a row of fans: as thick all over, ports in the middle of its port end."""
    length = fans * frame_mm
    face = {"+z": thickness_mm, "-z": 0.0}[port_facing]
    port_x = length / 2 + port_end_mm / 2
    return Exchanger(
        id=f"exchanger-{fans}x{frame_mm:g}-{thickness_mm:g}",
        name=f"Exchanger {fans} x {frame_mm:g}, {thickness_mm:g}",
        core_length_mm=length,
        core_width_mm=frame_mm,
        core_thickness_mm=thickness_mm,
        port_tank=Tank(length_mm=port_end_mm, width_mm=frame_mm, thickness_mm=thickness_mm),
        return_tank=Tank(length_mm=return_end_mm, width_mm=frame_mm, thickness_mm=thickness_mm),
        ports=tuple(
            Port(
                id=f"p{k + 1}",
                at_mm=(port_x, 30.0 * k, face),
                facing=port_facing,  # type: ignore[arg-type]
                tank="port_end",
            )
            for k in range(ports)
        ),
        cells=row(
            fans,
            frame_mm,
            first_mm=-(fans - 1) * (frame_mm if apart_mm is None else apart_mm) / 2,
            apart_mm=apart_mm,
            letter="",
            v_mm=0.0,
        ),
    )


PUMP = Pump(
    id="pump-120",
    name="Pump on a 120 plate",
    plate=Plate(
        length_mm=120, width_mm=120, thickness_mm=3,
        cells=(Cell(id="1", u_mm=0, v_mm=0, accepts=(mount(),)),),
    ),
    bodies=(Box(at_mm=(-30, -30, 3), size_mm=(60, 60, 40)),),
    ports=(Port(id="out", at_mm=(30, 0, 29), facing="+x"),),
)  # fmt: skip
"""A pump that takes the place of a fan."""


def brick(
    brick_id: str, size_mm: tuple[float, float, float], plugs: tuple[Plug, ...] = ()
) -> Supply:
    """A plain block to be placed free."""
    return Supply(
        id=brick_id,
        name=brick_id,
        length_mm=size_mm[0],
        width_mm=size_mm[1],
        height_mm=size_mm[2],
        plugs=plugs,
    )


def fan_layer(layer_id: str, part: Fan, cells: Iterable[str], **more: Any) -> Layer:
    """One fan on each cell; item ids are the layer's with a number."""
    return Layer(
        id=layer_id,
        items=tuple(
            Item(id=f"{layer_id}.{k + 1}", part=part.id, cell=cell, **more)
            for k, cell in enumerate(cells)
        ),
    )


def one(item_id: str, part: Part, cell: str = "c1", **more: Any) -> Layer:
    """A layer of one item, with the same id but for an L before it."""
    return Layer(id=f"L{item_id}", items=(Item(id=item_id, part=part.id, cell=cell, **more),))


def stack(stack_id: str, zone_id: str, *inner: Layer, **more: Any) -> Stack:
    return Stack(id=stack_id, zone=zone_id, inner=inner, **more)


def free(part_id: str, part: Part, at_mm: tuple[float, float, float], **more: Any) -> FreePart:
    """A part with the middle of its underside at a point, held by a clamp on the floor."""
    fields: dict[str, Any] = {"held": Held(by="clamp", on="floor")}
    return FreePart(id=part_id, part=part.id, at_mm=at_mm, **{**fields, **more})


def grille(x0: float, x1: float, wall: str = "roof") -> Opening:
    """An opening of 100 mm along y between two places along x, in the roof or the floor."""
    at = (x0, 50.0, 200.0 if wall == "roof" else -2.0)
    shape = Box(at_mm=at, size_mm=(x1 - x0, 100, 2))
    return Opening(id=f"grille-{x0:g}", name="grille", wall=wall, shape=shape)  # type: ignore[arg-type]


def layout(
    enclosure: Enclosure,
    parts: Iterable[Part],
    stacks: Iterable[Stack] = (),
    frees: Iterable[FreePart] = (),
    **more: Any,
) -> Layout:
    """A layout judged by nominal dimensions unless its settings say otherwise."""
    more.setdefault("settings", Settings(judge="nominal"))
    return Layout(
        name="Test",
        enclosure=enclosure,
        parts=FrozenMap({part.id: part for part in parts}),
        stacks=tuple(stacks),
        free=tuple(frees),
        **more,
    )


Said = tuple[str, str, tuple[str, ...], float | None]


def said(report: Report, *kinds: str, clear: bool = False) -> list[Said]:
    """What is blocked or tight, as (kind, verdict, ids, mm to a thousandth); of some kinds only."""
    return [
        (f.kind, f.verdict.value, f.ids, None if f.measured_mm is None else round(f.measured_mm, 3))
        for f in report.findings
        if (not kinds or f.kind in kinds) and (clear or f.verdict is not Verdict.CLEAR)
    ]


def found(report: Report, kind: str) -> Finding:
    """The one finding of a kind that is blocked or tight."""
    (only,) = [f for f in report.findings if f.kind == kind and f.verdict is not Verdict.CLEAR]
    return only
