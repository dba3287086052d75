"""The excluded pairs of options that may be missing least are found as by bounding every pair, and
what is left out where there are too many is told."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from prism_worlds import prisms

from geometry.layout import Settings
from geometry.measures.broadphase import Bools, Floats
from geometry.measures.prism import Prism, box
from geometry.measures.solid import Role
from geometry.search import boxes_between, missing_more, short_bounds
from geometry.search.boxes_between import NOTHING, Boxes
from geometry.search.judging.units import Makeup, UnitSet, role_margins
from geometry.search.long_work import run_through
from geometry.search.missing_more import MissingMore
from geometry.search.short_bounds import PairBounds, nearest_pairs
from geometry.search.solving.lists import Lists
from geometry.search.solving.pair_table import PairTable

ROLES = (Role.BODY, Role.FITTING, Role.KEEP_OUT)
MARGINS = role_margins(Settings(margin_mm=3.0))
SMALL = {
    short_bounds: {
        "PAIRS_AT_FIRST": 3, "TIMES_AS_MANY": 2, "ROWS_AT_ONCE": 4, "PAIRS_AT_ONCE": 12,
        "BOUNDED_AT_ONCE": 2, "FEW_PAIRS": 3,
    },
    boxes_between: {"BOXES_AT_ONCE": 10},
    missing_more: {"BOXES_A_TILE": 3, "PAIRS_AT_ONCE": 5},
}  # fmt: skip
"""So few are looked at at once as if there were many more of them."""

Pair = tuple[float, float, int, int]


@st.composite
def makeups(draw: st.DrawFn, most: int) -> Makeup:
    """Options of some pieces each, of some prisms each; some of nothing."""
    gathered = UnitSet()
    some = draw(st.lists(st.tuples(prisms(), st.sampled_from(ROLES)), min_size=1, max_size=8))
    for prism, role in some:
        gathered.number(prism, role, "one")
    units = gathered.units()
    of_units = st.lists(st.integers(0, len(units) - 1), max_size=3, unique=True)
    pieces = draw(st.lists(of_units, min_size=1, max_size=6))
    of_pieces = st.lists(st.integers(0, len(pieces) - 1), max_size=3, unique=True)
    options = draw(st.lists(of_pieces, min_size=1, max_size=most))
    return Makeup(units, Lists.of(pieces), Lists.of(options))


def tables(one: Makeup, other: Makeup) -> st.SearchStrategy[Bools]:
    """Which of two lists of options exclude each other: at least one pair."""
    cells = st.lists(st.booleans(), min_size=one.size * other.size, max_size=one.size * other.size)
    return cells.filter(any).map(lambda told: np.array(told).reshape(one.size, other.size))


def gap_mm(a: list[float], b: list[float]) -> float:
    """The distance of two boxes by their sides; less than nothing where they share room."""
    apart = [max(b[k] - a[k + 3], a[k] - b[k + 3]) for k in range(3)]
    return max(apart) if max(apart) < 0 else float(np.sqrt(sum(max(g, 0.0) ** 2 for g in apart)))


def by_hand(
    pair: tuple[Makeup, Makeup], sides: tuple[Floats, Floats], numbers: tuple[int, int]
) -> float:
    """What is missing most between all boxes of two options."""
    found = [NOTHING]
    for i, j in product(*(m.of_option(k).tolist() for m, k in zip(pair, numbers, strict=True))):
        short = MARGINS[pair[0].units.role[i], pair[1].units.role[j]]
        short = short - gap_mm(sides[0][i].tolist(), sides[1][j].tolist())
        found.append(NOTHING if np.isnan(short) else float(short))
    return max(found)


def bounding_every(one: Makeup, other: Makeup, never: Bools, *, maybe: bool) -> list[Pair]:
    """All excluded pairs with the bounds of what they miss, the nearest first."""
    inside = one.units.prisms.inside, other.units.prisms.inside
    around = one.units.bounds, other.units.bounds
    told = []
    for a, b in zip(*np.nonzero(never), strict=True):
        least, most = (by_hand((one, other), sides, (a, b)) for sides in (inside, around))
        if maybe or most > 0.0:
            told.append((least, most, int(a), int(b)))
    return sorted(told)


def as_told(found: PairBounds) -> list[Pair]:
    """Pairs with their bounds."""
    least, most, pairs = found.least_mm.tolist(), found.most_mm.tolist(), found.pairs.tolist()
    return [(low, high, a, b) for low, high, (a, b) in zip(least, most, pairs, strict=True)]


@pytest.fixture
def in_small_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    for module, figures in SMALL.items():
        for name, figure in figures.items():
            monkeypatch.setattr(module, name, figure)


@pytest.mark.usefixtures("in_small_steps")
@settings(max_examples=150)
@given(st.data(), st.integers(1, 6), st.booleans(), st.sampled_from(["all", "alike", "less"]))
def test_the_nearest_are_those_of_all_that_are_bounded_one_by_one(
    data: st.DataObject, count: int, maybe: bool, looked: str
) -> None:
    one, other = data.draw(makeups(12)), data.draw(makeups(7))
    if data.draw(st.booleans()):
        one, other = other, one
    never = data.draw(tables(one, other))
    every = bounding_every(one, other, never, maybe=maybe)[:count]
    with pytest.MonkeyPatch.context() as patched:
        # How soon those are left out that may miss as much as the last that is kept.
        patched.setattr(short_bounds, "MOST_ALIKE", 10**9 if looked == "all" else 0)
        patched.setattr(short_bounds, "MOST_BOUNDED", 0 if looked == "less" else 10**9)
        steps = nearest_pairs((one, other), PairTable.of(never), MARGINS, count, maybe=maybe)
        found = run_through(steps)
    assert found.every
    # Of those that may miss the same, and by bounds no more, any will do; at last also of others.
    of_each = {"all": 4, "alike": 2, "less": 1}[looked]
    assert [one[:of_each] for one in as_told(found)] == [one[:of_each] for one in every]
    assert all(never[a, b] for a, b in found.pairs.tolist())


def rows_of_blocks(count: int, at: float, step: float) -> Makeup:
    """Options of a block of 10 each, at this height and so far from one to the next."""
    gathered = UnitSet()
    heights = (at + step * k for k in range(count))
    made: list[Prism] = [box((0, 0, z), (10, 10, z + 10)) for z in heights]
    numbers = [[gathered.number(one, Role.BODY, "one")] for one in made]
    return Makeup.of(gathered.units(), numbers)


@pytest.mark.parametrize("most", [20, 400, 4_000])
def test_of_too_many_pairs_some_are_looked_at_and_that_is_told(
    most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    # 200 blocks from 10 on upwards, each next 0.01 lower, over 30 that end at 8, each next 0.25
    # lower: the first of the ones over the last of the others misses least, 3 - (10 - 0.75).
    many, few = rows_of_blocks(200, 10.0, -0.01), rows_of_blocks(30, -2.0, -0.25)
    never = PairTable.of(np.ones((200, 30), dtype=bool))
    exact = run_through(nearest_pairs((many, few), never, MARGINS, 5, maybe=True))
    monkeypatch.setattr(short_bounds, "MOST_PAIRS", most)
    some = run_through(nearest_pairs((many, few), never, MARGINS, 5, maybe=True))
    assert exact.every
    assert exact.least_mm[0] == pytest.approx(-6.25)
    assert not some.every
    assert (some.least_mm >= exact.least_mm).all()
    # Those that are looked at are spread over all of the many: what is found is not much farther.
    looked_at = max(1, most // 30)
    assert some.least_mm[0] <= exact.least_mm[0] + 0.01 * 2 * 200 / looked_at
    again = run_through(nearest_pairs((few, many), never.turned(), MARGINS, 5, maybe=True))
    assert again.pairs[:, ::-1].tolist() == some.pairs.tolist()


def test_what_is_not_bounded_any_more_is_told_and_only_what_is_nearer_is_kept() -> None:
    many, few = rows_of_blocks(200, 10.0, -0.01), rows_of_blocks(30, -2.0, -0.25)
    never = PairTable.of(np.ones((200, 30), dtype=bool))
    every = run_through(nearest_pairs((many, few), never, MARGINS, 500, maybe=True))
    below_mm = float(every.least_mm[100])
    nearer = run_through(
        nearest_pairs((many, few), never, MARGINS, 500, maybe=True, below_mm=below_mm)
    )
    assert nearer.every
    assert as_told(nearer) == [one for one in as_told(every) if one[0] < below_mm]
    some = run_through(nearest_pairs((many, few), never, MARGINS, 500, maybe=True, at_most=50))
    assert not some.every


def test_how_far_it_has_come_never_goes_back(in_small_steps: None) -> None:
    many, few = rows_of_blocks(60, 10.0, -0.01), rows_of_blocks(9, -2.0, -0.25)
    never = PairTable.of(np.ones((60, 9), dtype=bool))
    told = list(nearest_pairs((many, few), never, MARGINS, 5, maybe=True))
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 20


def test_what_misses_more_is_found_for_boxes_as_for_options_one_by_one() -> None:
    many, few = rows_of_blocks(40, 10.0, -0.5), rows_of_blocks(11, -2.0, -1.5)
    sides = Boxes.inside(many), Boxes.inside(few)
    for than_mm in (-np.inf, -8.0, -2.25, 0.0, 3.5, np.inf):
        found = run_through(MissingMore.of(*sides, MARGINS, than_mm))
        bits = np.unpackbits(found.rows(3, 40), axis=1, count=11, bitorder="little")
        for a, b in product(range(3, 40), range(11)):
            gap = (10 - 0.5 * a) - (8 - 1.5 * b)
            assert bits[a - 3, b] == (3.0 - gap > than_mm)
