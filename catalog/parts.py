"""Parts by kind, described by the numbers one reads off them.

Part frame: the origin is the middle of the seat face (the face towards the plate), X runs along
the length with the port end at +X, Y along the width, Z away from the plate.
"""

from functools import lru_cache
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from catalog.model import (
    Dimension,
    Dimensions,
    Direction,
    FrozenMap,
    Id,
    Label,
    Length,
    Mm,
    Model,
    Point,
    Room,
    frozen,
    refusal,
    require_unique_ids,
)
from catalog.paths import require_known_paths, require_sizes_left
from catalog.shapes import Cell, Mount, Plug, Shape, require_pitch_in_frame

__all__ = [
    "Adapter", "Board", "Card", "Dimension", "Drive", "Exchanger", "Fan", "Fitting", "Gasket",
    "Part", "PartKind", "Plate", "Port", "Pump", "PumpReservoir", "Reservoir", "Supply", "Tank",
    "part_cells", "part_plugs", "part_ports", "top_cells",
]  # fmt: skip


class _Part(Model):
    id: Id
    name: Label
    aliases: tuple[str, ...] = ()
    source: str = "common practice, no source"
    dimensions: Dimensions = Field(default_factory=FrozenMap)

    @model_validator(mode="after")
    def _ids_and_paths_hold(self) -> Self:
        require_unique_ids("cells", (cell.id for cell in getattr(self, "cells", ())))
        require_unique_ids("ports", (port.id for port in getattr(self, "ports", ())))
        require_unique_ids("plugs", (plug.id for plug in getattr(self, "plugs", ())))
        require_known_paths(self, self.dimensions)
        require_sizes_left(self, self.dimensions)
        return self


class PortFlow(Model):
    """Loss of one port as k times the dynamic pressure in its bore."""

    bore_mm: Length
    loss_k: Room


class Port(Model):
    """A threaded port; `at_mm` is the middle of its mouth, `facing` points out of the part."""

    id: Id
    at_mm: Point
    facing: Direction
    thread: Label = "G1/4"
    open: bool = True
    tank: Literal["port_end", "return_end"] | None = None
    flow: PortFlow | None = None


class Tank(Model):
    """The tank at one end of an exchanger; offsets are of its middle from the core's middle."""

    length_mm: Length
    width_mm: Length
    thickness_mm: Length
    offset_y_mm: Mm = 0.0
    offset_z_mm: Mm = 0.0


class Fins(Model):
    """Core data for a later thermal estimate."""

    fins_per_cm: Length
    tube_rows: Annotated[int, Field(ge=1, le=10)]


class Exchanger(_Part):
    """A finned core with a tank at each end."""

    kind: Literal["exchanger"] = "exchanger"
    core_length_mm: Length
    core_width_mm: Length
    core_thickness_mm: Length
    port_tank: Tank
    return_tank: Tank
    ports: tuple[Port, ...]
    cells: Annotated[tuple[Cell, ...], Field(min_length=1)]
    fins: Fins | None = None

    @property
    def thickness_at_tanks_mm(self) -> float:
        """From the lowest to the highest face of core and tanks: what it takes as last layer."""
        half = self.core_thickness_mm / 2
        tanks = (self.port_tank, self.return_tank)
        low = max(half, *(tank.thickness_mm / 2 - tank.offset_z_mm for tank in tanks))
        return low + max(half, *(tank.thickness_mm / 2 + tank.offset_z_mm for tank in tanks))


class Fan(_Part):
    """An axial fan in a square frame; its air leaves at +Z."""

    kind: Literal["fan"] = "fan"
    frame_mm: Length
    pitch_mm: Length
    thickness_mm: Length
    hub_mm: Length
    plugs: tuple[Plug, ...] = ()
    curve_m3_h_pa: tuple[tuple[Room, Room], ...] = ()

    @model_validator(mode="after")
    def _lies_in_its_frame(self) -> Self:
        require_pitch_in_frame(self.frame_mm, self.pitch_mm)
        if self.hub_mm >= self.frame_mm:
            raise refusal(
                "hub_mm",
                f"is {self.hub_mm:g}, not less than frame_mm, {self.frame_mm:g}",
                "the hub is the closed middle of the fan",
            )
        return self


