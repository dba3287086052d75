"""The words of findings: millimetres, directions, names.

Every length in a sentence has its unit right after its number, "120 mm x 120 mm" and "200 mm ±
0.5 mm" (NIST SP 811, 7.7): who reads in inches has each of them turned, and none left bare.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, floor

from catalog.parts import tanks_text
from geometry.depths import LimitedBeside
from geometry.finding import LayerSpan, StackDepth
from geometry.measures.overlap import Shift
from geometry.measures.pose import AXES, Way
from geometry.measures.solid import Role, Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.pairs import PairGap
from geometry.placement import ZoneFrame
from geometry.scene import Scene

_WAYS = {
    "+x": "to the front",
    "-x": "to the rear",
    "+y": "away from the access side",
    "-y": "towards the access side",
    "+z": "up",
    "-z": "down",
}

_FROM = {
    "+x": "from the rear",
    "-x": "from the front",
    "+y": "from the access side",
    "-y": "from the far side",
    "+z": "from below",
    "-z": "from above",
}


def mm_text(mm: float, unlike_mm: float | None = None) -> str:
    """Write a length with one decimal, or with as many more as it takes to see it at all.

    It takes more too to tell it from a length that it only comes near, `unlike_mm`.
    """
    for decimals in (1, 2, 3):
        text = f"{mm:.{decimals}f} mm"
        near = unlike_mm is not None and text == f"{unlike_mm:.{decimals}f} mm" and mm != unlike_mm
        if not near and (abs(mm) >= 0.5 * 10.0**-decimals or mm == 0.0):
            return text
    return f"{mm:.6f} mm"


def at_most_text(mm: float) -> str:
    """Write a length that is not to be passed: rounded down, to a tenth if that leaves any of it.

    >>> at_most_text(2.68), at_most_text(0.068)
    ('2.6 mm', '0.06 mm')
    """
    for decimals in (1, 2, 3):
        told = floor(mm * 10.0**decimals + LENGTH_EPS_MM) / 10.0**decimals
        if told or decimals == 3:
            break
    return f"{told:.{decimals}f} mm"


def at_least_text(mm: float) -> str:
    """Write a length that is to be reached: rounded up to a tenth.

    >>> at_least_text(0.44), at_least_text(0.4)
    ('0.5 mm', '0.4 mm')
    """
    return f"{ceil(mm * 10.0 - LENGTH_EPS_MM) / 10.0:.1f} mm"


def given_mm_text(mm: float) -> str:
    """Write a length as a file gives it, without a digit more: "120 mm", "0.5 mm"."""
    return f"{mm:g} mm"


def way_text(way: Way) -> str:
    """Say a direction in the enclosure's own words."""
    return _WAYS[way.name]


def cells_text(frame: ZoneFrame) -> str:
    """Say which cell of a zone is which: "cells from below: 1, 2"; empty where there is but one.

    Cells that stand in no row are told by the places of their middles (mm from the datum).
    """
    cells = frame.zone.cells
    if len(cells) == 1:
        return ""
    for axis, across in ((0, 1), (1, 0)):
        at = [(cell.u_mm, cell.v_mm) for cell in cells]
        if max(p[across] for p in at) - min(p[across] for p in at) <= LENGTH_EPS_MM:
            along = (frame.pose.x, frame.pose.y)[axis]
            row = sorted(zip((p[axis] for p in at), (c.id for c in cells), strict=True))
            return f"cells {_FROM[along.name]}: {', '.join(one for _, one in row)}"
    told = []
    for cell in cells:
        place = frame.pose.point((cell.u_mm, cell.v_mm, 0.0))
        axes = sorted((frame.pose.x.axis, frame.pose.y.axis))
        told.append(f"{cell.id} at {', '.join(f'{AXES[k]} {place[k]:g}' for k in axes)}")
    return f"middles of cells: {'; '.join(told)}"


def move_text(shift: Shift) -> str:
    """Say a move: "4.0 mm to the rear"."""
    return f"{mm_text(shift.mm)} {way_text(shift.way)}"


def move_on_text(shift: Shift, extra_mm: float = 0.0) -> str:
    """Say a move that parts two solids and keeps so much more, rounded up to do so."""
    return f"{at_least_text(shift.mm + extra_mm)} {way_text(shift.way)}"


def away_text(gap: PairGap, by_mm: float) -> str:
    """Say how far and which way the first of two solids goes from the other: "1.5 mm to the rear".

    Where their nearest faces do not look at each other a move that way gains less than `by_mm`,
    and where their bounds overlap no way can be named: it goes "farther away" then.
    """
    way, apart_mm = _away(gap)
    by = f"{at_least_text(by_mm)} "
    if apart_mm < 0.0:
        return f"{by}farther away"
    if abs(apart_mm - gap.gap_mm) <= LENGTH_EPS_MM:
        return f"{by}{way_text(way)}"
    return f"{by}farther away ({way_text(way)})"


def away_way(gap: PairGap) -> Way | None:
    """Return the way that `away_text` names; None where it names none."""
    way, apart_mm = _away(gap)
    return None if apart_mm < 0.0 else way


