"""A deviation: one dimension that may be off, with what it moves."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from catalog.enclosure import Enclosure
from catalog.iso2768 import KnownDimension, dimension_of, linear_tolerance_mm
from geometry.measures.pose import IDENTITY, Pose, Vec
from geometry.measures.prism import Prism, shifted
from geometry.measures.solid import Solid
from geometry.slots import PLAY_MM
from geometry.stackup.pair_gaps import Axes
from geometry.stackup.stack_ups import EVEN, Odds

Prisms = tuple[Prism, ...]

Touches = Callable[[Solid], bool]
"""Tells whether a dimension may move a solid at all, which is quicker than moving it."""

Move = Callable[[Solid, float], Prisms | None]
"""Gives a solid's prisms when a dimension is off by so many mm; None where it does not matter."""


class Effect(NamedTuple):
    """What a dimension does to a solid: it carries it by so much (mm), and may shape it besides.

    `shape` tells the shape, in the frame of the part, from all others; None where the solid goes as
    a whole. `pose` is how the part stands.
    """

    by: Vec
    shape: Hashable = None
    pose: Pose = IDENTITY


Carry = Callable[[Solid, float], Effect | None]
"""Gives what a dimension that is off by so many mm does to a solid; None where it is not known."""


@dataclass(frozen=True, eq=False)
class Deviation:
    """One dimension of an owner, by field path, and how it moves solids.

    `axes` are those along which it moves any face. `uniform` tells that it is as likely anywhere
    between its limits, not normal about their middle; `odds` is set of one that stands for several.
    `carry` tells what `move` does, which is quicker than to move solids; None where it is known of
    none. `in_proportion` tells that faces go as far as it is off, both ways.
    """

    owner: str
    path: str
    dimension: KnownDimension
    move: Move
    axes: Axes
    touches: Touches
    uniform: bool = False
    carry: Carry | None = None
    odds: Odds = EVEN
    in_proportion: bool = True
    _seen: dict[tuple[str, float], tuple[Solid, Prisms | None]] = field(default_factory=dict)
    """What was moved, and to where; a solid that is put elsewhere keeps its id."""

    @property
    def key(self) -> tuple[str, str]:
        """What tells it from all others of a layout."""
        return self.owner, self.path

    def moved(self, solid: Solid, off_mm: float) -> Prisms | None:
        """Return the prisms of a solid when the dimension is off, kept for the next time."""
        if not self.touches(solid):
            return None
        last = self._seen.get((solid.id, off_mm))
        if last is None or last[0] is not solid:
            last = self._seen[solid.id, off_mm] = (solid, self.move(solid, off_mm))
        return last[1]


def toleranced(
    model: Enclosure,
    owner: str,
    path: str,
    move: Move,
    axes: Axes,
    touches: Touches,
    carry: Carry | None = None,
) -> Iterator[Deviation]:
    """Yield the deviation of a model's number where it has a tolerance."""
    known = dimension_of(model, path)
    if known.minus_mm or known.plus_mm:
        yield Deviation(owner, path, known, move, axes, touches, carry=carry)


def general(
    owner: str, path: str, nominal_mm: float, move: Move, axes: Axes, touches: Touches
) -> Iterator[Deviation]:
    """Yield the deviation of a number of the layout, which carries no tolerance of its own."""
    off = linear_tolerance_mm(nominal_mm)
    if off:
        known = KnownDimension(nominal_mm, off, off, "unknown", general=True)
        yield Deviation(owner, path, known, move, axes, touches)


def screw_play(owner: str, axes: Axes, moves: Touches) -> Iterator[Deviation]:
    """Yield how far screws in their holes let what hangs on them sit off, along each of some axes.

    Along a slot a part is taken as set by hand to within the same play. As one puts it together it
    may sit anywhere in its play, so none of it is likelier.
    """
    known = KnownDimension(0.0, PLAY_MM, PLAY_MM, "assumed", general=False)
    for axis in sorted(axes):
        carry = carrying(axis, moves)
        path, axes = f"screw_play[{axis}]", frozenset((axis,))
        yield Deviation(owner, path, known, moving(carry), axes, moves, uniform=True, carry=carry)


def belongs_to(owners: frozenset[str]) -> Touches:
    """Return the test for solids of some owners."""

    def touches(solid: Solid) -> bool:
        return solid.owner in owners

    return touches


def is_one_of(*ids: str) -> Touches:
    """Return the test for solids by their ids."""

    def touches(solid: Solid) -> bool:
        return solid.id in ids

    return touches


def carrying(axis: int, moves: Touches) -> Carry:
    """Return what carries some solids along an axis by as much as a dimension is off."""

    def carry(solid: Solid, off_mm: float) -> Effect | None:
        return Effect(along(axis, off_mm)) if moves(solid) else None

    return carry


def moving(carry: Carry) -> Move:
    """Return what moves solids as far as they are carried."""

    def move(solid: Solid, off_mm: float) -> Prisms | None:
        effect = carry(solid, off_mm)
        return None if effect is None else carried(solid, effect.by)

    return move


def along(axis: int, off_mm: float) -> Vec:
    """Return the shift by some mm along an axis."""
    return (
        off_mm if axis == 0 else 0.0,
        off_mm if axis == 1 else 0.0,
        off_mm if axis == 2 else 0.0,
    )


def carried(solid: Solid, by: Vec) -> Prisms:
    """Return the prisms of a solid that is shifted as a whole."""
    return tuple(shifted(prism, by) for prism in solid.prisms)
