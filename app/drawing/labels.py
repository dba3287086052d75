"""Names on parts: set where the part is seen, turned or shortened to fit, else left out.

A label keeps within what is seen of its own part, so labels of different parts cannot meet.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from app.drawing.fontmetrics import DESCENT_PER_CAP, text_width_mm
from app.drawing.part_details import label_hurdles
from app.drawing.primitives import XY, Bounds, Fill, Ink, Path, Text
from app.drawing.silhouettes import meets_any, overlaps, polygon_of, rectangle
from geometry.measures.prism import Outline, Poly, Rect, Round

if TYPE_CHECKING:
    from app.drawing.drafting import Drafting
    from app.drawing.frame import ViewFrame
    from app.drawing.owners import Seen, Shown

Line = tuple[XY, XY]

_SHIFTS = (0.0, -0.14, 0.14, -0.28, 0.28, -0.38, 0.38)

SPOTS = tuple(
    sorted(((sx, sy) for sx in _SHIFTS for sy in _SHIFTS), key=lambda s: (s[0] ** 2 + s[1] ** 2, s))
)
"""Where a label is tried, off the middle as shares of the room; the nearest comes first."""

_OFF = tuple(abs(shift) for shift in _SHIFTS)


@lru_cache(maxsize=len(_SHIFTS) ** 2)
def _spots_within(most_x: int, most_y: int) -> tuple[XY, ...]:
    """Return the spots whose shifts are among the first so many, in their order."""
    across, down = _SHIFTS[:most_x], _SHIFTS[:most_y]
    return tuple((sx, sy) for sx, sy in SPOTS if sx in across and sy in down)


MOST_FACES = 3
"""On how many of its outlines, from the largest, a part's label is tried."""

UPRIGHT_SHARE = 1.5
"""A label that would fit level is set upright only in a room this much taller than wide."""

ROUND_SHARE = 0.7071
"""A square inside a circle, as a share of its diameter."""


def text_box(
    at: XY, text: str, cap_mm: float, *, upright: bool = False, bold: bool = False
) -> Bounds:
    """Return the rectangle of a text set with its middle at a point."""
    half = text_width_mm(text, cap_mm, bold=bold) / 2
    tall = cap_mm * (0.5 + DESCENT_PER_CAP)
    if upright:
        return (at[0] - tall, at[1] - half, at[0] + tall, at[1] + half)
    return (at[0] - half, at[1] - tall, at[0] + half, at[1] + tall)


def label_box(text: Text) -> Bounds:
    """Return the rectangle of a text that is set with its middle at a point."""
    upright = text.angle_deg != 0.0
    return text_box(text.at, text.text, text.height_mm, upright=upright, bold=text.bold)


def figure_box(text: Text) -> Bounds:
    """Return the rectangle of a text, wherever it is anchored."""
    if text.across == "middle" and text.up == "middle":
        return label_box(text)
    half = text_width_mm(text.text, text.height_mm, bold=text.bold) / 2
    along = {"left": half, "middle": 0.0, "right": -half}[text.across]
    down = {"top": 0.5, "middle": 0.0, "base": -0.5}[text.up] * text.height_mm
    x, y = text.at
    at = (x + down, y - along) if text.angle_deg != 0.0 else (x + along, y + down)
    upright = text.angle_deg != 0.0
    return text_box(at, text.text, text.height_mm, upright=upright, bold=text.bold)


class Spot(NamedTuple):
    """A label where it may stand, and the rectangle that it then covers."""

    text: Text
    box: Bounds


def label_patch(box: Bounds, ground: Ink) -> Path:
    """Return the field in the tint of its part that keeps lines out of a label."""
    return rectangle(box, None, Fill(ground))


def first_free(
    spots: Iterable[Spot], taken: tuple[Bounds, ...], lines: tuple[Line, ...]
) -> Spot | None:
    """Return the first of some spots that neither lies on what is taken nor on a line."""
    for spot in spots:
        if meets_any(spot.box, taken):
            continue
        if not lines or not any(crosses(line, spot.box) for line in lines):
            return spot
    return None


class Spots:
    """The places of a label off the other parts, worked out as far as they are asked for."""

    def __init__(self, spots: Iterator[Spot]) -> None:
        self._known: list[Spot] = []
        self._rest = spots

    def __iter__(self) -> Iterator[Spot]:
        """Yield the places, the best first."""
        yield from self._known
        for spot in self._rest:
            self._known.append(spot)
            yield spot


def hurdles_before(seen: Seen, nearer: Sequence[Seen]) -> tuple[Bounds, ...]:
    """Return the rectangles of nearer parts that a label has to keep off."""
    x0, y0, x1, y1 = seen.box
    return tuple([
        box
        for other in nearer
        for box in other.boxes
        if x0 < box[2] and box[0] < x1 and y0 < box[3] and box[1] < y1
    ])  # fmt: skip


class Setting(NamedTuple):
    """One way to set a label in a room of its owner; `own` is its rectangle round the origin.

    Its middle may stray from that of the room by `reach`, across and down.
    """

    text: str
    upright: bool
    outline: Outline
    room: Bounds
    own: Bounds
    reach: XY