def _away(gap: PairGap) -> tuple[Way, float]:
    """Return the way along which the bounds of two solids are farthest apart, and how far (mm)."""
    least, most = gap.a.bounds, gap.b.bounds
    sides = [(least[k] - most[k + 3], Way(k, 1)) for k in range(3)]
    sides += [(most[k] - least[k + 3], Way(k, -1)) for k in range(3)]
    apart_mm, way = max(sides, key=lambda side: side[0])
    return way, apart_mm


def called(scene: Scene, owner: str) -> str:
    """Name an owner of solids, with its id where it is a placed part."""
    name = scene.name_of(owner)
    return f"{name} ({owner})" if owner in scene.placed else name


def called_of(scene: Scene, what: str, owner: str) -> str:
    """Name something of an owner of solids: "port end of ... (E1)", its owner named once."""
    return what if scene.name_of(owner) in what else f"{what} of {called(scene, owner)}"


def called_solid(scene: Scene, solid: Solid) -> str:
    """Name what stands near: an owner of solids, or the room kept for its plug or its cables."""
    if solid.role is Role.KEEP_OUT:
        return called_of(scene, solid.name, solid.owner)
    return called(scene, solid.owner)


def overlap_text(gap_mm: float, required_mm: float, which_way: str = "") -> str:
    """Say how far two solids overlap, and which way; and how much is missing to the margin.

    >>> overlap_text(-6.0, 2.0)
    'overlaps 6.0 mm, 8.0 mm missing to the 2.0 mm margin'
    """
    overlap = f"overlaps {mm_text(-gap_mm)}{which_way}"
    return f"{overlap}, {missing_text(gap_mm, required_mm)}" if required_mm else overlap


def missing_text(gap_mm: float, required_mm: float) -> str:
    """Say how much of a margin is missing.

    >>> missing_text(0.5, 2.0), missing_text(0.04, 2.0)
    ('1.5 mm missing to the 2.0 mm margin', '1.96 mm missing to the 2.0 mm margin')
    """
    missing = mm_text(required_mm - gap_mm, required_mm if gap_mm > LENGTH_EPS_MM else None)
    return f"{missing} missing to the {mm_text(required_mm)} margin"


def beside_text(beside: LimitedBeside, say: Callable[[float], str] = mm_text) -> str:
    """Say over what a stack leaves its depth where the tallest thing stands beside that.

    `say` writes a length with its unit.

    >>> beside_text(LimitedBeside("Fan 120 x 25", 55.0, 35.0, "Fitting", 79.0))
    'left 35.0 mm over Fan 120 x 25 at 55.0 mm; the tallest, Fitting at 79.0 mm, stands beside it'
    """
    mm = beside.left_mm
    left = f"left {say(mm)}" if mm >= 0 else f"{say(-mm)} of depth missing"
    return (
        f"{left} over {beside.over} at {say(beside.reach_mm)}; "
        f"the tallest, {beside.tallest} at {say(beside.tallest_mm)}, stands beside it"
    )


def layer_text(scene: Scene, depth: StackDepth, span: LayerSpan) -> str:
    """Name a layer of a side of a stack, with core and tanks (mm) of exchangers whose tanks stand
    out: "Exchanger 2 x 120, 20 mm (20 core, 27 at the tanks)".
    """
    layout = scene.layout
    layer = next(one for one in layout.stack(depth.stack).side(depth.side) if one.id == span.layer)
    told = dict.fromkeys(tanks_text(layout.part(item.part)) for item in layer.items)
    tanks = "; ".join(filter(None, told))
    return f"{span.name} ({tanks})" if tanks else span.name


def slide_text(frame: ZoneFrame, by_mm: tuple[float, float]) -> str:
    """Say a slide of a stack in the enclosure's axes: "8.0 mm down (along -z)".

    `by_mm` is the slide along u and v of the zone.
    """
    told = [
        f"{move_text(Shift(way, abs(mm)))} (along {way.name})"
        for along, mm in zip((frame.pose.x, frame.pose.y), by_mm, strict=True)
        if abs(mm) > LENGTH_EPS_MM
        for way in [along if mm > 0 else -along]
    ]
    return " and ".join(told) or mm_text(0.0)


def as_drawn(scene: Scene) -> str:
    """Return what follows a figure of the drawn layout where the worst case is judged.

    Tolerances may then ask for more than the figure.
    """
    return "" if scene.layout.settings.judge == "nominal" else " as drawn"


def at_least(scene: Scene) -> str:
    """Return what precedes a move by a figure of the drawn layout where the worst case is judged.

    Tolerances may then ask for a longer one.
    """
    return "" if scene.layout.settings.judge == "nominal" else "at least "


def may_go(scene: Scene, owner: str) -> str:
    """Say how an obstacle could be got out of the way; empty when it cannot be."""
    for obstacle in scene.layout.enclosure.obstacles:
        if obstacle.id == owner:
            if any(state.out for state in obstacle.states):
                return f", or take out {obstacle.name}"
            if len(obstacle.states) > 1:
                return f", or move {obstacle.name} to another of its places"
    return ""
