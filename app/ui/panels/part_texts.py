"""What the parts panel says of a part: its group, its size in short, its tool tip; its drag."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QMimeData

from app.ui.units import Unit, length_text
from catalog.parts import (
    Exchanger,
    Fan,
    Fitting,
    Gasket,
    Part,
    PartKind,
    part_cells,
    tanks_text,
)

MIME = "application/x-gapwright-part"
"""What a dragged part travels as; the data is its id."""


def carried_part(mime: QMimeData) -> str | None:
    """Return the id of the part that is dragged; None when it is something else."""
    if not mime.hasFormat(MIME):
        return None
    return bytes(mime.data(MIME).data()).decode("utf-8", "replace")


KIND_GROUPS: dict[PartKind, str] = {
    "exchanger": "Exchangers",
    "fan": "Fans",
    "pump": "Pumps",
    "pump_reservoir": "Pumps with reservoir",
    "reservoir": "Reservoirs",
    "gasket": "Gaskets",
    "adapter": "Adapters",
    "fitting": "Fittings",
    "board": "Boards",
    "card": "Cards",
    "supply": "Power supplies",
    "drive": "Drives",
}
"""Groups in the order in which one plans: what cools first, what stands there anyway last."""


def listed_name(part: Part) -> str:
    """Return a part's name as it stands under its group, without the word for its kind."""
    if part.kind == "pump_reservoir":
        rest = part.name.removeprefix("Pump and reservoir, ")
        return rest[:1].upper() + rest[1:]
    words = part.name.split(" ", 1)
    group = KIND_GROUPS[part.kind].lower()
    if len(words) == 2 and group.startswith(words[0].lower().rstrip(",")[:5]):
        return words[1].strip().capitalize() if words[1][:1].isalpha() else words[1]
    return part.name


def frame_sizes(part: Part) -> tuple[float, ...]:
    """Return the fan frame sizes that a part has to do with (mm), least first."""
    sizes = {mount.frame_mm for cell in part_cells(part) for mount in cell.accepts}
    return tuple(sorted(sizes))


def size_text(part: Part, unit: Unit = Unit.MM) -> str:
    """Return the size of a part in short, in `unit`: "394 × 120 × 30", "15.51 × 4.72 × 1.18".

    Of an exchanger with thicker tanks: "280 × 120 × 20 core, 27 at the tanks".
    """
    if isinstance(part, Exchanger):
        length = part.core_length_mm + part.port_tank.length_mm + part.return_tank.length_mm
        width = max(part.core_width_mm, part.port_tank.width_mm, part.return_tank.width_mm)
        return f"{_times(unit, length, width)} × {_thickness_text(part, unit)}"
    if isinstance(part, Fan):
        return _times(unit, part.frame_mm, part.frame_mm, part.thickness_mm)
    if isinstance(part, Fitting):
        return f"⌀ {_times(unit, part.diameter_mm, part.length_mm)}"
    if isinstance(part, Gasket):
        return _times(unit, part.length_mm, part.width_mm, part.compressed_mm)
    return _times(unit, *_extent(part))


def sized_text(part: Part, unit: Unit) -> str:
    """Return the size of a part with its unit, in mm too where that is another one."""
    in_mm = f"{size_text(part)} mm"
    return in_mm if unit is Unit.MM else f"{size_text(part, unit)} {unit.value} ({in_mm})"


def tip_lines(part: Part, unit: Unit) -> Iterator[str]:
    """Yield the lines of a part's tool tip."""
    yield part.name
    yield f"{sized_text(part, unit)}: length × width × thickness"
    if isinstance(part, Fan):
        yield f"hole pitch {length_text(part.pitch_mm, unit)}"
    if isinstance(part, Exchanger):
        cells = len(part.cells)
        yield f"{cells} fan {'place' if cells == 1 else 'places'}, {len(part.ports)} ports"
    yield f"Source: {part.source}"
    yield "Drag it over the board, or press Enter to place it with the keyboard"


def _extent(part: Part) -> tuple[float, float, float]:
    from geometry.edits.body import body_bounds

    least, most = body_bounds(part)
    return (most[0] - least[0], most[1] - least[1], most[2] - least[2])


def _thickness_text(part: Exchanger, unit: Unit) -> str:
    if not tanks_text(part):
        return _times(unit, part.core_thickness_mm)
    core, tanks = (_times(unit, mm) for mm in (part.core_thickness_mm, part.thickness_at_tanks_mm))
    return f"{core} core, {tanks} at the tanks"


def _times(unit: Unit, *sizes_mm: float) -> str:
    """Return sizes as one compares parts by them: to a tenth of a mm, a hundredth of an inch."""
    if unit is Unit.MM:
        return " × ".join(f"{round(size, 1):g}" for size in sizes_mm)
    return " × ".join(f"{size / unit.mm:.2f}" for size in sizes_mm)
