"""What rates along the shortest way tell of two faces is what the measures of the check say."""

from __future__ import annotations

import random

import numpy as np
import pytest
from random_edits import filled_layout

from geometry.measures.broadphase import Floats
from geometry.measures.pose import Vec
from geometry.measures.prism import Poly, Prism, shifted
from geometry.scene import build_scene
from geometry.search.judging import worst_faces
from geometry.search.judging.room import NO_DEPTHS
from geometry.search.judging.tolerant_kind import Kind
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.worst_faces import falls_short
from geometry.search.judging.worst_pairs import FacePairs
from geometry.stackup.figures import Tolerances
from geometry.stackup.pair_gaps import GAP

TRIES = 600
NEED_MM = 2.0


@pytest.fixture(scope="module")
def kinds() -> tuple[list[Kind], list[Kind]]:
    """The solids of a stack, and those of a free pump, which no dimension moves together."""
    layout = filled_layout()
    tolerances = Tolerances(build_scene(layout), NO_DEPTHS)
    stacked, free = [], []
    for one in tolerances.scene.placed.values():
        group = free if one.free else stacked
        group += [Kind.of(tolerances, s) for s in tolerances.scene.solids_of[one.id]]
    return stacked, free


Pair = tuple[Kind, int, Kind, int, Vec]


def pairs(kinds: tuple[list[Kind], list[Kind]]) -> list[Pair]:
    """Faces of both, drawn by a seed, put to where they about have their margin."""
    draw = random.Random(20261126)
    found: list[Pair] = []
    for _ in range(TRIES):
        a, b = draw.choice(kinds[0]), draw.choice(kinds[1])
        i, j = draw.randrange(len(a.solid.prisms)), draw.randrange(len(b.solid.prisms))
        p, q = a.solid.prisms[i], b.solid.prisms[j]
        if isinstance(p.outline, Poly) or isinstance(q.outline, Poly):
            continue
        way = np.array([draw.gauss(0, 1) for _ in range(3)])
        way /= np.linalg.norm(way)
        middle = [
            (p.bounds[k] + p.bounds[k + 3] - q.bounds[k] - q.bounds[k + 3]) / 2 for k in range(3)
        ]
        wanted = NEED_MM + draw.uniform(-0.5, 7.0)
        low, high = 0.0, 2000.0
        for _ in range(40):
            far = (low + high) / 2
            x, y, z = (middle + far * way).tolist()
            if GAP.mm(p, shifted(q, (x, y, z))) < wanted:
                low = far
            else:
                high = far
        found.append((a, i, b, j, (round(x, 6), round(y, 6), round(z, 6))))
    return found


def _middle(prism: Prism) -> Floats:
    found: Floats = np.add(prism.bounds[:3], prism.bounds[3:]) / 2
    return found


def test_rates_tell_what_is_measured(
    kinds: tuple[list[Kind], list[Kind]], monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[bool | None] = []
    sure = worst_faces._sure

    def telling(*args: object) -> bool | None:
        told.append(sure(*args))  # type: ignore[arg-type]
        return None

    monkeypatch.setattr(worst_faces, "_sure", telling)
    said = {True: 0, False: 0, None: 0}
    crossed = 0
    for a, i, b, j, by in pairs(kinds):
        told.clear()
        measured = falls_short(a, i, b, j, by, NEED_MM)
        for one in told:
            said[one] += 1
            assert one in (None, measured), (a.solid.id, i, b.solid.id, j, by)
            p, q = a.solid.prisms[i], b.solid.prisms[j]
            crossed += p.axis != q.axis and not (p.is_box or q.is_box) and one is not None
    assert min(said[True], said[False]) > 50, said
    assert said[None] < 0.2 * sum(said.values()), said
    assert crossed > 20, crossed


def test_arrays_tell_what_is_measured(kinds: tuple[list[Kind], list[Kind]]) -> None:
    said = {True: 0, False: 0, None: 0}
    for a, i, b, j, by in pairs(kinds):
        mine, theirs = Tolerant.of([[(a, (0.0, 0.0, 0.0))]]), Tolerant.of([[(b, by)]])
        zero = np.zeros(1, dtype=np.intp)
        faces = FacePairs.of(mine, theirs, zero, zero, np.full(1, NEED_MM))
        one = faces.some((faces.p == i) & (faces.q == j))
        short, left = one.by_arrays()
        answer = None if left[0] else bool(short[0])
        said[answer] += 1
        assert answer in (None, falls_short(a, i, b, j, by, NEED_MM)), (a.solid.id, b.solid.id, by)
    assert min(said[True], said[False]) > 50, said
