"""What may be off in a placed part: its own numbers, its fittings, the place of a free one.

What a number changes is worked out once for each part, in the part frame, and kept.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

from catalog.iso2768 import KnownDimension, dimension_of
from catalog.numbers import number_paths, with_number
from catalog.parts import Fitting, Part, Port, part_cells, part_ports, top_cells
from geometry.layout import FreePart, Layout, PortUse, port_use
from geometry.measures.pose import Pose, way
from geometry.measures.prism import PLANE, Poly, Prism, place
from geometry.measures.solid import Solid
from geometry.part_solids import DEFAULT_FITTING, part_pieces, seat_thickness_mm
from geometry.placement import Placed
from geometry.recent import Recent
from geometry.stackup.deviation import (
    Carry,
    Deviation,
    Effect,
    Move,
    Prisms,
    Touches,
    along,
    belongs_to,
    carried,
    general,
    is_one_of,
    screw_play,
)
from geometry.stackup.pair_gaps import ALL_AXES, Axes

P = TypeVar("P", bound=Part)

Pieces = Mapping[str, Prisms]
"""The prisms of a part's solids in the part frame, by the suffix of the solid's id."""

NO_SOLID = ("accepts", "slot_", "curve_", "fins", "flow", "hub_mm", "holes_mm", "pitch_mm")
"""Numbers whose path holds one of these shape no solid and seat nothing."""

SCREWED = ("zone cells", "holes")
"""A free part that is held by one of these sits in the play of its screws."""

CHANGED = "~"
"""Under this id, which no file can hold, a changed part stands among those of a layout."""


@dataclass(frozen=True, eq=False)
class Change:
    """One number of a part and what is different, in the part frame, when it is off.

    `seats` tells that what is stacked on the part moves too, `axes` along which faces move, and
    `known_suffixes` which solids change; `when` gives what the part is like when the number is off.
    """

    path: str
    dimension: KnownDimension
    seats: bool
    axes: Axes
    when: Callable[[float], Pieces]
    known_suffixes: frozenset[str]
    known: dict[float, Pieces]

    @property
    def thickens(self) -> bool:
        """Whether what is stacked on the part moves out with it."""
        return self.seats and 2 in self.axes and not _is_across(self.path)

    def turned(self, pose: Pose) -> Axes:
        """Return the axes along which faces move in the world."""
        ways = (pose.x, pose.y, pose.z)
        return frozenset(ways[k].axis for k in self.axes)

    def prisms(self, suffix: str, off_mm: float, pose: Pose) -> Prisms | None:
        """Return a changed solid as it stands under a pose; None where it is as it was."""
        if off_mm not in self.known:
            pieces = self.when(off_mm)
            self.known[off_mm] = {k: pieces[k] for k in self.known_suffixes if k in pieces}
        found = self.known[off_mm].get(suffix)
        return None if found is None else tuple(place(prism, pose) for prism in found)

    def shape(self, suffix: str, off_mm: float) -> Hashable:
        """Return what tells a changed solid in the part frame from all others.

        None where it is as it was.
        """
        return (self, suffix, off_mm) if suffix in self.known_suffixes else None


_recent: Recent[tuple[Change, ...]] = Recent(256)


def changes_of(
    part: Part, uses: Mapping[str, PortUse], parts: Mapping[str, Part]
) -> tuple[Change, ...]:
    """Return all numbers of a part that matter to its solids or to what is stacked on it."""
    fittings = [parts[use.fitting] for _, use in sorted(uses.items()) if use.fitting is not None]
    ports = frozenset(uses.items())

    def find() -> tuple[Change, ...]:
        return tuple(_changes(part, uses, parts))

    return _recent.of(part, *fittings, beside=ports, find=find)


def _changes(
    part: Part, uses: Mapping[str, PortUse], parts: Mapping[str, Part]
) -> Iterator[Change]:
    before = _pieces(part, uses, parts)
    seats = _seats(part)
    for path in number_paths(part):
        if any(word in path for word in NO_SOLID):
            continue
        known = dimension_of(part, path)
        off = next(limits_of(known), None)
        if off is None:
            continue
        other: Part = with_number(part, path, known.nominal_mm + off)
        after = _pieces(other, uses, parts)
        moved = {k: prisms for k, prisms in after.items() if prisms != before.get(k)}
        axes = set(_axes_moved(before, moved))
        reseats = _seats(other) != seats
        if reseats:
            # What lies on the part moves with its thickness, or sideways with its holes.
            axes |= {0, 1} if _is_across(path) else {2}
        if axes:
            when = partial(_pieces_when, part, uses, parts, path)
            suffixes = frozenset(moved)
            yield Change(path, known, reseats, frozenset(axes), when, suffixes, {off: moved})


def _is_across(path: str) -> bool:
    """Whether a number is one of the places of cells, which lie across a part."""
    return "cells" in path or "top" in path


def _pieces_when(
    part: Part, uses: Mapping[str, PortUse], parts: Mapping[str, Part], path: str, off_mm: float
) -> Pieces:
    return _pieces(off_by(part, path, off_mm), uses, parts)


def _axes_moved(before: Pieces, after: Pieces) -> Iterator[int]:
    for suffix, prisms in after.items():
        if len(prisms) != len(before[suffix]):
            yield from ALL_AXES
        for p, q in zip(before[suffix], prisms, strict=False):
            yield from (k for k in ALL_AXES if _span(p, k) != _span(q, k))
            if isinstance(p.outline, Poly) and p.outline != q.outline:
                yield from PLANE[p.axis]


def _span(prism: Prism, axis: int) -> tuple[float, float]:
    return prism.bounds[axis], prism.bounds[axis + 3]


def limits_of(known: KnownDimension) -> Iterator[float]:
    """Yield how far a dimension is off at its limits (mm), as far as it is off at all."""
    if known.plus_mm:
        yield known.plus_mm
    if known.minus_mm:
        yield -known.minus_mm


def _pieces(part: Part, uses: Mapping[str, PortUse], parts: Mapping[str, Part]) -> Pieces:
    return {piece.suffix: piece.prisms for piece in part_pieces(part, uses, parts)}


def _seats(part: Part) -> tuple[object, ...]:
    places = [(cell.u_mm, cell.v_mm) for cell in (*part_cells(part), *top_cells(part))]
    return seat_thickness_mm(part), *places


def off_by(part: P, path: str, off_mm: float) -> P:
    """Return a part with one number off."""
    changed: P = with_number(part, path, dimension_of(part, path).nominal_mm + off_mm)
    return changed


def suffix_of(solid: Solid) -> str:
    """Return what tells a solid from the others of its part."""
    return solid.id.removeprefix(f"{solid.owner}/")


def reshaped(one: Placed, change: Change) -> tuple[Move, Carry]:
    """Return the move of a number that changes one placed part alone."""

    def move(solid: Solid, off_mm: float) -> Prisms | None:
        if solid.owner != one.id:
            return None
        return change.prisms(suffix_of(solid), off_mm, one.pose)

    def carry(solid: Solid, off_mm: float) -> Effect | None:
        if solid.owner != one.id:
            return None
        shape = change.shape(suffix_of(solid), off_mm)
        return None if shape is None else Effect((0.0, 0.0, 0.0), shape, one.pose)

    return move, carry


def touched(owners: frozenset[str], change: Change) -> Touches:
    """Return which solids of some parts a number changes."""
    suffixes = change.known_suffixes

    def touches(solid: Solid) -> bool:
        return solid.owner in owners and suffix_of(solid) in suffixes

    return touches


def of_free(layout: Layout, one: Placed) -> Iterator[Deviation]:
    """Yield what may be off in a free part: its numbers, its fittings, the place it is put at.

    One that is screwed on has the play of its screws besides, across them: they stand along its
    Z axis.
    """
    mine = belongs_to(frozenset((one.id,)))
    for change in changes_of(one.part, one.use.ports, layout.parts):
        move, carry = reshaped(one, change)
        axes = change.turned(one.pose)
        touches = touched(frozenset((one.id,)), change)
        yield Deviation(one.id, change.path, change.dimension, move, axes, touches, carry=carry)
    yield from of_fittings(layout, one)
    assert isinstance(one.use, FreePart)
    for axis, at_mm in enumerate(one.use.at_mm):

        def shift(solid: Solid, off_mm: float, axis: int = axis) -> Prisms | None:
            return carried(solid, along(axis, off_mm)) if solid.owner == one.id else None

        yield from general(one.id, f"at_mm[{axis}]", at_mm, shift, frozenset((axis,)), mine)
    if one.use.held.by in SCREWED:
        yield from screw_play(one.id, ALL_AXES - {one.pose.z.axis}, mine)


def of_fittings(layout: Layout, one: Placed) -> Iterator[Deviation]:
    """Yield what may be off in the fittings on a part's open ports, each a piece of its own."""
    for index, port in enumerate(part_ports(one.part)):
        use = port_use(port, one.use.ports)
        if use.plugged:
            continue
        chosen = layout.parts[use.fitting] if use.fitting is not None else DEFAULT_FITTING
        assert isinstance(chosen, Fitting)
        touches = is_one_of(f"{one.id}/fitting:{port.id}", f"{one.id}/hand:{port.id}")
        for change in _fitting_changes(one.part, index, chosen):
            move, carry = reshaped(one, change)
            axes = change.turned(one.pose)
            yield Deviation(one.id, change.path, change.dimension, move, axes, touches, carry=carry)


