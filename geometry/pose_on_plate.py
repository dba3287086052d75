"""How a part lies on a plate before it is moved to its cell, and where its cells then are."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from catalog.parts import Part, part_cells, top_cells
from catalog.shapes import Cell
from geometry.layout import Item, Side
from geometry.measures.pose import Pose, Way
from geometry.part_solids import seat_thickness_mm

UV = tuple[float, float]


@dataclass(frozen=True)
class PoseOnPlate:
    """A part as it lies in (u, v, n), with its seat at n = 0.

    `cells` are in the order of u, then v, with their places; `tops` are what it offers to the next
    layer, by the ids of its own cells.
    """

    part: Part
    pose: Pose
    thickness_mm: float
    cells: tuple[tuple[UV, Cell], ...]
    tops: dict[str, Cell]

    @classmethod
    def of(cls, part: Part, side: Side, item: Item) -> PoseOnPlate:
        """Return how a part lies that is turned as an item is."""
        thickness_mm = seat_thickness_mm(part)
        pose = _pose(side, item, thickness_mm)
        tops = dict(zip((c.id for c in part_cells(part)), top_cells(part), strict=False))
        return cls(part, pose, thickness_mm, tuple(_cells_in_order(pose, part)), tops)

    @cached_property
    def spots(self) -> object:
        """What is the same for parts whose cells lie alike."""
        return tuple((at, tuple(m.size_mm for m in c.accepts)) for at, c in self.cells)

    @cached_property
    def halves_mm(self) -> tuple[float, ...]:
        """Half of the widest frame that each cell takes."""
        return tuple(max(m.frame_mm for m in cell.accepts) / 2 for _, cell in self.cells)

    @cached_property
    def spans(self) -> bool:
        """Whether it spans several cells."""
        return len(self.cells) > 1


def _pose(side: Side, item: Item, thickness_mm: float) -> Pose:
    out = Way(2, 1 if side == "inner" else -1)
    turned = Pose.from_axes(Way(0, 1), out)
    quarter_ways = (Way(0, 1), turned.y, Way(0, -1), -turned.y)
    x = quarter_ways[item.turn]
    if not item.turned_over:
        return Pose.from_axes(x, out)
    return Pose.from_axes(x, -out, (0.0, 0.0, out.sign * thickness_mm))


def _cells_in_order(lying: Pose, part: Part) -> list[tuple[UV, Cell]]:
    return sorted(
        ((_plane(lying, cell), cell) for cell in part_cells(part)),
        key=lambda pair: (round(pair[0][0], 3), round(pair[0][1], 3)),
    )


def _plane(pose: Pose, cell: Cell) -> UV:
    at = pose.point((cell.u_mm, cell.v_mm, 0.0))
    return (at[0], at[1])
