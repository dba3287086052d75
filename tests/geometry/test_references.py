"""References of a layout that lead nowhere are named, with what there is instead."""

from __future__ import annotations

from pathlib import Path

import pytest
from edit_rooms import BOARD, BRACKET, FAN_25, FITTING, MEDIUM_2, ROOM, empty_layout, full_layout

from catalog.errors import DataError, Fault
from geometry.layout import FreePart, Held, Item, Layer, Layout, PortUse, Stack
from geometry.layout_file import read_layout, write_layout
from geometry.references import reference_faults


def stack(zone: str = "floor-zone", **item: object) -> Layout:
    """Return a layout of one fan in one stack, with some fields of the fan replaced."""
    one = Item(**{"id": "F1", "part": FAN_25.id, "cell": "f1", **item})
    layer = Layer(id="L1", items=(one,))
    parts = {part.id: part for part in (FAN_25, MEDIUM_2, BOARD, FITTING)}
    return Layout(
        name="Room",
        enclosure=ROOM,
        parts=parts,
        stacks=(Stack(id="S1", zone=zone, inner=(layer,)),),
    )


def free(**fields: object) -> Layout:
    """Return a layout of one free board, with some fields of it replaced."""
    one = FreePart(**{"id": "B1", "part": BOARD.id, "at_mm": (0, 0, 0), **fields})
    return Layout(name="Room", enclosure=ROOM, parts={BOARD.id: BOARD}, free=(one,))


ITEM = "stacks[0].inner[0].items[0]"
PARTS_KNOWN = "there is fan-120x25, exchanger-2x120-45, board-170x170, fitting-16x18"
HOLDERS = (
    "there is rear, front, access, far, floor, roof, floor-zone, front-zone, roof-zone, "
    "bracket, lid"
)


@pytest.mark.parametrize(
    ("layout", "faults"),
    [
        (
            stack(zone="floor-zon"),
            [
                Fault(
                    "stacks[0].zone",
                    'found "floor-zon", which is no zone of the enclosure',
                    'did you mean "floor-zone"?',
                )
            ],
        ),
        (
            stack(zone="loft-zone"),
            [
                Fault(
                    "stacks[0].zone",
                    'found "loft-zone", which is no zone of the enclosure',
                    "there is floor-zone, front-zone, roof-zone",
                )
            ],
        ),
        (
            stack(cell="q"),
            [
                Fault(
                    f"{ITEM}.cell",
                    'found "q", which is no cell of zone "floor-zone"',
                    "there is f1, f2, f3",
                )
            ],
        ),
        (
            stack(part="q"),
            [Fault(f"{ITEM}.part", 'found "q", which is no part of this layout', PARTS_KNOWN)],
        ),
        (
            stack(part=BOARD.id),
            [
                Fault(
                    f"{ITEM}.part",
                    '"board-170x170" (board) has no hole pattern, so it cannot be in a stack',
                    'place it under "free"',
                )
            ],
        ),
        (
            stack(part=MEDIUM_2.id, ports={"q": PortUse()}),
            [
                Fault(
                    f"{ITEM}.ports[q]",
                    'found "q", which is no port of "exchanger-2x120-45"',
                    "there is p1, p2",
                )
            ],
        ),
        (
            stack(part=MEDIUM_2.id, ports={"p1": PortUse(fitting="q")}),
            [
                Fault(
                    f"{ITEM}.ports[p1].fitting",
                    'found "q", which is no fitting of this layout',
                    "there is fitting-16x18",
                )
            ],
        ),
        (
            stack(part=MEDIUM_2.id, ports={"p1": PortUse(fitting=FAN_25.id)}),
            [
                Fault(
                    f"{ITEM}.ports[p1].fitting",
                    '"fan-120x25" is of kind fan, no fitting',
                    "choose one of fitting-16x18",
                )
            ],
        ),
        (
            stack().but(stacks=(Stack(id="S1", zone="floor-zone", outer=stack().stacks[0].inner),)),
            [
                Fault(
                    "stacks[0].outer",
                    'has layers, but zone "floor-zone" takes nothing on its outer side',
                    "move them, or give the zone that side",
                )
            ],
        ),
        (
            stack(id="L1"),
            [
                Fault(
                    f"{ITEM}.id",
                    'the id "L1" is used twice, first in stacks[0].inner[0].id',
                    "give each its own id",
                )
            ],
        ),
        (
            stack(id="bracket"),
            [
                Fault(
                    f"{ITEM}.id",
                    'the id "bracket" is used twice, first in enclosure.obstacles[0].id',
                    "give each its own id",
                )
            ],
        ),
        (
            stack(id="floor"),
            [
                Fault(
                    f"{ITEM}.id",
                    'the id "floor" is used twice, first in the walls',
                    "give each its own id",
                )
            ],
        ),
        (
            free(part="board"),
            [
                Fault(
                    "free[0].part",
                    'found "board", which is no part of this layout',
                    "there is board-170x170",
                )
            ],
        ),
        (
            free(held=Held(by="clamp", on="q")),
            [
                Fault(
                    "free[0].held.on",
                    'found "q", which is no wall, obstacle, zone or placed part',
                    HOLDERS,
                )
            ],
        ),
        (
            free(held=Held(by="clamp", on="B1")),
            [
                Fault(
                    "free[0].held.on",
                    'found "B1", which is no wall, obstacle, zone or placed part',
                    HOLDERS,
                )
            ],
        ),
        (
            free(held=Held(by="zone cells", on="front-zone", cells=("b1", "b7"))),
            [
                Fault(
                    "free[0].held.cells[1]",
                    'found "b7", which is no cell of zone "front-zone"',
                    "there is b1, b2",
                )
            ],
        ),
        (
            free(held=Held(by="zone cells", on="bracket", cells=("b1",))),
            [
                Fault(
                    "free[0].held.on",
                    'found "bracket", which is no zone of the enclosure',
                    "there is floor-zone, front-zone, roof-zone",
                )
            ],
        ),
        (
            free(held=Held(by="zone cells", cells=("b1",))),
            [
                Fault(
                    "free[0].held.on",
                    'found "", which is no zone of the enclosure',
                    "there is floor-zone, front-zone, roof-zone",
                )
            ],
        ),
        (
            empty_layout().but(states={"shelf": "out"}),
            [
                Fault(
                    "states[shelf]",
                    'found "shelf", which is no obstacle of the enclosure',
                    "there is bracket",
                )
            ],
        ),
        (
            empty_layout().but(states={"bracket": "up"}),
            [
                Fault(
                    "states[bracket]",
                    'found "up", which is no state of obstacle "bracket"',
                    "there is in-place, back, out",
                )
            ],
        ),
        (
            empty_layout().but(parts={"fan": FAN_25}),
            [
                Fault(
                    "parts[fan].id", 'found "fan-120x25" under the key "fan"', "make both the same"
                )
            ],
        ),
    ],
)
def test_a_reference_that_leads_nowhere_is_named_with_what_there_is(layout, faults) -> None:
    assert list(reference_faults(layout)) == faults


def test_all_faults_are_told_at_once_with_the_file(tmp_path: Path) -> None:
    path = tmp_path / "room.json"
    write_layout(path, stack(cell="q", part="w"))
    with pytest.raises(DataError) as refused:
        read_layout(path)
    assert refused.value.file == str(path)
    assert [fault.field for fault in refused.value.faults] == [f"{ITEM}.cell", f"{ITEM}.part"]


def test_a_sound_layout_has_no_faults() -> None:
    assert reference_faults(full_layout()) == ()
    assert BRACKET in full_layout().enclosure.obstacles
