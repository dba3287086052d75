"""What a deviation tells that it does to a solid is what it does to the solid's prisms."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from filled_rooms import filled
from random_edits import filled_layout

from catalog.store import Library
from geometry.layout import Layout
from geometry.measures.prism import Prism, shifted
from geometry.measures.solid import Solid
from geometry.scene import build_scene
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant_kind import Kind
from geometry.stackup.deviation import Deviation
from geometry.stackup.figures import Tolerances
from geometry.stackup.part_deviations import limits_of


@pytest.fixture(scope="module")
def rooms() -> list[Layout]:
    """Stacks whose fans are drawn along slots, and what else is screwed, bolted and set."""
    full = [filled(Library(), "rack-chassis-4u").layout]
    slid = [
        one.but(stacks=tuple(stack.but(slide_u_mm=-3.0) for stack in one.stacks)) for one in full
    ]
    return [filled_layout(), *full, *slid]


def effects(layout: Layout) -> Iterator[tuple[Solid, Deviation, float]]:
    tolerances = Tolerances(build_scene(layout), NO_DEPTHS)
    for solid in tolerances.scene.solids:
        for one in tolerances.of(solid.owner):
            for off in limits_of(one.dimension):
                if one.carry is not None and one.touches(solid):
                    yield solid, one, off


def core(prism: Prism) -> np.ndarray:  # type: ignore[type-arg]
    return np.array(prism.core or (*prism.bounds, 0.0))


def test_what_is_carried_is_moved_as_far(rooms: list[Layout]) -> None:
    carried = 0
    for solid, one, off in (each for room in rooms for each in effects(room)):
        assert one.carry is not None
        effect = one.carry(solid, off)
        moved = one.moved(solid, off) or solid.prisms
        if effect is not None and effect.shape is None:
            whole = tuple(shifted(p, effect.by) for p in solid.prisms)
            for p, q in zip(moved, whole, strict=True):
                assert np.allclose(core(p), core(q), atol=1e-9), (solid.id, one.path)
            carried += any(effect.by)
        elif effect is None:
            assert one.move(solid, off) is None or solid.id.endswith("/heads"), (solid.id, one.path)
    assert carried > 500


@pytest.mark.parametrize("together", [False, True])
def test_a_solid_changes_as_its_prisms_do(rooms: list[Layout], *, together: bool) -> None:
    shaped = 0
    known: dict[object, object] | None = {} if together else None
    for room in rooms:
        tolerances = Tolerances(build_scene(room), NO_DEPTHS)
        for solid in tolerances.scene.movable:
            kind = Kind.of(tolerances, solid, known=known)  # type: ignore[arg-type]
            for number, moved in enumerate(kind.moves.values()):
                for end, off in enumerate(moved.limits):
                    after = moved.one.moved(solid, off) or solid.prisms
                    changes = [core(q) - core(p) for p, q in zip(solid.prisms, after, strict=True)]
                    assert np.allclose(kind.shifts[:, number, end], changes, atol=1e-9)
                    shaped += moved.shapes[end] is not None
    assert shaped > 100
