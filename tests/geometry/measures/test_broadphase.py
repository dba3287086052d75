"""Which solids can be near each other, and all their gaps at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packings import packing
from prism_worlds import prisms, solids
from table_gaps import all_gaps, gaps_of

from geometry.measures import gaps_of_one, prism_table
from geometry.measures.batch import signed_gaps
from geometry.measures.broadphase import bounds_array, near, near_pairs
from geometry.measures.clearance import bounds_gap, signed_gap_mm
from geometry.measures.prism import Prism, box, shifted, whole_bounds
from geometry.measures.prism_table import PrismTable
from geometry.measures.shifts import Bounded, Surroundings

some = settings(max_examples=40)


def test_bounds_in_one_array() -> None:
    blocks = [box((0, 1, 2), (3, 4, 5)), box((-1, -1, -1), (0, 0, 0))]
    assert bounds_array(blocks).tolist() == [[0, 1, 2, 3, 4, 5], [-1, -1, -1, 0, 0, 0]]
    assert bounds_array([]).shape == (0, 6)


def test_near_counts_what_touches_the_margin_on_every_axis() -> None:
    array = bounds_array(
        [
            box((15, 0, 0), (20, 10, 10)),
            box((15.001, 0, 0), (20, 10, 10)),
            box((-9, -9, -9), (-5, -5, -5)),
            box((0, 0, 16), (10, 10, 20)),
        ]
    )
    assert near((0, 0, 0, 10, 10, 10), array, 5.0).tolist() == [0, 2]
    assert near_pairs(array, 0.0).tolist() == [[0, 1]]
    assert near_pairs(array[:1]).shape == (0, 2)


@some
@given(st.lists(prisms(), min_size=0, max_size=20), st.sampled_from((0.0, 0.5, 3.0)))
def test_near_pairs_are_those_of_the_table_of_all_pairs(
    some_prisms: list[Prism], margin: float
) -> None:
    array = bounds_array(some_prisms)
    half = margin / 2
    low, high = array[:, :3] - half, array[:, 3:] + half
    meets = ((low[:, None] <= high[None]) & (low[None] <= high[:, None])).all(axis=2)
    expected = np.argwhere(np.triu(meets, 1))
    assert near_pairs(array, margin).tolist() == expected.tolist()


@pytest.mark.parametrize("sizes", [(1.0, 1.0), (0.01, 300.0), (5.0, 2000.0)])
def test_near_pairs_of_very_mixed_sizes(sizes: tuple[float, float]) -> None:
    rng = np.random.default_rng(7)
    least = rng.uniform(-500.0, 500.0, (400, 3))
    array = np.hstack([least, least + rng.uniform(*sizes, (400, 3))])
    meets = (
        (array[:, None, :3] <= array[None, :, 3:]) & (array[None, :, :3] <= array[:, None, 3:])
    ).all(axis=2)
    assert near_pairs(array).tolist() == np.argwhere(np.triu(meets, 1)).tolist()


@settings(max_examples=30)
@given(st.lists(solids(), min_size=2, max_size=4), st.sampled_from((0.0, 2.0, 50.0)))
def test_gaps_at_once_are_the_gaps_one_by_one(many: list[tuple[Prism, ...]], limit: float) -> None:
    expected = {}
    for i, a in enumerate(many):
        for j in range(i + 1, len(many)):
            gap = signed_gap_mm(a, many[j])
            if gap < limit:
                expected[i, j] = gap
    table = PrismTable.of(many)
    found = all_gaps(table, limit)
    _same(found, expected, limit)
    one = gaps_of(many[0], PrismTable.of(many[1:]), limit)
    _same(
        {(0, j + 1): gap for j, gap in one.items()},
        {k: v for k, v in expected.items() if k[0] == 0},
        limit,
    )


def _same(
    found: dict[tuple[int, int], float], expected: dict[tuple[int, int], float], limit: float
) -> None:
    # A gap at the limit itself may fall either way by rounding.
    for key in found.keys() ^ expected.keys():
        assert (found.get(key, limit) - limit) == pytest.approx(0.0, abs=1e-9)
        assert (expected.get(key, limit) - limit) == pytest.approx(0.0, abs=1e-9)
    for key in found.keys() & expected.keys():
        assert found[key] == pytest.approx(expected[key], abs=1e-6)


def test_gaps_in_a_dense_packing() -> None:
    parts = packing(60)
    found = all_gaps(PrismTable.of(parts), 5.0)
    expected = {
        (i, j): gap
        for i in range(60)
        for j in range(i + 1, 60)
        if (gap := signed_gap_mm(parts[i], parts[j])) < 5.0
    }
    assert found.keys() == expected.keys()
    assert [found[k] for k in expected] == pytest.approx(list(expected.values()), abs=1e-6)
    # The packing is dense: a good share of its parts meet.
    assert sum(gap < 0 for gap in found.values()) > 20


def test_solids_without_prisms_are_refused_and_no_solids_have_no_gaps() -> None:
    with pytest.raises(ValueError, match="no prisms"):
        PrismTable.of([[]])
    assert all_gaps(PrismTable.of([]), 5.0) == {}
    assert gaps_of([box((0, 0, 0), (1, 1, 1))], PrismTable.of([]), 5.0) == {}


def test_moving_one_part_measures_only_its_pairs(monkeypatch: pytest.MonkeyPatch) -> None:
    parts = packing(200)
    table = PrismTable.of(parts)
    owner = {id(p): k for k, part in enumerate(parts) for p in part}
    gaps, parted = [], []
    gap_of, between = gaps_of_one.prism_gap, Surroundings.between

    def counting_gaps(p: Prism, q: Prism) -> float:
        gaps.append(owner[id(q)])
        return gap_of(p, q)

    def counting_partings(mine: Bounded, theirs: Bounded) -> Surroundings:
        parted.append(owner[id(theirs[0][0])])
        return between(mine, theirs)

    monkeypatch.setattr(gaps_of_one, "prism_gap", counting_gaps)
    monkeypatch.setattr(Surroundings, "between", counting_partings)
    moved = [shifted(p, (0.5, 0.0, 0.0)) for p in parts[17]]
    found = gaps_of(moved, table, 5.0, skip=17)

    def near_pairs_of(k: int, mm: float) -> list[tuple[Prism, Prism]]:
        return [(p, q) for p in moved for q in parts[k] if bounds_gap(p.bounds, q.bounds) <= mm]

    # Those whose bounds meet are parted, once each. Gaps are looked for only where no room is
    # shared and bounds come within the limit, and two boxes need no look at all.
    others = [k for k in range(200) if k != 17]
    assert sorted(parted) == [k for k in others if near_pairs_of(k, 0.0)]
    assert {k for k, gap in found.items() if gap < 0} <= set(parted)
    bent = [k for k in others for p, q in near_pairs_of(k, 5.0) if not (p.is_box and q.is_box)]
    assert 0 < len(gaps) < len(bent)
    assert all(gaps.count(k) <= bent.count(k) for k in others)
    assert not any(found.get(k, 0.0) < 0 for k in gaps)
    assert 17 not in {*found, *gaps, *parted}


@pytest.mark.parametrize("count", [1, 30, 150])
@pytest.mark.parametrize("limit", [0.0, 5.0, 60.0])
def test_a_look_at_each_finds_what_arrays_find(
    count: int, limit: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    parts = packing(count, seed=count)
    table = PrismTable.of(parts)
    moves = [(k, [shifted(p, (0.25, -0.5, 0.125)) for p in parts[k]]) for k in range(count)]
    found = []
    for few in (0, 1_000_000):
        monkeypatch.setattr(prism_table, "FEW", few)
        monkeypatch.setattr(gaps_of_one, "FEW", few)
        found.append(
            [
                (table.near(whole_bounds(moved), limit), gaps_of(moved, table, limit, k))
                for k, moved in moves
            ]
        )
    # The very same figures: both add and multiply the same numbers in the same order.
    assert found[0] == found[1]
    assert count == 1 or any(gaps for _, gaps in found[0])


def test_boxes_never_reach_shapely(monkeypatch: pytest.MonkeyPatch) -> None:
    boxes = [[p for p in part if p.is_box] for part in packing(100)]

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("shapely was asked about boxes")

    for name in ("box", "distance", "Polygon", "shortest_line", "linestrings", "prepare"):
        monkeypatch.setattr(f"shapely.{name}", refuse)
    table = PrismTable.of(boxes)
    found = all_gaps(table, 5.0)
    assert found == {
        key: gap
        for key, gap in zip(
            [tuple(p) for p in near_pairs(table.whole, 5.0).tolist()],
            signed_gaps(table, near_pairs(table.whole, 5.0), 5.0).tolist(),
            strict=True,
        )
        if gap < 5.0
    }
    assert len(found) > 50
    assert all(
        gap == pytest.approx(signed_gap_mm(boxes[i], boxes[j])) for (i, j), gap in found.items()
    )