_recent_fittings: Recent[tuple[Change, ...]] = Recent(256)


def _fitting_changes(part: Part, index: int, chosen: Fitting) -> tuple[Change, ...]:
    """Return the numbers of the fitting on a port of a part, worked out once for each part."""

    def find() -> tuple[Change, ...]:
        return tuple(_changes_of_fitting(part, index, chosen))

    return _recent_fittings.of(part, chosen, beside=index, find=find)


def _changes_of_fitting(part: Part, index: int, chosen: Fitting) -> Iterator[Change]:
    port = part_ports(part)[index]
    ids = (f"fitting:{port.id}", f"hand:{port.id}")
    for path in ("length_mm", "diameter_mm", "hand_mm"):
        known_mm = dimension_of(chosen, path)
        off = next(limits_of(known_mm), None)
        if off is not None:
            when = partial(_fitted_when, part, port.id, chosen, path)
            pieces = when(off)
            moved = {suffix: pieces[suffix] for suffix in ids if suffix in pieces}
            where = f"ports[{index}].fitting.{path}"
            axes = _fitting_axes(port, path)
            yield Change(where, known_mm, False, axes, when, frozenset(moved), {off: moved})


def _fitting_axes(port: Port, path: str) -> Axes:
    out = frozenset((way(port.facing).axis,))
    return out if path == "length_mm" else ALL_AXES - out


def _fitted_when(part: Part, port_id: str, chosen: Fitting, path: str, off_mm: float) -> Pieces:
    use = PortUse.model_construct(plugged=False, fitting=CHANGED)
    return _pieces(part, {port_id: use}, {CHANGED: off_by(chosen, path, off_mm)})
