"""What has been cut off the obstacles of an enclosure, as prisms, to be drawn."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from geometry.measures.pose import Way, way
from geometry.measures.prism import PLANE, Outline, Poly, Prism, Rect, shifted, turned
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.part_solids import shape_prism
from geometry.placement import owner_state

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalog.enclosure import Cut, Enclosure, Obstacle


class CutOff(NamedTuple):
    """Material that is gone from an obstacle: at the end that `end` points to, or all of it.

    An enclosure keeps what is left and by how much it was cut, so what went is what ends at the
    cut carried on over `off_mm`: exact for a straight bar. Of an obstacle that was cut out (`end`
    None) all that was left before is in the prisms.
    """

    obstacle: str
    name: str
    end: Way | None
    off_mm: float
    prisms: tuple[Prism, ...]


def cut_off(enclosure: Enclosure, states: Mapping[str, str]) -> tuple[CutOff, ...]:
    """Return what has been cut off, where obstacles stand now; nothing of one taken out."""
    return tuple(
        one
        for obstacle in enclosure.obstacles
        if obstacle.cuts
        for one in _of_obstacle(enclosure, obstacle, states)
    )


def _of_obstacle(
    enclosure: Enclosure, obstacle: Obstacle, states: Mapping[str, str]
) -> Iterator[CutOff]:
    gone = any(cut.end is None for cut in obstacle.cuts)
    holder = obstacle.owner if gone else obstacle.id
    present, shift = owner_state(enclosure, holder, states)
    if not present:
        return
    left = tuple(shifted(shape_prism(shape), shift) for shape in obstacle.shapes)
    if gone:
        yield CutOff(obstacle.id, obstacle.name, None, 0.0, left)
        return
    for cut in obstacle.cuts:
        yield _trimmed(obstacle, cut, left)


def _trimmed(obstacle: Obstacle, cut: Cut, left: tuple[Prism, ...]) -> CutOff:
    assert cut.end is not None
    end = way(cut.end)
    reach = [one.bounds[end.axis + 3 * (end.sign > 0)] for one in left]
    level = max(reach) if end.sign > 0 else min(reach)
    prisms = tuple(
        piece
        for one, far in zip(left, reach, strict=True)
        if abs(far - level) <= LENGTH_EPS_MM
        for piece in _carried_on(one, end, level, cut.off_mm)
    )
    return CutOff(obstacle.id, obstacle.name, end, cut.off_mm, prisms)


def _carried_on(one: Prism, end: Way, level: float, by_mm: float) -> Iterator[Prism]:
    """Yield the section of a prism at one of its ends, carried on from there."""
    low, high = sorted((level, level + end.sign * by_mm))
    for section in _sections(one, end.axis, level):
        yield Prism(end.axis, section, low, high)


def _sections(one: Prism, axis: int, level: float) -> Iterator[Outline]:
    """Yield the faces that a prism has at a level of an axis, in the plane across that axis."""
    if one.is_box:
        one = turned(one, axis)
    if one.axis == axis:
        yield one.outline
    elif isinstance(one.outline, Poly):
        along = PLANE[one.axis].index(axis)
        across = PLANE[one.axis][1 - along]
        shell = one.outline.shell
        for a, b in pairwise((*shell, shell[0])):
            if max(abs(point[along] - level) for point in (a, b)) <= LENGTH_EPS_MM:
                low, high = sorted((a[1 - along], b[1 - along]))
                ends = {across: (low, high), one.axis: (one.lo, one.hi)}
                (a0, a1), (b0, b1) = (ends[k] for k in PLANE[axis])
                yield Rect(a0, b0, a1, b1)
