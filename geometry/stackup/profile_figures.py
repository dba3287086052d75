"""The stack-ups of the depth over a zone: of each stretch of its profile, and of the least depth.

A stretch is told to the solid that limits it as drawn; where it begins and ends is as drawn too.
The least depth is that over the whole footprint: what stands a little farther may limit it in the
worst case, and so may what stands beside the footprint and comes in, as for a stack
(`geometry.stackup.depth_figures`). The footprint is off with its zone, and what will be screwed to
it sits in the play of its screws. So a stack's leftover depth is this depth less the stack and what
that is off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from math import inf, isfinite

from catalog.numbers import number_paths, with_number
from catalog.paths import length_at
from geometry.depths import Depths
from geometry.item_travel import column_of, in_column
from geometry.measures.envelope import DepthPiece
from geometry.measures.prism import Prism
from geometry.measures.solid import Role, Solid
from geometry.scene import Scene
from geometry.stackup.depth_figures import with_coming_in
from geometry.stackup.deviation import (
    Deviation,
    Prisms,
    along,
    belongs_to,
    carried,
    is_one_of,
    screw_play,
    toleranced,
)
from geometry.stackup.faces import faces
from geometry.stackup.figures import Tolerances
from geometry.stackup.pair_gaps import ALL_AXES, travel_along
from geometry.stackup.stack_ups import Figure
from geometry.zone_profile import ZoneProfile, footprint_mm

PLATE = "~plate"
"""Owner of the footprint, an id that no file can hold."""

WHOLE = "~plate/whole"
"""The footprint as a whole; the windows of stretches have ids of their own."""

PROBE_MM = 0.01
"""A number is put off by so much to see whether it shapes the footprint."""

NO_DEPTHS = Depths((), {}, frozenset(), 0, {})


@dataclass(frozen=True)
class ProfileFigures:
    """The figures of a profile's pieces, in their order, and of its least depth.

    None where nothing stands.
    """

    pieces: tuple[Figure | None, ...]
    least: Figure | None


def profile_figures(scene: Scene, found: ZoneProfile) -> ProfileFigures:
    """Return the stack-ups of a profile of a scene's zone."""
    tolerances = Tolerances(scene, NO_DEPTHS)
    tolerances.take_in(PLATE, _of_plate(scene, found), found.zone.zone.owner)
    every = {s.id: s for s in (*scene.solids, scene.walls.beyond)}
    pieces = tuple(
        _stretch(tolerances, found, piece, every, f"{PLATE}/{place}")
        for place, piece in enumerate(found.profile.pieces)
    )
    return ProfileFigures(pieces, _least(tolerances, found))


def _stretch(
    tolerances: Tolerances,
    found: ZoneProfile,
    piece: DepthPiece,
    every: Mapping[str, Solid],
    window_id: str,
) -> Figure | None:
    if piece.key is None:
        return None
    window = _window(found, window_id, found.window(piece.t0, piece.t1))
    hit = every[str(piece.key)]
    return tolerances.least(tuple(faces((window,))), (hit,), travel_along(found.way), from_mm=-inf)


def _least(tolerances: Tolerances, found: ZoneProfile) -> Figure | None:
    least_mm = found.profile.least_mm
    if not isfinite(least_mm):
        return None
    scene, way = tolerances.scene, found.way
    first, last = found.profile.pieces[0].t0, found.profile.pieces[-1].t1
    plate = (_window(found, WHOLE, found.window(first, last)),)
    own = {stack.id for stack in scene.layout.stacks if stack.zone == found.zone.zone.id}

    def counts(solid: Solid) -> bool:
        return solid.role is not Role.AIR and solid.stack not in own

    ahead = [s for _, s in in_column(scene, column_of(plate, way), way) if counts(s)]
    ahead.append(scene.walls.beyond)
    figure = tolerances.least(
        tuple(faces(plate)), tuple(ahead), travel_along(way), from_mm=least_mm
    )
    if least_mm < 0:
        return figure
    return with_coming_in(tolerances, figure, plate, way, filter(counts, scene.solids))


def _window(found: ZoneProfile, solid_id: str, prism: Prism) -> Solid:
    """Return a window of the footprint as a solid that goes along with what carries the zone."""
    on = found.zone.zone.owner
    return Solid(solid_id, PLATE, "footprint", Role.BODY, (prism,), stack=PLATE, held_on=on)


def _of_plate(scene: Scene, found: ZoneProfile) -> Iterator[Deviation]:
    """Yield what may be off in a footprint: its zone's numbers, and the play of a part on it."""
    enclosure, zone, way = scene.layout.enclosure, found.zone.zone, found.way
    where, plate = f"zones[{enclosure.zones.index(zone)}]", f"{found.side}.plate_mm"
    across = ALL_AXES - {way.axis}
    mine, whole = belongs_to(frozenset((PLATE,))), is_one_of(WHOLE)

    def shifted_by(solid: Solid, off_mm: float, axis: int, sign: int) -> Prisms | None:
        return carried(solid, along(axis, sign * off_mm)) if mine(solid) else None

    shifts = [(f"origin_mm[{axis}]", axis, 1) for axis in (0, 1, 2)]
    for path, axis, sign in (*shifts, (plate, way.axis, way.sign)):
        move = partial(shifted_by, axis=axis, sign=sign)
        axes = frozenset((axis,))
        yield from toleranced(enclosure, zone.id, f"{where}.{path}", move, axes, mine)

    def resized(solid: Solid, off_mm: float, path: str) -> Prisms | None:
        return (_resized(scene, found, path, off_mm),) if whole(solid) else None

    drawn = _resized(scene, found, "length_mm", 0.0)
    for path in number_paths(zone):
        if path.startswith("origin_mm") or _resized(scene, found, path, PROBE_MM) == drawn:
            continue
        move = partial(resized, path=path)
        yield from toleranced(enclosure, zone.id, f"{where}.{path}", move, across, whole)
    for one in screw_play(PLATE, across, mine):
        yield replace(one, owner=zone.id)


def _resized(scene: Scene, found: ZoneProfile, path: str, off_mm: float) -> Prism:
    """Return the whole footprint with a number of its zone off."""
    zone = with_number(found.zone.zone, path, length_at(found.zone.zone, path) + off_mm)
    across = found.along.axis == found.zone.pose.y.axis
    run, band = footprint_mm(scene, replace(found.zone, zone=zone), across=across)
    return replace(found, across_mm=band).window(*run)
