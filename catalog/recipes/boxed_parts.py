"""Power supplies, cards and drives by their published outlines.

Supplies and drives: X towards the cables. Cards: X from the rear bracket, Z out of the slot, seat
on the edge fingers.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from catalog.model import Direction, FrozenMap
from catalog.parts import Card, Drive, Supply
from catalog.recipes.frames import ASSUMED, FROM_STANDARD
from catalog.shapes import Plug


class SupplySize(NamedTuple):
    """An outline: width, height, depth (mm), and where it is published."""

    ident: str
    name: str
    width: float
    height: float
    depth: float
    source: str


SUPPLIES = (
    SupplySize("atx", "Supply ATX", 150.0, 86.0, 140.0, "ATX12V design guide (PS2 outline)"),
    SupplySize("atx-160", "Supply ATX, 160 deep", 150.0, 86.0, 160.0, "width and height ATX12V"),
    SupplySize("atx-180", "Supply ATX, 180 deep", 150.0, 86.0, 180.0, "width and height ATX12V"),
    SupplySize("atx-short", "Supply ATX, short", 150.0, 86.0, 100.0, "SFX12V guide, appendix E"),
    SupplySize("sfx", "Supply SFX", 125.0, 63.5, 100.0, "SFX12V design guide, outline C"),
    SupplySize("sfx-long", "Supply SFX, long", 125.0, 63.5, 130.0, "common practice, no source"),
    SupplySize("tfx", "Supply TFX", 85.0, 65.0, 175.0, "TFX12V design guide"),
    SupplySize("flex", "Supply Flex ATX", 81.5, 40.5, 150.0, "Flex ATX design guide"),
)


def supplies() -> Iterator[Supply]:
    """Yield power supplies with the room that their cables take where they come out."""
    for one in SUPPLIES:
        cables = Plug(
            id="cables",
            name="supply cables",
            at_mm=(one.depth / 2, 0.0, one.height / 2),
            facing="+x",
            width_mm=round(one.width * 0.7, 1),
            height_mm=round(one.height * 0.6, 1),
            plug_mm=18.0,
            bend_mm=30.0,
        )
        yield Supply(
            id=f"supply-{one.ident}",
            name=f"{one.name}, {one.width:g} x {one.height:g} x {one.depth:g}",
            aliases=("psu", "power supply"),
            source=one.source,
            length_mm=one.depth,
            width_mm=one.width,
            height_mm=one.height,
            plugs=(cables,),
            dimensions=FrozenMap(
                {
                    "length_mm": ASSUMED if "ATX12V" in one.source else FROM_STANDARD,
                    "width_mm": FROM_STANDARD,
                    "height_mm": FROM_STANDARD,
                    "plugs[0].bend_mm": ASSUMED,
                }
            ),
        )


SLOT_MM = 20.32
"""Pitch of slots (0.8 in)."""

SINGLE_CARD_MM = 14.47 + 1.57 + 2.67
"""Thickness of a one-slot card: component side, board, back (PCI Express CEM r1.1)."""

FULL_HEIGHT_MM = 111.15
LOW_HEIGHT_MM = 68.90
LENGTHS_MM = {"full": 312.00, "half": 167.65}
"""Card outlines (PCI Express CEM r1.1): heights count from the bottom of the edge fingers."""


def cards() -> Iterator[Card]:
    """Yield full and half length cards of one to three slots, and low ones of one and two."""
    for length in LENGTHS_MM:
        for slots in (1, 2, 3):
            for plug in ("top", "end") if slots > 1 else (None,):
                yield _card(length, "", slots, plug)
    for slots in (1, 2):
        yield _card("half", "-low", slots, None)


def _card(length: str, low: str, slots: int, plug: str | None) -> Card:
    height = LOW_HEIGHT_MM if low else FULL_HEIGHT_MM
    length_mm = LENGTHS_MM[length]
    thickness = round(SINGLE_CARD_MM + (slots - 1) * SLOT_MM, 2)
    plugs = () if plug is None else (_card_plug(length_mm, height, plug),)
    where = "" if plug is None else f", power plug at the {'top edge' if plug == 'top' else 'end'}"
    return Card(
        id=f"card-{length}{low}-{slots}" + (f"-{plug}" if plug else ""),
        name=f"Card, {length} length{', low' if low else ''}, {slots} slots{where}"
        if slots > 1
        else f"Card, {length} length{', low' if low else ''}, 1 slot",
        aliases=("expansion card", "accelerator", "graphics", "pcie"),
        source="PCI Express Card Electromechanical Specification r1.1",
        length_mm=length_mm,
        width_mm=thickness,
        height_mm=height,
        plugs=plugs,
        dimensions=FrozenMap(
            {"length_mm": FROM_STANDARD, "width_mm": FROM_STANDARD, "height_mm": FROM_STANDARD}
        ),
    )


def _card_plug(length_mm: float, height: float, where: str) -> Plug:
    at_end = where == "end"
    facing: Direction = "+x" if at_end else "+z"
    return Plug(
        id="power",
        name="card power plug",
        at_mm=(length_mm / 2, 0.0, height - 20.0)
        if at_end
        else (length_mm / 2 - 40.0, 0.0, height),
        facing=facing,
        width_mm=12.0 if at_end else 30.0,
        height_mm=30.0 if at_end else 12.0,
        plug_mm=14.0,
        bend_mm=25.0,
    )


class DriveSize(NamedTuple):
    """An envelope: length, width, height (mm), and where it is published."""

    ident: str
    name: str
    length: float
    width: float
    height: float
    source: str


DRIVES = (
    *(
        DriveSize(f"35-{height:g}", "Drive 3.5 in", 147.00, 101.60, height, "SFF-8301, table 3-1")
        for height in (17.80, 26.10, 42.00)
    ),
    *(
        DriveSize(f"25-{height:g}", "Drive 2.5 in", 100.45, 69.85, height, "SFF-8201")
        for height in (7.0, 9.5, 15.0)
    ),
)
"""Greatest lengths and heights: a bay must take the greatest, not the nominal."""

BOTTOM_ROWS_MM = (41.28, 41.28 + 44.45, 41.28 + 76.20)
"""Rows of bottom holes of a 3.5 in drive from the connector end (SFF-8301, A6, A7, A13)."""

BOTTOM_ACROSS_MM = 95.25
"""Pitch of its bottom holes across (SFF-8301, A4)."""


def drives() -> Iterator[Drive]:
    """Yield drives by their greatest envelopes."""
    for one in DRIVES:
        is_large = one.ident.startswith("35")
        holes = tuple(
            (round(one.length / 2 - row, 3), side * BOTTOM_ACROSS_MM / 2)
            for row in BOTTOM_ROWS_MM
            for side in (-1, 1)
        )
        plug = Plug(
            id="connector",
            name="drive plugs",
            at_mm=(one.length / 2, 0.0, min(one.height / 2, 6.0)),
            facing="+x",
            width_mm=42.0,
            height_mm=8.0,
            plug_mm=12.0,
            bend_mm=25.0,
        )
        yield Drive(
            id=f"drive-{one.ident}",
            name=f"{one.name}, {one.height:g} high",
            aliases=("disk", "hdd", "ssd", "storage"),
            source=one.source,
            length_mm=one.length,
            width_mm=one.width,
            height_mm=one.height,
            holes_mm=holes if is_large else (),
            plugs=(plug,),
            dimensions=FrozenMap(
                {"length_mm": FROM_STANDARD, "width_mm": FROM_STANDARD, "height_mm": FROM_STANDARD}
            ),
        )