class Gasket(_Part):
    """A soft frame between two layers; only its compressed thickness counts in a stack."""

    kind: Literal["gasket"] = "gasket"
    length_mm: Length
    width_mm: Length
    free_mm: Length
    compressed_mm: Length
    cells: Annotated[tuple[Cell, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _is_compressed(self) -> Self:
        if self.compressed_mm > self.free_mm:
            raise refusal(
                "compressed_mm",
                f"is {self.compressed_mm:g}, more than free_mm, {self.free_mm:g}",
                "a gasket gets thinner when it is screwed down",
            )
        return self


class Adapter(_Part):
    """A plate that takes one hole pattern below and offers another above, cell for cell."""

    kind: Literal["adapter"] = "adapter"
    length_mm: Length
    width_mm: Length
    thickness_mm: Length
    cells: Annotated[tuple[Cell, ...], Field(min_length=1)]
    top: Annotated[tuple[Cell, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _cell_for_cell(self) -> Self:
        if len(self.top) != len(self.cells):
            raise refusal(
                "top",
                f"has {len(self.top)} cells and cells has {len(self.cells)}",
                "give one cell above for each below, in the same order",
            )
        require_unique_ids("top", (cell.id for cell in self.top))
        return self


class Plate(Model):
    """A flat plate with a fan's hole pattern that carries a pump."""

    length_mm: Length
    width_mm: Length
    thickness_mm: Length
    cells: Annotated[tuple[Cell, ...], Field(min_length=1)]


class _LoopPart(_Part):
    """Bodies stand in the part frame; with a plate they start on top of it."""

    plate: Plate | None = None
    bodies: Annotated[tuple[Shape, ...], Field(min_length=1)]
    ports: tuple[Port, ...]
    plugs: tuple[Plug, ...] = ()


class Pump(_LoopPart):
    """A circulator."""

    kind: Literal["pump"] = "pump"
    curve_l_min_m: tuple[tuple[Room, Room], ...] = ()


class Reservoir(_LoopPart):
    """A vessel from which the loop is filled."""

    kind: Literal["reservoir"] = "reservoir"


class PumpReservoir(_LoopPart):
    """A circulator and its vessel in one unit."""

    kind: Literal["pump_reservoir"] = "pump_reservoir"
    curve_l_min_m: tuple[tuple[Room, Room], ...] = ()


class _Block(_Part):
    """A box of length, width and height, with what stands on or out of it."""

    length_mm: Length
    width_mm: Length
    height_mm: Length
    bodies: tuple[Shape, ...] = ()
    holes_mm: tuple[tuple[Mm, Mm], ...] = ()
    plugs: tuple[Plug, ...] = ()


class Board(_Block):
    """A circuit board; `height_mm` is its own thickness, `bodies` what stands on it."""

    kind: Literal["board"] = "board"


class Card(_Block):
    """A card that stands on a board's edge connector."""

    kind: Literal["card"] = "card"


class Supply(_Block):
    """A power supply."""

    kind: Literal["supply"] = "supply"


class Drive(_Block):
    """A storage drive."""

    kind: Literal["drive"] = "drive"


class Fitting(_Part):
    """A round fitting on a port; `hand_mm` of room all round it is for fingers or a spanner."""

    kind: Literal["fitting"] = "fitting"
    length_mm: Length
    diameter_mm: Length
    hand_mm: Room = 0.0
    thread: Label = "G1/4"


Part = Annotated[
    Exchanger
    | Fan
    | Gasket
    | Adapter
    | Pump
    | Reservoir
    | PumpReservoir
    | Board
    | Card
    | Supply
    | Drive
    | Fitting,
    Field(discriminator="kind"),
]

PartKind = Literal[
    "exchanger", "fan", "gasket", "adapter", "pump", "reservoir", "pump_reservoir",
    "board", "card", "supply", "drive", "fitting",
]  # fmt: skip

PartMap = Annotated[dict[str, Part], AfterValidator(frozen)]


def part_cells(part: Part) -> tuple[Cell, ...]:
    """Return the hole patterns by which `part` is held, in its own frame; empty when none."""
    if isinstance(part, Fan):
        return _fan_cells(part.frame_mm, part.pitch_mm)
    if isinstance(part, Exchanger | Gasket | Adapter):
        return part.cells
    if isinstance(part, Pump | Reservoir | PumpReservoir) and part.plate is not None:
        return part.plate.cells
    return ()


@lru_cache(maxsize=1024)
def _fan_cells(frame_mm: float, pitch_mm: float) -> tuple[Cell, ...]:
    # Not validated again: a frame that is off by its tolerance may end before the holes.
    mount = Mount.model_construct(frame_mm=frame_mm, pitch_mm=pitch_mm)
    return (Cell.model_construct(id="1", u_mm=0.0, v_mm=0.0, accepts=(mount,)),)


def top_cells(part: Part) -> tuple[Cell, ...]:
    """Return the hole patterns that `part` offers to the next layer, cell for cell."""
    return part.top if isinstance(part, Adapter) else part_cells(part)


def part_ports(part: Part) -> tuple[Port, ...]:
    """Return the ports of `part`; empty when its kind has none."""
    return part.ports if isinstance(part, Exchanger | Pump | Reservoir | PumpReservoir) else ()


def part_plugs(part: Part) -> tuple[Plug, ...]:
    """Return the plugs of `part`; empty when its kind has none."""
    return part.plugs if isinstance(part, Fan | _LoopPart | _Block) else ()


def thickness_text(part: Part, thickness_mm: float) -> str:
    """Return a thickness over all (mm), and of an exchanger with thicker tanks that of both.

    Equal to the tenth of a millimetre is told as one: "45", "20 core, 27 at the tanks".
    """
    return tanks_text(part) or f"{round(thickness_mm, 1):g}"


def tanks_text(part: Part) -> str:
    """Return core and tanks of an exchanger with thicker ones, "20 core, 27 at the tanks" (mm).

    Empty of any other part.
    """
    if not isinstance(part, Exchanger):
        return ""
    core, tanks = (
        f"{round(mm, 1):g}" for mm in (part.core_thickness_mm, part.thickness_at_tanks_mm)
    )
    return "" if core == tanks else f"{core} core, {tanks} at the tanks"
