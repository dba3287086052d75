"""The strip over the title block: projection symbol, scale, units, tolerance, scale bar."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from app.drawing.primitives import (
    XY,
    Circle,
    Fill,
    Group,
    Ink,
    LineType,
    Path,
    Primitive,
    Stroke,
    Text,
)
from app.sheet.lettering import stepped
from app.sheet.title_block import HEIGHT_MM as BLOCK_HEIGHT_MM
from app.sheet.title_block import WIDTH_MM

if TYPE_CHECKING:
    from app.drawing.frame import Projection
    from app.sheet.paper import Paper
    from app.sheet.scale import Scale

STRIP_MM = 15.0
SCALE_BAR_MM = 100.0
_THIN = Stroke(Ink.OUTLINE, width_mm=0.25)
_WIDE = Stroke(Ink.OUTLINE, width_mm=0.5)
_CENTRE = Stroke(Ink.CENTRE, LineType.CHAIN, 0.18)


def strip_groups(paper: Paper, scale: Scale, projection: Projection) -> tuple[Group, ...]:
    """Return the strip that stands on the title block; its scale bar is a group of its own."""
    _, _, right, bottom = paper.frame
    left, top = right - WIDTH_MM, bottom - BLOCK_HEIGHT_MM - STRIP_MM
    middle = top + STRIP_MM / 2
    outline = (
        (left, top + STRIP_MM),
        (left, top),
        (left + WIDTH_MM, top),
        (left + WIDTH_MM, top + STRIP_MM),
    )
    cells: list[Primitive] = [Path(outline, _THIN)]
    for x in (26.0, 46.0, 71.0):
        cells.append(Path(((left + x, top), (left + x, top + STRIP_MM)), _THIN))
    cells.append(_label((left + 27.2, top + 1.2), "Scale"))
    text, height = stepped(str(scale), 18.0, 5.0, bold=True)
    cells.append(Text((left + 36.0, middle + 3.5), text, height, across="middle", bold=True))
    cells.append(_label((left + 47.2, top + 1.2), "Lengths in mm"))
    cells.append(Text((left + 47.2, middle + 1.6), "ISO 2768-m", 2.5))
    cells.append(_label((left + 47.2, top + STRIP_MM - 3.0), "if not stated"))
    symbol = tuple(projection_symbol((left + 13.0, middle), projection))
    bar = tuple(scale_bar((left + 75.0, middle + 0.5)))
    return (
        Group("sheet:strip", tuple(cells)),
        Group("sheet:projection", symbol),
        Group("sheet:scale-bar", bar),
    )


def _label(at: XY, text: str) -> Text:
    return Text(at, text, 1.8, Ink.MUTED, up="top")


def projection_symbol(centre: XY, projection: Projection) -> Iterator[Primitive]:
    """Yield the frustum beside its end view (ISO 5456-2:1996).

    The frustum's small end lies on the left. In first angle the view from the left stands on
    the right, beside the large end; in third angle it stands on the left, beside the small end.
    """
    x, y = centre
    small, large, length = 2.0, 4.0, 8.0
    third = projection == "third-angle"
    round_x = x - 5.5 if third else x + 5.5
    cone_x = x + 1.5 if third else x - 9.5
    yield Path(
        (
            (cone_x, y - small),
            (cone_x + length, y - large),
            (cone_x + length, y + large),
            (cone_x, y + small),
        ),
        _WIDE,
        closed=True,
    )
    for radius in (small, large):
        yield Circle((round_x, y), radius, _WIDE)
    yield Path(((x - 11.0, y), (x + 11.0, y)), _CENTRE)
    yield Path(((round_x, y - large - 1.2), (round_x, y + large + 1.2)), _CENTRE)


def scale_bar(at: XY) -> Iterator[Primitive]:
    """Yield a bar of 100 mm on paper, in fields of 10, by which a print is checked."""
    x, y = at
    height = 2.0
    bar = ((x, y), (x + SCALE_BAR_MM, y), (x + SCALE_BAR_MM, y + height), (x, y + height))
    for k in range(0, 10, 2):
        a = x + k * 10.0
        field = ((a, y), (a + 10.0, y), (a + 10.0, y + height), (a, y + height))
        yield Path(field, None, closed=True, fill=Fill(Ink.WALL))
    yield Path(bar, Stroke(Ink.OUTLINE, width_mm=0.18), closed=True)
    for k in (0, 5, 10):
        yield Text((x + k * 10.0, y - 1.0), str(k * 10), 1.8, across="middle")
    yield Text(
        (x, y + height + 1.2),
        "100 mm on paper: measure before scaling from a print",
        1.8,
        Ink.MUTED,
        up="top",
    )