def label_settings(shown: Shown, view: ViewFrame, drafting: Drafting) -> tuple[Setting, ...]:
    """Return how the label of an owner would fit if nothing stood before it, the best way first."""
    if not shown.seen(view).covers:
        return ()
    cap, faces = drafting.small_cap_mm, _faces(shown, view)[:MOST_FACES]
    return tuple([
        Setting(text, upright, outline, room, own, reach)
        for text in _texts(shown)
        for outline, room in faces
        for upright in _ways(room, text_width_mm(text, cap))
        for own in (text_box((0.0, 0.0), text, cap, upright=upright),)
        for reach in (_reach(room, own, cap),)
        if min(reach) >= 0.0
    ])  # fmt: skip


def label_spots(
    shown: Shown,
    settings: tuple[Setting, ...],
    hurdles: tuple[Bounds, ...],
    view: ViewFrame,
    drafting: Drafting,
) -> Iterator[Spot]:
    """Yield the label of an owner where it may stand off some rectangles, the best place first."""
    cap, faces = drafting.small_cap_mm, _faces(shown, view)
    blocked = list(hurdles)
    if shown.placed is not None:
        blocked.extend(label_hurdles(shown.placed, view, drafting))
    for setting in settings:
        near = [
            box
            for box in (*blocked, *_steps(setting.outline, faces))
            if overlaps(box, setting.room)
        ]
        angle = 90.0 if setting.upright else 0.0
        for at, box in _spots(setting, near):
            yield Spot(Text(at, setting.text, cap, Ink.TEXT, "middle", "middle", angle), box)


def _texts(shown: Shown) -> tuple[str, ...]:
    """Return what the label may say, the most telling first."""
    return tuple(dict.fromkeys((shown.label, shown.short_label)))


def _faces(shown: Shown, view: ViewFrame) -> list[tuple[Outline, Bounds]]:
    """Return an owner's outlines with the room for text in each, the largest first."""
    faces = [
        (face.outline, _room(face.outline))
        for face in shown.seen(view).faces
        if face.solid is shown.hard[0]
    ]
    faces.sort(key=lambda face: -(face[1][2] - face[1][0]) * (face[1][3] - face[1][1]))
    return faces


def _steps(outline: Outline, faces: list[tuple[Outline, Bounds]]) -> Iterator[Bounds]:
    """Yield the owner's other outlines that do not lie round this one: their edges cross it."""
    mine = outline.bounds()
    for other, _ in faces:
        box = other.bounds()
        inside = box[0] <= mine[0] and box[1] <= mine[1] and box[2] >= mine[2] and box[3] >= mine[3]
        if other is not outline and not inside:
            yield box


def _room(outline: Outline) -> Bounds:
    x0, y0, x1, y1 = outline.bounds()
    if not isinstance(outline, Round):
        return (x0, y0, x1, y1)
    inset = outline.r * (1 - ROUND_SHARE)
    if x1 - x0 > y1 - y0:
        return (x0 + outline.r, y0, x1 - outline.r, y1)
    if y1 - y0 > x1 - x0:
        return (x0, y0 + outline.r, x1, y1 - outline.r)
    return (x0 + inset, y0 + inset, x1 - inset, y1 - inset)


def _ways(room: Bounds, width: float) -> tuple[bool, ...]:
    """Return whether to try the text level (False) and upright (True): level where it fits."""
    wide, tall = room[2] - room[0], room[3] - room[1]
    if width > wide:
        return (True,)
    return (False, True) if tall > UPRIGHT_SHARE * wide else (False,)


def _reach(room: Bounds, own: Bounds, cap: float) -> XY:
    """Return how far the middle of a text may stray from that of the room; negative: no room."""
    pad = cap * 0.35
    return (room[2] - room[0]) / 2 - pad - own[2], (room[3] - room[1]) / 2 - pad - own[3]


def _spots(setting: Setting, near: list[Bounds]) -> Iterator[tuple[XY, Bounds]]:
    """Yield where the middle of a text may be in its room, off the rectangles `near` it.

    Each comes with the rectangle that the text then covers.
    """
    (reach_x, reach_y), room, own = setting.reach, setting.room, setting.own
    middle = ((room[0] + room[2]) / 2, (room[1] + room[3]) / 2)
    wide, tall = room[2] - room[0], room[3] - room[1]
    spots = _spots_within(
        sum([off * wide <= reach_x for off in _OFF]), sum([off * tall <= reach_y for off in _OFF])
    )
    for sx, sy in spots:
        x, y = middle[0] + sx * wide, middle[1] + sy * tall
        box = (x + own[0], y + own[1], x + own[2], y + own[3])
        if meets_any(box, near):
            continue
        if isinstance(setting.outline, Poly) and not _within(box, setting.outline):
            continue
        yield (x, y), box


def crosses(line: tuple[XY, XY], box: Bounds) -> bool:
    """Whether a line runs through a rectangle."""
    (ax, ay), (bx, by) = line
    if not overlaps((min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)), box) and not (
        ax == bx or ay == by
    ):
        return False
    # Liang and Barsky: the part of the line between all four sides.
    low, high = 0.0, 1.0
    for start, step, least, most in (
        (ax, bx - ax, box[0], box[2]),
        (ay, by - ay, box[1], box[3]),
    ):
        if step == 0.0:
            if not least < start < most:
                return False
            continue
        enter, leave = sorted(((least - start) / step, (most - start) / step))
        low, high = max(low, enter), min(high, leave)
    return low < high


def _within(box: Bounds, outline: Outline) -> bool:
    return bool(polygon_of(outline).contains(polygon_of(Rect(*box))))
