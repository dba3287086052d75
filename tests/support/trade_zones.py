"""Zones round a box, each with options made of discrete trade choices, drawn by a seed.

An option is a row of one to four fans with or without an exchanger: thickness of core and fans,
fans on no, one or both faces, port end either way, first cell and slide. It takes up a few boxes:
fans, core, both end tanks and the fitting on the port. Two options conflict when two of their
boxes stand nearer than 2 mm. Every figure is a usual one of the trade; the room's size sets the
share of conflicts.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
import numpy.typing as npt
from plain_tables import option_conflicts

from geometry.measures.prism import box
from geometry.measures.solid import Role
from geometry.search.judging.units import CLEAR, Makeup, UnitSet
from geometry.search.long_work import run_through
from geometry.search.solving.tables import Tables

FRAME = 120.0
CORES = (0.0, 20.0, 30.0, 45.0, 60.0, 80.0)
FANS = (15.0, 25.0, 38.0)
SIDES = (0, 1, 2)
SLIDES = (-8.0, 0.0, 8.0)
MARGIN = 2.0
BOXES = 5

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Face:
    """A zone: the axis it lies across, which end, the axis along which its cells run, a start."""

    axis: int
    far: bool
    along: int
    start: float
    across: float


@dataclass(frozen=True)
class Drawn:
    """Zones drawn by a seed: the boxes of each option (size, 5, 6), and what an option is worth."""

    boxes: tuple[Floats, ...]
    area: tuple[Floats, ...]
    volume: tuple[Floats, ...]
    left: tuple[Floats, ...]


FACES = (
    Face(2, False, 0, 20.0, 30.0),
    Face(2, True, 0, 20.0, 30.0),
    Face(0, True, 2, 20.0, 30.0),
    Face(0, False, 2, 20.0, 30.0),
    Face(1, True, 0, 20.0, 60.0),
    Face(1, True, 0, 20.0, 240.0),
    Face(1, False, 0, 20.0, 60.0),
    Face(1, False, 0, 20.0, 240.0),
)


def drawn(zones: int, options: int, room: tuple[float, float, float], seed: int) -> Drawn:
    """Draw `options` options for each of the first zones of a room."""
    rng = np.random.default_rng(seed)
    gathered: list[tuple[Floats, Floats, Floats, Floats]] = []
    for face in FACES[:zones]:
        every = [
            (fans, first, core, fan, side, flip, slide)
            for fans, core, fan, side, flip, slide in product(
                (1, 2, 3, 4), CORES, FANS, SIDES, (False, True), SLIDES
            )
            for first in range(5 - fans)
            if core or (side == 1 and not flip)
        ]
        picked = rng.permutation(len(every))[:options]
        made = [_option(face, room, *every[k]) for k in picked.tolist()]
        columns = [np.array(c, dtype=np.float64) for c in zip(*made, strict=True)]
        gathered.append((columns[0], columns[1], columns[2], columns[3]))
    boxes, area, volume, left = zip(*gathered, strict=True)
    return Drawn(boxes, area, volume, left)


def _option(
    face: Face,
    room: tuple[float, float, float],
    fans: int,
    first: int,
    core: float,
    fan: float,
    side: int,
    flip: bool,
    slide: float,
) -> tuple[list[tuple[float, ...]], float, float, float]:
    length = fans * FRAME
    start = face.start + first * FRAME + slide
    end = start + length
    depth = core + (fan * side if core else fan)
    core_from = fan if side else 0.0
    port, back = (30.0, 15.0) if not flip else (15.0, 30.0)
    spans = [((start, end), (0.0, depth))]
    if core:
        spans += [
            ((end, end + port), (core_from, core_from + core)),
            ((start - back, start), (core_from, core_from + core)),
        ]
        mouth = end + 15.0 if not flip else start - 15.0
        spans.append(((mouth - 10.0, mouth + 10.0), (core_from + core, core_from + core + 24.0)))
    while len(spans) < BOXES:
        spans.append(spans[0])
    third = 3 - face.axis - face.along
    out = []
    for along, up in spans:
        low, high = [0.0] * 3, [0.0] * 3
        low[face.along], high[face.along] = along
        low[third], high[third] = face.across, face.across + FRAME
        if along[1] - along[0] == 20.0:
            low[third], high[third] = face.across + 50.0, face.across + 70.0
        size = room[face.axis]
        low[face.axis], high[face.axis] = (size - up[1], size - up[0]) if face.far else up
        out.append((*low, *high))
    area = length * FRAME / 100 if core else 0.0
    deepest = depth + (24.0 if core and side < 2 else 0.0)
    return out, area, area * core / 10, room[face.axis] / 2 - deepest


def makeups(made: Drawn) -> list[Makeup]:
    """Return what the options of each zone are made of, as a search gathers them."""
    out = []
    for boxes in made.boxes:
        gathered = UnitSet()
        options = [
            [gathered.number(box(b[:3], b[3:]), Role.BODY, "part") for b in option]
            for option in boxes.tolist()
        ]
        out.append(Makeup.of(gathered.units(), options))
    return out


def interval_tables(made_of: list[Makeup]) -> Tables:
    """Return which options conflict, by the interval tests of the search."""
    margins = np.full((len(Role), len(Role)), MARGIN)
    clash = {}
    for i, j in combinations(range(len(made_of)), 2):
        table = run_through(option_conflicts(made_of[i], made_of[j], margins, CLEAR))
        if table.any():
            clash[i, j] = table
    return Tables(tuple(m.size for m in made_of), clash)


def plain_clash(a: Floats, b: Floats) -> npt.NDArray[np.bool_]:
    """Return which of two lists of options conflict, box by box; shapes (m, 5, 6), (n, 5, 6)."""
    out = np.zeros((len(a), len(b)), dtype=bool)
    for p, q in product(range(a.shape[1]), range(b.shape[1])):
        squared = np.zeros(out.shape)
        for k in range(3):
            ahead = b[None, :, q, k] - a[:, None, p, k + 3]
            behind = a[:, None, p, k] - b[None, :, q, k + 3]
            squared += np.maximum(np.maximum(ahead, behind), 0.0) ** 2
        out |= squared < (MARGIN - 1e-6) ** 2
    return out
