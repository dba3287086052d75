"""The few primitives of which every drawing is made, as values in millimetres.

x runs to the right, y down the page; angles turn counter-clockwise as one sees them. Inks say
what a stroke means; a theme turns them into colours. Painters for the canvas and for paper read
the same values. They are named tuples, since hundreds are made and compared in each move of a drag.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal, NamedTuple

XY = tuple[float, float]
Bounds = tuple[float, float, float, float]
"""Least x, y, then greatest x, y on the page."""


class Ink(StrEnum):
    """What a stroke, fill or text stands for."""

    OUTLINE = "outline"
    HIDDEN = "hidden"
    CENTRE = "centre"
    DIMENSION = "dimension"
    TEXT = "text"
    MUTED = "muted"
    GRID = "grid"
    PAPER = "paper"
    WALL = "wall"
    FIXED = "fixed"
    EXCHANGER = "exchanger"
    PORT_END = "port end"
    FITTING = "fitting"
    FAN = "fan"
    PUMP = "pump"
    OTHER_PART = "other part"
    KEEP_OUT = "keep-out"
    ZONE = "zone"
    SELECTION = "selection"
    BLOCKED = "blocked"
    TIGHT = "tight"
    CLEAR = "clear"


class LineType(StrEnum):
    """Line types of ISO 128-2, by number: pattern and meaning."""

    CONTINUOUS = "01"
    DASHED = "02"
    CHAIN = "04"
    DOUBLE_CHAIN = "05"


class Stroke(NamedTuple):
    """A line's ink, type and width."""

    ink: Ink
    line_type: LineType = LineType.CONTINUOUS
    width_mm: float = 0.25


Hatch = Literal["none", "diagonal", "back", "cross", "level", "upright"]
"""Lines rising to the right, falling to the right, both, along the page, up the page."""


class Fill(NamedTuple):
    """A fill's ink, as a tint, or as a hatch with its lines `spacing_mm` apart.

    `solid` fills with the full colour of lines, for arrow heads and dots.
    """

    ink: Ink
    hatch: Hatch = "none"
    spacing_mm: float = 2.0
    line_mm: float = 0.18
    solid: bool = False


class Path(NamedTuple):
    """A polyline, or a closed polygon."""

    points: tuple[XY, ...]
    stroke: Stroke | None
    closed: bool = False
    fill: Fill | None = None


class Region(NamedTuple):
    """A polygon with holes: the first ring is the shell."""

    rings: tuple[tuple[XY, ...], ...]
    stroke: Stroke | None
    fill: Fill | None = None


class Circle(NamedTuple):
    """A circle."""

    centre: XY
    radius_mm: float
    stroke: Stroke | None
    fill: Fill | None = None


class Arc(NamedTuple):
    """Part of a circle, from `start_deg` (0 to the right) over `sweep_deg`."""

    centre: XY
    radius_mm: float
    start_deg: float
    sweep_deg: float
    stroke: Stroke


class Text(NamedTuple):
    """A line of text; `at` is the anchor point, `height_mm` the height of a capital letter.

    `up` "middle" means half the height of a capital above the base line. A `halo` keeps lines
    away from the letters; it has the tint of `ground`, on which the text stands.
    """

    at: XY
    text: str
    height_mm: float
    ink: Ink = Ink.TEXT
    across: Literal["left", "middle", "right"] = "left"
    up: Literal["top", "middle", "base"] = "base"
    angle_deg: float = 0.0
    bold: bool = False
    halo: bool = False
    ground: Ink = Ink.PAPER


Primitive = Path | Region | Circle | Arc | Text


class Group(NamedTuple):
    """Primitives that show one thing: `key` names it ("solid:side:E1"), `level` its depth."""

    key: str
    primitives: tuple[Primitive, ...]
    level: int = 0


@dataclass(frozen=True, slots=True)
class Drawing:
    """Groups from the back to the front, within `bounds`."""

    bounds: Bounds
    groups: tuple[Group, ...]
