"""Cutting: edits that take material off an obstacle of the enclosure, for good.

The layout's own copy of the enclosure is changed, and marked: in its name, and at each obstacle
with what was cut off. What may carry mains or a load is never cut, and that is common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from catalog.enclosure import Cut, Enclosure, Obstacle, ObstacleState
from catalog.model import Direction, FrozenMap
from catalog.paths import too_loose
from catalog.shapes import Box, Cylinder, Extrusion, Shape, Stadium, shape_bounds
from geometry.edits.base import EditError, tidy
from geometry.layout import Layout
from geometry.measures.pose import way
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.zone_names import zone_names

CUT_CAUTION = (
    "Cutting is irreversible and leaves sharp edges: measure twice, take the boards out first so "
    "that no chips fall on them, deburr, and never cut what carries mains or a load."
)

CUT_MARK = " (cut)"
"""Ends the name of an enclosure that has been cut."""

CUT_NOTE = " (cuts the enclosure)"
"""Ends the name of a change that cuts it."""

END_WORDS: Mapping[Direction, str] = {
    "-x": "rear end",
    "+x": "front end",
    "-y": "access side",
    "+y": "far side",
    "-z": "lower end",
    "+z": "upper end",
}

_LIVE = ("board", "card", "supply", "drive", "cable")
_BEARING = ("tray", "cage", "bracket", "frame")


def why_not_cut(enclosure: Enclosure, obstacle: Obstacle) -> str:
    """Say why an obstacle must not be cut; empty when it may be."""
    if any(cut.end is None for cut in obstacle.cuts):
        return f"{obstacle.name} is cut out already"
    if obstacle.kind in _LIVE or obstacle.plugs:
        return f"{obstacle.name} may carry mains or live parts"
    if obstacle.kind in _BEARING:
        return f"{obstacle.name} carries a load"
    names = zone_names(enclosure)
    carried = [names[zone.id] for zone in enclosure.zones if zone.owner == obstacle.id]
    carried += [one.name for one in enclosure.obstacles if one.owner == obstacle.id]
    return f"{obstacle.name} carries {', '.join(carried)}" if carried else ""


def trim_obstacle(layout: Layout, obstacle_id: str, end: Direction, off_mm: float) -> Layout:
    """Return the layout with `off_mm` cut off one end of an obstacle, straight across.

    Raises EditError when it must not be cut, when nothing would be left, or when the cut would
    run along the round side of a bar.
    """
    obstacle = _need_obstacle(layout, obstacle_id)
    if off_mm <= 0.0:
        raise EditError(f"{off_mm:g} mm cannot be cut off; give more than 0")
    axis, sign = way(end).axis, way(end).sign
    ends = [shape_bounds(shape)[sign > 0][axis] for shape in obstacle.shapes]
    level = tidy((max(ends) if sign > 0 else min(ends)) - sign * off_mm)
    left = [(k, s) for k, shape in enumerate(obstacle.shapes) for s in _trimmed(shape, end, level)]
    if not left:
        raise EditError(f"nothing of {obstacle.name} would be left; cut it out instead")
    earlier = {cut.end: cut.off_mm for cut in obstacle.cuts}
    cuts = {**earlier, end: tidy(earlier.get(end, 0.0) + off_mm)}
    changed = obstacle.but(
        shapes=tuple(shape for _, shape in left),
        cuts=tuple(Cut(end=one, off_mm=mm) for one, mm in cuts.items()),
    )
    return _with_cut(layout, changed, [k for k, _ in left])


def cut_out_obstacle(layout: Layout, obstacle_id: str) -> Layout:
    """Return the layout with an obstacle cut out of the enclosure, for good.

    Its shapes stay in the file, in the only state that is left to it: out. Raises EditError when
    it must not be cut.
    """
    obstacle = _need_obstacle(layout, obstacle_id)
    gone = ObstacleState(id="cut-out", name="cut out", out=True)
    changed = obstacle.but(states=(gone,), cuts=(*obstacle.cuts, Cut(end=None, off_mm=0.0)))
    states = {one: state for one, state in layout.states.items() if one != obstacle_id}
    cut = _with_cut(layout, changed, range(len(obstacle.shapes)))
    return cut.but(states=FrozenMap(states))


def cut_lines(enclosure: Enclosure) -> tuple[str, ...]:
    """Say what has been cut: "cable duct: 4.0 mm cut off its rear end", one line a cut."""
    return tuple(
        f"{obstacle.name}: cut out"
        if cut.end is None
        else f"{obstacle.name}: {cut.off_mm:.1f} mm cut off its {END_WORDS[cut.end]}"
        for obstacle in enclosure.obstacles
        for cut in obstacle.cuts
    )


def _need_obstacle(layout: Layout, obstacle_id: str) -> Obstacle:
    for obstacle in layout.enclosure.obstacles:
        if obstacle.id == obstacle_id:
            why = why_not_cut(layout.enclosure, obstacle)
            if why:
                raise EditError(f"{why}; it must not be cut")
            return obstacle
    raise EditError(f"{layout.enclosure.name} has no obstacle {obstacle_id}")


def _with_cut(layout: Layout, obstacle: Obstacle, kept: Sequence[int]) -> Layout:
    """Return the layout with an obstacle replaced, its enclosure marked as cut.

    `kept` numbers the old shape of each of its shapes; given dimensions go with them.
    """
    old = layout.enclosure
    index = next(k for k, one in enumerate(old.obstacles) if one.id == obstacle.id)
    name = old.name if old.name.endswith(CUT_MARK) else old.name[: 80 - len(CUT_MARK)] + CUT_MARK
    obstacles = (*old.obstacles[:index], obstacle, *old.obstacles[index + 1 :])
    head = f"obstacles[{index}].shapes["
    given = {
        path: dimension for path, dimension in old.dimensions.items() if not path.startswith(head)
    }
    # What a cut leaves of a polygon has other points, so their given dimensions end with it.
    for new, was in enumerate(kept):
        if obstacle.shapes[new] == old.obstacles[index].shapes[was] or not isinstance(
            obstacle.shapes[new], Extrusion
        ):
            given.update(
                (f"{head}{new}]{path.removeprefix(f'{head}{was}]')}", dimension)
                for path, dimension in old.dimensions.items()
                if path.startswith(f"{head}{was}]")
            )
    changed = old.but(name=name, obstacles=obstacles)
    # Nor does a tolerance hold of a size that is now no more than it.
    for path in tuple(too_loose(changed, given)):
        del given[path]
    return layout.but(enclosure=changed.but(dimensions=FrozenMap(given)))


def _trimmed(shape: Shape, end: Direction, level_mm: float) -> Iterator[Shape]:
    """Yield what is left of a shape when all beyond a level is cut off at one end."""
    axis, sign = way(end).axis, way(end).sign
    corners = shape_bounds(shape)
    least, most = corners[0][axis], corners[1][axis]
    low, high = (least, min(most, level_mm)) if sign > 0 else (max(least, level_mm), most)
    if high - low <= LENGTH_EPS_MM:
        return
    if (low, high) == (least, most):
        yield shape
    elif isinstance(shape, Box):
        at, size = list(shape.at_mm), list(shape.size_mm)
        at[axis], size[axis] = low, tidy(high - low)
        yield shape.but(at_mm=tuple(at), size_mm=tuple(size))
    elif isinstance(shape, Extrusion):
        if "xyz".index(shape.axis) == axis:
            yield shape.but(from_mm=low, to_mm=high)
        else:
            yield from _clipped(shape, axis, low, high)
    elif "xyz".index(shape.axis) == axis:
        yield _shortened(shape, axis, low, high)
    else:
        raise EditError(f"a round bar along {shape.axis} cannot be trimmed at its {end} side")


def _shortened(bar: Cylinder | Stadium, axis: int, low: float, high: float) -> Shape:
    at = list(bar.at_mm)
    at[axis] = low
    return bar.but(at_mm=tuple(at), length_mm=tidy(high - low))


def _clipped(shape: Extrusion, axis: int, low: float, high: float) -> Iterator[Extrusion]:
    """Yield what of an extrusion's outline lies between two levels of an axis across it."""
    import shapely

    across = [k for k in range(3) if k != "xyz".index(shape.axis)]
    corners = shape_bounds(shape)
    least = [corners[0][k] for k in across]
    most = [corners[1][k] for k in across]
    least[across.index(axis)], most[across.index(axis)] = low, high
    whole = shapely.Polygon(shape.outline_mm, shape.holes_mm)
    for part in shapely.get_parts(whole & shapely.box(*least, *most)):
        if part.geom_type == "Polygon" and part.area > LENGTH_EPS_MM:
            rings = [_ring(ring) for ring in (part.exterior, *part.interiors)]
            yield shape.but(outline_mm=rings[0], holes_mm=tuple(rings[1:]))


def _ring(ring: object) -> tuple[tuple[float, float], ...]:
    import shapely

    points = shapely.get_coordinates(ring)[:-1].tolist()
    return tuple((tidy(x), tidy(y)) for x, y in points)
