"""Boards by their published form factors, with what usually stands on them.

Part frame of a board: X runs away from the rear (connector) edge, Y along that edge, Z out of the
component side. Seen on that side with the rear edge up, the edge of the hole table's x = 0 (the
right one) is +Y.

Outlines: ATX specification 2.2 (12.0 x 9.6 in); microATX Motherboard Interface Specification 1.2,
table 3; Mini-ITX Addendum 1.1 to it, table 1. Holes: the same, by letter. Heights of what stands
on a board are common practice, no source: coolers, memory and cards are the user's own.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from catalog.model import FrozenMap
from catalog.parts import Board
from catalog.recipes.frames import ASSUMED, FROM_STANDARD
from catalog.shapes import Box, Plug

INCH_MM = 25.4
THICKNESS_MM = 1.57

HOLES_IN = {
    "A": (11.35, 0.40), "B": (8.25, 0.40), "C": (6.45, 0.40), "F": (0.25, 1.30),
    "G": (11.35, 6.50), "H": (6.45, 6.50), "J": (0.25, 6.50),
    "K": (11.35, 9.35), "L": (6.45, 9.35), "M": (0.25, 9.35),
}  # fmt: skip
"""Holes by letter: x from the right edge, y from the rear edge, seen on the component side (in).

Holes R and S of microATX are left out: sources disagree on their row.
"""


class Form(NamedTuple):
    """A form factor: length along X, width along the rear edge (mm), holes, memory modules."""

    ident: str
    name: str
    length: float
    width: float
    holes: str
    memory: int
    source: str


FORMS = (
    Form(
        "atx", "Board ATX 305 x 244", 9.6 * INCH_MM, 12.0 * INCH_MM, "ACFGHJKLM", 4,
        "ATX specification 2.2",
    ),
    Form(
        "microatx", "Board microATX 244 x 244", 9.6 * INCH_MM, 9.6 * INCH_MM, "BCFHJLM", 4,
        "microATX Motherboard Interface Specification 1.2, table 3 (greatest size)",
    ),
    Form(
        "miniitx", "Board mini-ITX 170 x 170", 170.0, 170.0, "CFHJ", 2,
        "Mini-ITX Addendum 1.1 to the microATX specification 1.2, table 1",
    ),
)  # fmt: skip

APERTURE_MM = (158.75, 44.45)
"""Cut in the rear wall for a board's connectors (microATX 1.2, figure 4)."""

APERTURE_OVER_BOARD_MM = 3.81
"""Its lower edge over the component side (microATX 1.2, figure 4)."""

CONNECTOR_ZONE_MM = (152.15, 37.34)
"""Width and height of the connectors' zone (microATX 1.2, figure 5).

That it begins at the aperture's lower edge is assumed.
"""

COLD_PLATE_MM = (80.0, 80.0, 40.0)
"""A cold plate on the processor with its clamps, fittings left out (assumed)."""

MEMORY_MM = (134.0, 7.6, 34.0)
"""One memory module in its socket, length, pitch and height above the board (assumed)."""


def boards() -> Iterator[Board]:
    """Yield the boards of the published form factors."""
    for form in FORMS:
        yield board(form)


def board(form: Form) -> Board:
    """Return the board of a form factor with rear connectors, cold plate, memory and plugs."""
    rear, front = -form.length / 2, form.length / 2
    left, right = -form.width / 2, form.width / 2
    top = THICKNESS_MM
    zone_width, zone_height = CONNECTOR_ZONE_MM
    connectors = Box(
        at_mm=(rear, right - 4.0 - zone_width, top),
        size_mm=(33.0, zone_width, round(APERTURE_OVER_BOARD_MM + zone_height, 4)),
    )
    socket = (rear + 84.0, right - 92.0)
    cold_plate = Box(
        at_mm=(socket[0] - COLD_PLATE_MM[0] / 2, socket[1] - COLD_PLATE_MM[1] / 2, top),
        size_mm=COLD_PLATE_MM,
    )
    across = form.memory * MEMORY_MM[1]
    memory = Box(
        at_mm=(front - 12.0 - across, right - 8.0 - MEMORY_MM[0], top),
        size_mm=(across, MEMORY_MM[0], MEMORY_MM[2]),
    )
    slots = Box(
        at_mm=(rear + 46.0, left + 4.0, top),
        size_mm=(90.0, max(form.width - 164.0, 8.0), 11.25),
    )
    main_y = 0.0 if form.memory == 2 else right - 168.0
    plugs = (
        Plug(
            id="main", name="main plug, 24 pins", at_mm=(front - 6.0, main_y, top + 13.0),
            facing="+z", width_mm=10.0, height_mm=52.0, plug_mm=14.0, bend_mm=25.0,
        ),
        Plug(
            id="processor", name="processor power plug",
            at_mm=(rear + 40.0, right - 6.0, top + 13.0), facing="+z",
            width_mm=20.0, height_mm=10.0, plug_mm=14.0, bend_mm=20.0,
        ),
        Plug(
            id="front-data", name="front data plug", at_mm=(front, left + 30.0, top + 5.0),
            facing="+x", width_mm=34.0, height_mm=8.0, plug_mm=10.0, bend_mm=20.0,
        ),
        Plug(
            id="fan", name="fan plug", at_mm=(front - 30.0, left + 6.0, top + 6.0),
            facing="+z", width_mm=10.0, height_mm=6.0, plug_mm=8.0, bend_mm=12.0,
        ),
    )  # fmt: skip
    holes = tuple(_hole(form, letter) for letter in form.holes)
    return Board(
        id=f"board-{form.ident}",
        name=form.name,
        aliases=("motherboard", "mainboard", "circuit board"),
        source=f"{form.source}; heights common practice, no source",
        length_mm=round(form.length, 4),
        width_mm=round(form.width, 4),
        height_mm=THICKNESS_MM,
        bodies=(connectors, cold_plate, memory, slots),
        holes_mm=holes,
        plugs=plugs,
        dimensions=FrozenMap(
            {
                "length_mm": FROM_STANDARD,
                "width_mm": FROM_STANDARD,
                "height_mm": FROM_STANDARD,
                "bodies[0].size_mm[1]": FROM_STANDARD,
                "bodies[0].size_mm[2]": ASSUMED,
                "bodies[1].size_mm[2]": ASSUMED,
                "bodies[2].size_mm[2]": ASSUMED,
                "bodies[3].size_mm[2]": ASSUMED,
            }
        ),
    )


def _hole(form: Form, letter: str) -> tuple[float, float]:
    """Return a hole in the part frame (X, Y), mm."""
    from_right, from_rear = HOLES_IN[letter]
    x = from_rear * INCH_MM - form.length / 2
    y = form.width / 2 - from_right * INCH_MM
    return (round(x, 4), round(y, 4))
