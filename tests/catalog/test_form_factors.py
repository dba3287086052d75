"""Shipped data against published form factors; the source stands beside each figure."""

from __future__ import annotations

from itertools import pairwise
from typing import TypeVar

import pytest

from catalog.enclosure import Enclosure
from catalog.parts import Board, Card, Drive, Exchanger, Fan, Supply
from catalog.shapes import Box, Mount, Shape, shape_bounds
from catalog.store import Library
from catalog.threads import PIPE_THREADS, pipe_thread

LIBRARY = Library()
T = TypeVar("T")


def part(kind: type[T], ident: str) -> T:
    found = LIBRARY.part(ident)
    assert isinstance(found, kind)
    return found


# Boards ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ident", "along_rear_mm", "depth_mm"),
    [
        ("board-atx", 304.80, 243.84),  # ATX specification 2.2: 12.0 x 9.6 in
        ("board-microatx", 243.84, 243.84),  # microATX 1.2, table 3: 9.6 x 9.6 in, greatest
        ("board-miniitx", 170.0, 170.0),  # Mini-ITX Addendum 1.1, table 1
    ],
)
def test_board_outlines(ident: str, along_rear_mm: float, depth_mm: float) -> None:
    board = part(Board, ident)
    assert (board.width_mm, board.length_mm) == (along_rear_mm, depth_mm)
    assert board.height_mm == 1.57  # microATX 1.2, figure 4: the board on which heights count


# Hole centres in mm by letter: from the right edge, from the rear edge, seen on the component side
# with the rear edge up (ATX specification 2.2 and microATX 1.2, figure 2; rows R and S, on which
# sources disagree, are left out).
HOLES_MM = {
    "A": (288.29, 10.16), "B": (209.55, 10.16), "C": (163.83, 10.16), "F": (6.35, 33.02),
    "G": (288.29, 165.10), "H": (163.83, 165.10), "J": (6.35, 165.10),
    "K": (288.29, 237.49), "L": (163.83, 237.49), "M": (6.35, 237.49),
}  # fmt: skip


def holes_of(ident: str) -> set[tuple[float, float]]:
    """Return a board's holes from its right and rear edges, from the part frame."""
    board = part(Board, ident)
    return {
        (round(board.width_mm / 2 - y, 3), round(x + board.length_mm / 2, 3))
        for x, y in board.holes_mm
    }


@pytest.mark.parametrize(
    ("ident", "letters"),
    [
        ("board-atx", "ACFGHJKLM"),  # ATX has no hole B
        ("board-microatx", "BCFHJLM"),
        ("board-miniitx", "CFHJ"),
    ],
)
def test_board_holes(ident: str, letters: str) -> None:
    assert holes_of(ident) == {HOLES_MM[letter] for letter in letters}


def test_board_holes_close_on_the_far_edges() -> None:
    # 243.84 - 237.49 = 6.35 from M to the front edge; 304.80 - 288.29 = 16.51 from A to the left
    board = part(Board, "board-atx")
    x_most = max(x for x, _ in board.holes_mm)
    y_least = min(y for _, y in board.holes_mm)
    assert board.length_mm / 2 - x_most == pytest.approx(6.35)
    assert y_least + board.width_mm / 2 == pytest.approx(16.51)


def opening(enclosure: Enclosure, ident: str) -> Box:
    shape = next(one.shape for one in enclosure.openings if one.id == ident)
    assert isinstance(shape, Box)
    return shape


BOARD_ROOMS = ["bench-box", "tall-tower", "rack-chassis-4u", "small-cube"]


@pytest.mark.parametrize("ident", BOARD_ROOMS)
def test_the_connector_aperture(ident: str) -> None:
    """Size, height over the board and room round it: microATX 1.2, figure 4."""
    enclosure = LIBRARY.enclosure(ident)
    cut = opening(enclosure, "connector-aperture")
    assert sorted(cut.size_mm[1:]) == pytest.approx([44.45, 158.75])
    board = next(one for one in enclosure.obstacles if one.id == "board")
    slab, connectors = board.shapes[0], board.shapes[1]
    assert isinstance(slab, Box)
    assert isinstance(connectors, Box)
    out = 2 if slab.size_mm[2] == 1.57 else 1  # the axis out of the board: lying z, upright y
    if out == 2:
        assert cut.at_mm[2] - (slab.at_mm[2] + 1.57) == pytest.approx(3.81)
    else:
        assert slab.at_mm[1] - (cut.at_mm[1] + cut.size_mm[1]) == pytest.approx(3.81)
    along = 3 - out
    assert connectors.size_mm[along] == pytest.approx(152.15)  # figure 5
    assert cut.at_mm[along] < connectors.at_mm[along]
    for other in enclosure.openings:
        if other.wall == "rear" and other.id != "connector-aperture":
            assert gap_in_wall(cut, other.shape) >= 2.54, other.id


