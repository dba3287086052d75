"""Dimension lines by ISO 129-1: figure above the line and along it, read from below or right."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from app.drawing.fontmetrics import text_width_mm
from app.drawing.labels import label_box
from app.drawing.primitives import XY, Bounds, Circle, Fill, Ink, Path, Primitive, Text
from app.drawing.silhouettes import inside, meets_any, overlaps, those_meeting

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting

HEAD_SHARE = 0.17
"""Half the width of an arrow head, as a share of its length: about 20 degrees."""

TEXT_GAP_SHARE = 0.55
"""Room between the line and the figure, as a share of the capital height."""

BEYOND_WIDTHS = 8.0
"""How many line widths an extension line goes on beyond the dimension line (ISO 129-1)."""

BETWEEN_CAPS = 0.5
"""Room between two figures in a row, in capital heights, so that they do not read as one."""

TAIL_ARROWS = 1.5
"""Length of the line behind an arrow that stands outside, in arrow lengths."""

HIGHER_LIFTS = (3.0, 5.0, -1.5, -3.5)
"""Where a figure goes when its place over the line is taken, in distances of a figure from it."""

CHAIN_LIFTS = (-1.0, 2.3, -2.3)
"""The same in a chain, where a leader ties a figure farther off to its line (ISO 129-1)."""


class Room(NamedTuple):
    """What a figure has to heed: it never covers `taken`, nor leaves a `sheet`.

    It covers `spare` only where it has no other place.
    """

    taken: tuple[Bounds, ...] = ()
    spare: tuple[Bounds, ...] = ()
    sheet: Bounds | None = None

    def free(self, box: Bounds, spaced: Bounds | None = None) -> bool:
        """Whether a rectangle is on the sheet, and it (or one `spaced` round it) meets no other."""
        if self.sheet is not None and not inside(box, self.sheet):
            return False
        x0, y0, x1, y1 = spaced or box
        for a0, b0, a1, b1 in self.taken:
            if x0 < a1 and a0 < x1 and y0 < b1 and b0 < y1:
                return False
        return True

    def crossed(self, line: tuple[XY, XY]) -> bool:
        """Whether a level or upright line runs through something that is taken."""
        (ax, ay), (bx, by) = line
        box = (min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))
        return meets_any(box, self.taken)

    def spared(self, box: Bounds) -> int:
        """Return how much of what should be spared a rectangle covers."""
        return sum([overlaps(box, other) for other in self.spare])

    def near(self, box: Bounds) -> Room:
        """Return what of it counts within a rectangle."""
        return Room(those_meeting(box, self.taken), those_meeting(box, self.spare), self.sheet)

    def without(self, *boxes: Bounds) -> Room:
        """Return what is left of it when something stands at some rectangles."""
        return Room((*self.taken, *boxes), self.spare, self.sheet)


WIDE_ROOM = Room()


class Measured(NamedTuple):
    """What a dimension spans: the ends of its line, and the points measured.

    From each point measured an extension line comes to its end; none where it is None.
    """

    a: XY
    b: XY
    features: tuple[XY | None, XY | None] = (None, None)

    @property
    def upright(self) -> bool:
        """Whether it runs up the page more than across it."""
        return abs(self.a[0] - self.b[0]) < abs(self.a[1] - self.b[1])

    def as_read(self) -> Measured:
        """Return it from the left to the right, or from below to above: so its figure reads."""
        (a, b), (fa, fb) = (self.a, self.b), self.features
        if (b[1] > a[1]) if self.upright else (b[0] < a[0]):
            return Measured(b, a, (fb, fa))
        return self


class Figure(NamedTuple):
    """The words over a dimension line, and how they are lettered."""

    text: str
    ink: Ink = Ink.DIMENSION
    bold: bool = False
    halo: bool = False


class Dimension(NamedTuple):
    """A dimension as primitives, and the rectangle that its figure takes up; None without one."""

    primitives: tuple[Primitive, ...]
    box: Bounds | None


def arrow_head(tip: XY, along: XY, ink: Ink, drafting: Drafting) -> Path:
    """Return a filled arrow head that points along a unit vector."""
    length = drafting.arrow_mm
    half = length * HEAD_SHARE
    back = (tip[0] - along[0] * length, tip[1] - along[1] * length)
    corners = (
        tip,
        (back[0] - along[1] * half, back[1] + along[0] * half),
        (back[0] + along[1] * half, back[1] - along[0] * half),
    )
    line = drafting.narrow(ink)
    return Path(corners, line, closed=True, fill=Fill(ink, solid=True))


def dimension(
    measured: Measured,
    figure: Figure,
    drafting: Drafting,
    *,
    room: Room = WIDE_ROOM,
    within: Bounds | None = None,
    chained: bool = False,
) -> Dimension:
    """Return a level or upright dimension.

    Where the line is too short, arrows stand outside, and the figure too where it does not fit
    or where something in the `room` is in its way; it stays `within` a rectangle where it can, and
    is left out where the room has no place for it. In a chain too short a line ends in dots, for
    its neighbours need the room outside (ISO 129-1). Raises ValueError for a slanting line.
    """
    line = dimension_line(measured, figure, drafting, within=within, chained=chained)
    return line.figured(line.spot(room).at)


class Spot(NamedTuple):
    """Where the middle of a figure stands, if anywhere; what is off `heeded` is no matter to it."""

    at: XY | None
    heeded: Bounds


class DimensionLine(NamedTuple):
    """A dimension whose figure has no place yet; what is drawn of it is made with the figure.

    What is `measured` runs to the right or up. `spots` are those where the middle of the figure may
    be, the best first; `look` is the figure round the origin, `own` its rectangle there, and
    `spaced` what it keeps free.
    """

    measured: Measured
    look: Text
    own: Bounds
    spaced: Bounds
    spots: tuple[XY, ...]
    within: Bounds | None
    chained: bool
    drafting: Drafting

    @property
    def ends(self) -> tuple[XY, XY]:
        """The ends of the line."""
        return self.measured.a, self.measured.b

    def spot(self, room: Room) -> Spot:
        """Return the first spot that is free and inside, else the least bad one.

        There is none where no spot keeps to the sheet and off what is taken.
        """
        best, least, tried = None, math.inf, 0
        own, spaced = self.own, self.spaced
        for x, y in self.spots:
            tried += 1
            box = (x + own[0], y + own[1], x + own[2], y + own[3])
            if not room.free(box, (x + spaced[0], y + spaced[1], x + spaced[2], y + spaced[3])):
                continue
            carrier = self._carrier((x, y))
            if carrier is not None and room.crossed(carrier):
                continue
            badness = 2 * room.spared(box)
            if self.within is not None and not inside(box, self.within):
                badness += 1
            if badness < least:
                best, least = (x, y), badness
            if least == 0:
                break
        return Spot(best, self._around(tried))

    @property
    def reach(self) -> Bounds:
        """The rectangle in which the figure may stand, with the room that it keeps free."""
        return self._around(len(self.spots))

    def _around(self, tried: int) -> Bounds:
        """Return a rectangle round all that decides which of the first so many spots is taken.

        Between a spot and the ends of the line runs what carries a figure set outside.
        """
        x0, y0, x1, y1 = self.spaced
        xs, ys = zip(*self.ends, *self.spots[:tried], strict=True)
        return (min(xs) + x0, min(ys) + y0, max(xs) + x1, max(ys) + y1)

    def box_at(self, spot: XY) -> Bounds:
        """Return the rectangle that the figure takes up at a spot."""
        (x, y), (x0, y0, x1, y1) = spot, self.own
        return (x + x0, y + y0, x + x1, y + y1)

    def figured(self, spot: XY | None) -> Dimension:
        """Return the dimension with its figure at a spot; without one there is no figure."""
        lines = self._lines()
        if spot is None:
            return Dimension(tuple(lines), None)
        text = self.look._replace(at=spot)
        carrier = self._carrier(spot)
        if carrier is not None:
            lines.append(Path(carrier, self.drafting.narrow(text.ink)))
        return Dimension((*lines, text), self.box_at(spot))

    def _carrier(self, at: XY) -> tuple[XY, XY] | None:
        """Return the line that ties a figure at some spot to the dimension line, if any does."""
        if self.chained:
            return _leader(self.look, at, self.ends)
        return _carrier(self.look, at, *self.ends)

    def _lines(self) -> list[Primitive]:
        """Return its extension lines, and its line with what ends it."""
        (a, b), ink, drafting = self.ends, self.look.ink, self.drafting
        along = (0.0, -1.0) if self.look.angle_deg != 0.0 else (1.0, 0.0)
        back = (-along[0], -along[1])
        line = drafting.narrow(ink)
        out: list[Primitive] = []
        out.extend(extension_lines(self.measured, ink, drafting))
        roomy = _roomy(self.ends, drafting)
        if roomy or self.chained:
            out.append(Path((a, b), line))
        if roomy:
            out += (arrow_head(a, back, ink, drafting), arrow_head(b, along, ink, drafting))
        elif self.chained:
            out += (_dot(a, ink, drafting), _dot(b, ink, drafting))
        else:
            tail = _tail(drafting)
            out.append(Path((_off(a, along, -tail), _off(b, along, tail)), line))
            out += (arrow_head(a, along, ink, drafting), arrow_head(b, back, ink, drafting))
        return out


def dimension_line(
    measured: Measured,
    figure: Figure,
    drafting: Drafting,
    *,
    within: Bounds | None = None,
    chained: bool = False,
) -> DimensionLine:
    """Return the same with the figure not set yet."""
    measured = measured.as_read()
    a, b, upright = measured.a, measured.b, measured.upright
    if min(abs(a[0] - b[0]), abs(a[1] - b[1])) > drafting.unit_mm * 1e-3:
        raise ValueError("a dimension line here is level or upright")
    ways = ((0.0, -1.0), (-1.0, 0.0)) if upright else ((1.0, 0.0), (0.0, -1.0))
    tail = 0.0 if chained or _roomy((a, b), drafting) else _tail(drafting)
    look = Text((0.0, 0.0), figure.text, drafting.cap_mm, figure.ink, "middle", "middle",
                90.0 if upright else 0.0, bold=figure.bold, halo=figure.halo)  # fmt: skip
    spots = _spots((a, b), ways, tail, look, drafting, over=chained)
    own, by = label_box(look), BETWEEN_CAPS * look.height_mm
    across, down = (0.0, by) if upright else (by, 0.0)
    spaced = (own[0] - across, own[1] - down, own[2] + across, own[3] + down)
    return DimensionLine(measured, look, own, spaced, tuple(spots), within, chained, drafting)


def _roomy(ends: tuple[XY, XY], drafting: Drafting) -> bool:
    """Whether arrows find room between the ends of a line."""
    return math.dist(*ends) >= 3.0 * drafting.arrow_mm


def _tail(drafting: Drafting) -> float:
    """Return how far a line goes on where its arrows stand outside."""
    return drafting.arrow_mm * (1.0 + TAIL_ARROWS)


def _dot(at: XY, ink: Ink, drafting: Drafting) -> Circle:
    return Circle(at, 1.6 * drafting.unit_mm, None, Fill(ink, solid=True))


def _between(at: XY, a: XY, b: XY) -> bool:
    k = 0 if abs(a[0] - b[0]) > abs(a[1] - b[1]) else 1
    return min(a[k], b[k]) <= at[k] <= max(a[k], b[k])


def _carrier(look: Text, at: XY, a: XY, b: XY) -> tuple[XY, XY] | None:
    """Return the line that carries a figure set outside; None where it stands between the ends.

    `at` is the middle of the figure.
    """
    if _between(at, a, b):
        return None
    start = b if math.dist(at, b) < math.dist(at, a) else a
    half = text_width_mm(look.text, look.height_mm, bold=look.bold) / 2
    x, y = at
    if look.angle_deg != 0.0:
        return start, (start[0], y - half if y < start[1] else y + half)
    return start, (x + half if x > start[0] else x - half, start[1])


def _leader(look: Text, at: XY, ends: tuple[XY, XY]) -> tuple[XY, XY] | None:
    """Return the line from the middle of a dimension line to a figure that stands farther off.

    None where the figure stands right at its line.
    """
    (ax, ay), (bx, by) = ends
    middle = ((ax + bx) / 2, (ay + by) / 2)
    off = math.dist(middle, at)
    if off <= 1.5 * _lift(look.height_mm):
        return None
    share = 1.0 - 0.7 * look.height_mm / off
    return middle, (
        middle[0] + (at[0] - middle[0]) * share,
        middle[1] + (at[1] - middle[1]) * share,
    )


def _lift(cap_mm: float) -> float:
    """Return how far over its line the middle of a figure stands."""
    return cap_mm * (0.5 + TEXT_GAP_SHARE)


def _spots(
    ends: tuple[XY, XY],
    ways: tuple[XY, XY],
    tail: float,
    look: Text,
    drafting: Drafting,
    *,
    over: bool,
) -> list[XY]:
    """Return where the middle of a figure may be, the best first; `over`: over the line."""
    (a, b), (along, above) = ends, ways
    half = text_width_mm(look.text, look.height_mm, bold=look.bold) / 2
    lift = _lift(drafting.cap_mm)
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    beyond = half + max(tail, drafting.arrow_mm * 0.6)
    after, before = _off(b, along, beyond), _off(a, along, -beyond)
    fits = over or 2 * half <= math.dist(a, b)
    lines = [middle, after, before] if fits else [after, before, middle]
    if over:
        lines = [middle]
    return [
        (x + above[0] * by, y + above[1] * by)
        for by in (lift, *[k * lift for k in (CHAIN_LIFTS if over else HIGHER_LIFTS)])
        for x, y in lines
    ]


def extension_lines(measured: Measured, ink: Ink, drafting: Drafting) -> list[Primitive]:
    """Return the lines from what is measured to the ends of a dimension line, and a bit beyond.

    None is drawn where the end stands at the feature itself.
    """
    out: list[Primitive] = []
    for end, feature in zip((measured.a, measured.b), measured.features, strict=True):
        if feature is None:
            continue
        length = math.dist(end, feature)
        gap = 2.0 * drafting.unit_mm
        if length <= 2 * gap:
            continue
        along = ((end[0] - feature[0]) / length, (end[1] - feature[1]) / length)
        far = _off(end, along, BEYOND_WIDTHS * drafting.narrow_mm)
        out.append(Path((_off(feature, along, gap), far), drafting.narrow(ink)))
    return out


def _off(at: XY, along: XY, by: float) -> XY:
    return (at[0] + along[0] * by, at[1] + along[1] * by)
