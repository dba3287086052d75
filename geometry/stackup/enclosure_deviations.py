"""What may be off in an enclosure: obstacles, their plugs and states, feet, walls.

The points of a polygon and its holes that share a coordinate are one dimension: a drawing gives it
once. So its tolerance may be stated at any of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from operator import itemgetter

from catalog.enclosure import Enclosure, Obstacle, Opening
from catalog.iso2768 import KnownDimension, dimension_of
from catalog.model import FrozenMap
from catalog.numbers import number_paths, with_number
from catalog.paths import length_at
from catalog.shapes import Box, Extrusion, Plug, Shape
from geometry.measures.pose import AXES, Vec, way
from geometry.measures.prism import Bounds, Prism, box, shifted
from geometry.measures.solid import Solid
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.part_solids import plug_room, shape_prism
from geometry.placement import obstacle_state, owner_state
from geometry.scene import Scene
from geometry.stackup.deviation import (
    Deviation,
    Move,
    Prisms,
    Touches,
    along,
    carrying,
    is_one_of,
    moving,
    toleranced,
)
from geometry.stackup.pair_gaps import ALL_AXES, Axes
from geometry.walls import OUTSIDE, SIDES, WALL_NAMES, Walls, build_walls


def of_outside(enclosure: Enclosure, owner: str) -> Iterator[Deviation]:
    """Yield what may be off in a thing outside the enclosure."""
    for index, outside in enumerate(enclosure.outside):
        if outside.id == owner:
            yield from _of_shapes(enclosure, owner, f"outside[{index}]", outside.shapes)


def of_obstacle(scene: Scene, owner: str) -> Iterator[Deviation]:
    """Yield what may be off in an obstacle and its plugs, but for the states of its owners."""
    enclosure = scene.layout.enclosure
    for index, obstacle in enumerate(enclosure.obstacles):
        if obstacle.id == owner:
            _, at = owner_state(enclosure, owner, scene.layout.states)
            where = f"obstacles[{index}]"
            yield from _of_shapes(enclosure, owner, where, obstacle.shapes, at)
            yield from _of_plugs(enclosure, obstacle, where, at)


def of_state(scene: Scene, obstacle: Obstacle) -> Iterator[Deviation]:
    """Yield how far an obstacle may be off the place to which its state has moved it."""
    enclosure = scene.layout.enclosure
    state = obstacle_state(obstacle, scene.layout.states)
    at = f"obstacles[{enclosure.obstacles.index(obstacle)}]"
    goes_along = _carried_by(enclosure, obstacle.id)

    def touches(solid: Solid) -> bool:
        stacked = solid.stack is not None and solid.held_on in goes_along
        return solid.owner in goes_along or stacked

    for axis in (0, 1, 2):
        carry, axes = carrying(axis, touches), frozenset((axis,))
        path = f"{at}.states[{obstacle.states.index(state)}].shift_mm[{axis}]"
        yield from toleranced(enclosure, obstacle.id, path, moving(carry), axes, touches, carry)


def _carried_by(enclosure: Enclosure, owner: str) -> frozenset[str]:
    """Return all obstacles that go where one goes, itself among them."""
    goes_along = {owner}
    while more := {o.id for o in enclosure.obstacles if o.owner in goes_along} - goes_along:
        goes_along |= more
    return frozenset(goes_along)


def _of_shapes(
    enclosure: Enclosure,
    owner: str,
    where: str,
    shapes: Sequence[Shape],
    at: Vec = (0.0, 0.0, 0.0),
) -> Iterator[Deviation]:
    for index, shape in enumerate(shapes):
        for paths in _dimensions_of(shape):

            def move(
                solid: Solid, off_mm: float, index: int = index, paths: list[str] = paths
            ) -> Prisms | None:
                if solid.id != owner:
                    return None
                prism = shifted(shape_prism(_off(shapes[index], paths, off_mm)), at)
                return (*solid.prisms[:index], prism, *solid.prisms[index + 1 :])

            axes = _axes_of(shape, paths[0])
            full = [f"{where}.shapes[{index}].{path}" for path in paths]
            yield from _of_points(enclosure, owner, full, move, axes, is_one_of(owner))


def _axes_of(shape: Shape, path: str) -> Axes:
    """Return the axes along which faces of a shape move with one of its numbers."""
    if isinstance(shape, Box) or path.startswith("at_mm"):
        return frozenset((int(path[-2]),))
    out = frozenset(("xyz".index(shape.axis),))
    if path in ("length_mm", "from_mm", "to_mm"):
        return out
    return ALL_AXES - out


def _dimensions_of(shape: Shape) -> Iterator[list[str]]:
    """Yield the numbers of a shape, those together that are one dimension."""
    if not isinstance(shape, Extrusion):
        yield from ([path] for path in number_paths(shape))
        return
    together: dict[tuple[str, float], list[str]] = {}
    for path in number_paths(shape):
        number = length_at(shape, path)
        which = path[-3:] if path.startswith(("outline_mm", "holes_mm")) else path
        together.setdefault((which, number), []).append(path)
    yield from together.values()


def _of_points(
    enclosure: Enclosure,
    owner: str,
    paths: Sequence[str],
    move: Move,
    axes: Axes,
    touches: Touches,
) -> Iterator[Deviation]:
    """Yield what numbers that are one dimension may be off, where they have a tolerance."""
    path, known = _tolerance_of(enclosure, paths)
    if known.minus_mm or known.plus_mm:
        yield Deviation(owner, path, known, move, axes, touches)


def _tolerance_of(enclosure: Enclosure, paths: Sequence[str]) -> tuple[str, KnownDimension]:
    """Return the tolerance of numbers that are one dimension, and where the widest stands.

    Of several that are stated the widest limits hold; the general one only where none is stated.
    """
    stated = {path: enclosure.dimensions[path] for path in paths if path in enclosure.dimensions}
    if not stated:
        return paths[0], dimension_of(enclosure, paths[0])
    minus_mm = {path: one.minus_mm for path, one in stated.items() if one.minus_mm is not None}
    plus_mm = {path: one.plus_mm for path, one in stated.items() if one.plus_mm is not None}
    path = max(stated, key=lambda path: minus_mm.get(path, 0.0) + plus_mm.get(path, 0.0))
    widest = stated[path].but(
        minus_mm=max(minus_mm.values(), default=None), plus_mm=max(plus_mm.values(), default=None)
    )
    return path, dimension_of(enclosure.but(dimensions=FrozenMap({path: widest})), path)


def _off(shape: Shape, paths: Sequence[str], off_mm: float) -> Shape:
    for path in paths:
        shape = with_number(shape, path, length_at(shape, path) + off_mm)
    return shape


def _of_plugs(enclosure: Enclosure, obstacle: Obstacle, where: str, at: Vec) -> Iterator[Deviation]:
    for index, plug in enumerate(obstacle.plugs):
        room = is_one_of(f"{obstacle.id}/plug:{plug.id}")
        for path in number_paths(plug):

            def move(
                solid: Solid, off_mm: float, index: int = index, path: str = path
            ) -> Prisms | None:
                plug = obstacle.plugs[index]
                if solid.id != f"{obstacle.id}/plug:{plug.id}":
                    return None
                room = plug_room(with_number(plug, path, length_at(plug, path) + off_mm))
                return None if room is None else (shifted(room, at),)

            full = f"{where}.plugs[{index}].{path}"
            yield from toleranced(enclosure, obstacle.id, full, move, _plug_axes(plug, path), room)


def _plug_axes(plug: Plug, path: str) -> Axes:
    out = frozenset((way(plug.facing).axis,))
    if path.startswith("at_mm"):
        return frozenset((int(path[-2]),))
    return out if path in ("plug_mm", "bend_mm") else ALL_AXES - out


def of_walls(enclosure: Enclosure) -> Iterator[Deviation]:
    """Yield what may be off in the cavity, which moves the inner faces of the walls.

    And in the outer shape, by `OUTSIDE`, which moves their outer faces and what lies beyond.
    """
    for field, owner in (("cavity", "enclosure"), ("outer", OUTSIDE)):
        for index, shape in enumerate(getattr(enclosure, field)):
            for paths in _dimensions_of(shape):
                full = [f"{field}[{index}].{path}" for path in paths]
                axes, beyond = _axes_of(shape, paths[0]), field == "outer"
                if not isinstance(shape, Box) or not _is_of_boxes(enclosure):
                    move = _walls_moved(enclosure, *full)
                elif beyond:
                    move = _outer_faces_moved(enclosure, shape_prism(shape).bounds, full[0])
                else:
                    move = _faces_moved(shape_prism(shape).bounds, paths[0])
                touches = _is_wall_or_beyond if beyond else _is_wall
                yield from _of_points(enclosure, owner, full, move, axes, touches)


def of_opening(
    enclosure: Enclosure, index: int
) -> Iterator[tuple[Deviation, Callable[[float], Prism]]]:
    """Yield what may be off in an opening, each with the cut that it then is.

    How deep it is cut does not count: it goes through its wall.
    """
    opening = enclosure.openings[index]
    axis = next((k for k, low, high in SIDES if opening.wall in (low, high)), None)
    for paths in _dimensions_of(opening.shape):
        axes = _axes_of(opening.shape, paths[0])
        if axis is not None:
            axes = axes - {axis}

        def cut(off_mm: float, paths: Sequence[str] = paths) -> Prism:
            return shape_prism(_off(opening.shape, paths, off_mm))

        if axes:
            full = tuple(f"openings[{index}].shape.{path}" for path in paths)
            move = _walls_moved(enclosure, *full)
            for one in _of_points(enclosure, opening.id, full, move, axes, _is_wall):
                yield one, cut


def _is_wall_or_beyond(solid: Solid) -> bool:
    return solid.owner == OUTSIDE or solid.owner in WALL_NAMES


def _is_wall(solid: Solid) -> bool:
    return solid.owner in WALL_NAMES


def _is_of_boxes(enclosure: Enclosure) -> bool:
    """Whether the cavity is one box, or all pieces of the walls are boxes but for openings."""
    shapes = (*enclosure.cavity, *enclosure.outer)
    return len(enclosure.cavity) == 1 or all(isinstance(shape, Box) for shape in shapes)


def _faces_moved(room: Bounds, path: str) -> Move:
    """Return the move of one box of a cavity: pieces of wall go with the faces it has with them.

    Walls that are built anew tell it one way alone: what comes in beside a longer box is a step
    then, and no piece that was drawn. A face of two boxes goes with either.
    """
    axis = int(path[-2])
    both = not path.startswith("size_mm")

    def move(solid: Solid, off_mm: float) -> Prisms | None:
        return tuple(_with_face(p, room, axis, off_mm, both=both) for p in solid.prisms)

    return move


def _outer_faces_moved(enclosure: Enclosure, box_of: Bounds, path: str) -> Move:
    """Return the move of one box of the outer shape: pieces of wall that end at its faces go along.

    What lies beyond is built anew.
    """
    axis, beyond = int(path[-2]), _walls_moved(enclosure, path)
    sides = (axis + 3,) if "size_mm" in path else (axis, axis + 3)

    def moved(piece: Prism, off_mm: float) -> Prism:
        ends = list(piece.bounds)
        for k in sides:
            if abs(ends[k] - box_of[k]) <= LENGTH_EPS_MM:
                ends[k] += off_mm
        if tuple(ends) == piece.bounds or ends[axis + 3] - ends[axis] <= LENGTH_EPS_MM:
            return piece
        if piece.is_box:
            return box(ends[:3], ends[3:])
        if piece.axis != axis:
            return piece
        return Prism(axis, piece.outline, ends[axis], ends[axis + 3])

    def move(solid: Solid, off_mm: float) -> Prisms | None:
        if solid.owner == OUTSIDE:
            return beyond(solid, off_mm)
        return tuple(moved(piece, off_mm) for piece in solid.prisms)

    return move


def _with_face(piece: Prism, room: Bounds, axis: int, off_mm: float, *, both: bool) -> Prism:
    """Return a piece of wall when the greatest face of a box of the cavity, or both, are off."""
    own = piece.bounds
    if not all(own[k] < room[k + 3] and room[k] < own[k + 3] for k in (0, 1, 2) if k != axis):
        return piece
    ends = [own[axis], own[axis + 3]]
    if abs(ends[0] - room[axis + 3]) <= LENGTH_EPS_MM:
        ends[0] += off_mm
    elif both and abs(ends[1] - room[axis]) <= LENGTH_EPS_MM:
        ends[1] += off_mm
    else:
        return piece
    if ends[1] - ends[0] <= LENGTH_EPS_MM or not (piece.is_box or piece.axis == axis):
        return shifted(piece, along(axis, off_mm))
    if not piece.is_box:
        return Prism(axis, piece.outline, *ends)
    low, high = list(own[:3]), list(own[3:])
    low[axis], high[axis] = ends
    return box(low, high)


def _walls_moved(enclosure: Enclosure, *paths: str) -> Move:
    known: dict[float, Walls] = {}

    def move(solid: Solid, off_mm: float) -> Prisms | None:
        if off_mm not in known:
            known[off_mm] = _walls_off(enclosure, paths, off_mm)
        walls = known[off_mm]
        # A wall thinner than the deviation is gone; what lies beyond begins at the same face.
        after = next(
            (other.prisms for other in walls.solids if other.owner == solid.owner),
            walls.beyond.prisms,
        )
        return tuple(_become(prism, after, abs(off_mm)) for prism in solid.prisms)

    return move


def _become(piece: Prism, after: Prisms, off_mm: float) -> Prism:
    """Return what becomes of a piece of a wall that falls into pieces anew.

    Its faces are where a piece in the same place has them now. What jumps farther than the
    dimension is off is no face but a seam between pieces, which stays.
    """
    if piece in after:
        return piece
    reaches = [other for other in after if _meet(piece.bounds, other.bounds)]
    shared = [(_shared_mm3(piece.bounds, other.bounds), other) for other in reaches]
    near = [other for mm3, other in sorted(shared, key=itemgetter(0), reverse=True) if mm3 > 0.0]
    if not (piece.is_box and all(other.is_box for other in near)):
        return next((other for other in near if _within(piece.bounds, other.bounds, off_mm)), piece)
    ends = [
        next((p.bounds[k] for p in near if abs(p.bounds[k] - mm) <= off_mm + LENGTH_EPS_MM), mm)
        for k, mm in enumerate(piece.bounds)
    ]
    return box(ends[:3], ends[3:])


def _within(a: Bounds, b: Bounds, mm: float) -> bool:
    return all(abs(p - q) <= mm + LENGTH_EPS_MM for p, q in zip(a, b, strict=True))


def _meet(a: Bounds, b: Bounds) -> bool:
    """Whether two blocks share room; most of hundreds do not, which is told at the first axis."""
    return (
        a[2] < b[5] and b[2] < a[5] and a[1] < b[4] and b[1] < a[4] and a[0] < b[3] and b[0] < a[3]
    )


def _shared_mm3(a: Bounds, b: Bounds) -> float:
    x, y, z = (max(0.0, min(a[k + 3], b[k + 3]) - max(a[k], b[k])) for k in (0, 1, 2))
    return x * y * z


@lru_cache(maxsize=128)
def _walls_off(enclosure: Enclosure, paths: tuple[str, ...], off_mm: float) -> Walls:
    """Return the walls with one number off; kept, since round openings in a slanted wall are dear.

    Every check of a layout asks for the same few again.
    """
    number = dimension_of(enclosure, paths[0]).nominal_mm + off_mm
    for path in paths:
        enclosure = with_number(enclosure, path, number)
    openings = tuple(_cut_through(one, abs(off_mm)) for one in enclosure.openings)
    return build_walls(enclosure.but(openings=openings))


def _cut_through(opening: Opening, off_mm: float) -> Opening:
    """Return an opening that goes through its wall where the wall's faces are off by so much."""
    axis = next((k for k, low, high in SIDES if opening.wall in (low, high)), None)
    shape = opening.shape
    if axis is None or not (isinstance(shape, Box) or shape.axis == AXES[axis]):
        return opening
    if isinstance(shape, Extrusion):
        deeper: Shape = shape.but(from_mm=shape.from_mm - off_mm, to_mm=shape.to_mm + off_mm)
    else:
        at = [mm - off_mm * (k == axis) for k, mm in enumerate(shape.at_mm)]
        deeper = shape.but(at_mm=(at[0], at[1], at[2]))
        if isinstance(deeper, Box):
            size = [mm + 2 * off_mm * (k == axis) for k, mm in enumerate(deeper.size_mm)]
            deeper = deeper.but(size_mm=(size[0], size[1], size[2]))
        else:
            deeper = deeper.but(length_mm=deeper.length_mm + 2 * off_mm)
    return opening.but(shape=deeper)