def gap_in_wall(cut: Box, other: Shape) -> float:
    """Return the gap between the bounding rectangles of two cuts in the rear wall (mm)."""
    least, most = shape_bounds(other)
    return max(
        max(cut.at_mm[k] - most[k], least[k] - cut.at_mm[k] - cut.size_mm[k]) for k in (1, 2)
    )


@pytest.mark.parametrize("ident", BOARD_ROOMS)
def test_boards_stand_off_their_trays(ident: str) -> None:
    """At least 6.35 mm (0.25 in) of room behind the board: ATX specification 2.1."""
    shapes = {one.id: one.shapes[0] for one in LIBRARY.enclosure(ident).obstacles}
    tray, slab = shapes["tray"], shapes["board"]
    assert isinstance(tray, Box)
    assert isinstance(slab, Box)
    lying = slab.size_mm[2] == 1.57
    room = (
        slab.at_mm[2] - (tray.at_mm[2] + tray.size_mm[2])
        if lying
        else tray.at_mm[1] - (slab.at_mm[1] + 1.57)
    )
    assert room >= 6.35 - 1e-6


# Supplies, cards, drives -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ident", "width_mm", "height_mm", "depth_mm"),
    [
        ("supply-atx", 150.0, 86.0, 140.0),  # ATX12V design guide
        ("supply-atx-short", 150.0, 86.0, 100.0),  # SFX12V design guide, appendix E
        ("supply-sfx", 125.0, 63.5, 100.0),  # SFX12V design guide, outline C
        ("supply-tfx", 85.0, 65.0, 175.0),  # TFX12V design guide
        ("supply-flex", 81.5, 40.5, 150.0),  # Flex ATX design guide
    ],
)
def test_supply_outlines(ident: str, width_mm: float, height_mm: float, depth_mm: float) -> None:
    one = part(Supply, ident)
    assert (one.width_mm, one.height_mm, one.length_mm) == (width_mm, height_mm, depth_mm)


@pytest.mark.parametrize(
    ("ident", "length_mm", "height_mm"),
    [
        ("card-full-2-top", 312.00, 111.15),  # PCI Express CEM r1.1
        ("card-half-2-end", 167.65, 111.15),
        ("card-half-low-1", 167.65, 68.90),
    ],
)
def test_card_outlines(ident: str, length_mm: float, height_mm: float) -> None:
    one = part(Card, ident)
    assert (one.length_mm, one.height_mm) == (length_mm, height_mm)


def test_card_thickness_by_slots() -> None:
    # PCI Express CEM r1.1: 14.47 + 1.57 + 2.67 = 18.71; slots follow each other at 20.32 (0.8 in)
    widths = [part(Card, f"card-full-{n}").width_mm for n in ("1", "2-top", "3-top")]
    assert widths == [18.71, 39.03, 59.35]
    assert all(b - a == pytest.approx(20.32) for a, b in pairwise(widths))


def test_drive_envelopes() -> None:
    # SFF-8301, table 3-1: width 101.60, length 147.00 and heights 17.80, 26.10, 42.00 at most
    large = [one for one in LIBRARY.search("drive 3.5") if isinstance(one, Drive)]
    assert {(one.length_mm, one.width_mm) for one in large} == {(147.00, 101.60)}
    assert [one.height_mm for one in large] == [17.80, 26.10, 42.00]
    # SFF-8201: width 69.85, length 100.45 at most
    small = [one for one in LIBRARY.search("drive 2.5") if isinstance(one, Drive)]
    assert {(one.length_mm, one.width_mm) for one in small} == {(100.45, 69.85)}
    assert [one.height_mm for one in small] == [7.0, 9.5, 15.0]


def test_drive_bottom_holes() -> None:
    # SFF-8301: 95.25 across (inset 3.18); rows 41.28 from the connector end, then 44.45 and
    # 76.20 further on
    drive = part(Drive, "drive-35-26.1")
    rows = sorted({round(drive.length_mm / 2 - x, 2) for x, _ in drive.holes_mm})
    assert rows == [41.28, 85.73, 117.48]
    across = sorted({y for _, y in drive.holes_mm})
    assert across[1] - across[0] == 95.25
    assert drive.width_mm / 2 - across[1] == pytest.approx(3.18, abs=0.01)


# Racks -------------------------------------------------------------------------------------------


def test_the_rack_chassis_keeps_to_its_units() -> None:
    """IEC 60297-3-100: unit 44.45, panel n x 44.45 - 0.8 by 482.6, opening between posts 450."""
    chassis = LIBRARY.enclosure("rack-chassis-4u")
    ears = next(one for one in chassis.outside if one.id == "ears").shapes
    rails = next(one for one in chassis.outside if one.id == "rails").shapes
    body = chassis.outer[0]
    left, right = ears
    assert isinstance(left, Box)
    assert isinstance(right, Box)
    assert isinstance(body, Box)
    assert all(isinstance(rail, Box) for rail in rails)
    assert left.size_mm[2] == right.size_mm[2] == pytest.approx(4 * 44.45 - 0.8)  # 177.0
    assert right.at_mm[1] + right.size_mm[1] - left.at_mm[1] == pytest.approx(482.6)
    assert body.size_mm[2] <= 4 * 44.45 - 0.8
    width = body.size_mm[1] + sum(rail.size_mm[1] for rail in rails if isinstance(rail, Box))
    assert width <= 450.0
    # the panel lies in the middle of the body, so that units line up with the rack's
    assert left.at_mm[2] + 177.0 / 2 == pytest.approx(body.at_mm[2] + body.size_mm[2] / 2)


# Fans and exchangers -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("frame_mm", "pitch_mm", "edge_mm"),
    # de facto: no standard fixes pitch to frame; public fan pattern tables agree on these four.
    # The hole's distance from the edge is (frame - pitch) / 2.
    [(80.0, 71.5, 4.25), (92.0, 82.5, 4.75), (120.0, 105.0, 7.5), (140.0, 124.5, 7.75)],
)
def test_fan_hole_pitches(frame_mm: float, pitch_mm: float, edge_mm: float) -> None:
    fans = [one for one in LIBRARY.search("", {"fan"}, frame_mm) if isinstance(one, Fan)]
    assert fans
    assert {one.pitch_mm for one in fans} == {pitch_mm}
    assert (frame_mm - pitch_mm) / 2 == edge_mm


def test_fans_of_200_mm_say_that_their_pitch_is_not_settled() -> None:
    fans = LIBRARY.search("", {"fan"}, 200.0)
    assert fans
    assert all("not settled" in one.source for one in fans)
    assert all(one.dimensions["pitch_mm"].origin == "assumed" for one in fans)


def test_holes_of_a_row_of_three_120_mm_fans() -> None:
    # common practice, no source: frames touch, so holes stand at 0, 105, 120, 225, 240, 345
    exchanger = part(Exchanger, "exchanger-3x120-30")
    (mount,) = {cell.accepts for cell in exchanger.cells}
    assert mount == (Mount(frame_mm=120.0, pitch_mm=105.0),)
    holes = sorted(cell.u_mm + side * 52.5 for cell in exchanger.cells for side in (-1, 1))
    assert [hole - holes[0] for hole in holes] == [0, 105, 120, 225, 240, 345]


# Threads -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("label", "turns", "major_mm", "pitch_diameter_mm", "minor_mm"),
    # ISO 228-1, table 1. The size names a bore: G1/4 is 13.157 mm across.
    [
        ("G1/8", 28, 9.728, 9.147, 8.566),
        ("G1/4", 19, 13.157, 12.301, 11.445),
        ("G3/8", 19, 16.662, 15.806, 14.950),
    ],
)
def test_pipe_threads(
    label: str, turns: int, major_mm: float, pitch_diameter_mm: float, minor_mm: float
) -> None:
    assert pipe_thread(label) == (turns, major_mm, pitch_diameter_mm, minor_mm)


@pytest.mark.parametrize("label", PIPE_THREADS)
def test_the_55_degree_profile_gives_the_minor_diameters(label: str) -> None:
    # ISO 228-1: thread height h = 0.640327 P; pitch diameter = major - h, minor = major - 2 h
    thread = PIPE_THREADS[label]
    height = 0.640327 * 25.4 / thread.turns_per_inch
    assert thread.pitch_diameter_mm == pytest.approx(thread.major_mm - height, abs=1e-3)
    assert thread.minor_mm == pytest.approx(thread.major_mm - 2 * height, abs=1e-3)


def test_no_such_thread() -> None:
    assert pipe_thread("g 1/4") == PIPE_THREADS["G1/4"]
    assert pipe_thread("M10") is None
