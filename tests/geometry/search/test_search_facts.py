"""What a search finds without being told: exclusions, bests and fronts, against plain listing."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from plain_tables import whole
from search_ends import estimate, pattern_count, worthy
from search_oracle import exclusions
from small_rooms import exchanger, fan, layout, room, row, zone

from geometry.finding import Verdict
from geometry.search.answers import MEASURES, answers, measured
from geometry.search.excludes import largest
from geometry.search.long_work import run_through
from geometry.search.making_ready import prepared
from geometry.search.problem import Problem
from geometry.search.solving import eliminate
from geometry.search.solving.best import Climber
from geometry.search.solving.count import Counting, count_all, counting
from geometry.search.solving.eliminate import Factor, summed_out
from geometry.search.solving.front import front
from geometry.search.solving.tables import Tables, merged
from geometry.search.wishes import Wishes


@pytest.fixture(scope="module")
def corner() -> Problem:
    """A floor zone of three cells and a front zone of two, in a room of 440 x 200 x 400.

    Worked by hand with the fits of this room: fans of 25 mm and exchangers of 30 mm; port ends are
    30 mm long, return ends 15 mm, fittings 24 mm.
    """
    box = room(
        (440, 200, 400),
        [
            zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(3)),
            zone("front-zone", "front", (440, 40, 20), "+z", "+y", row(2)),
        ],
    )
    wishes = Wishes(
        exchangers=tuple(exchanger(n, 30) for n in (1, 2, 3)), fans=(fan(25),),
        fan_places=("plate",),
    )  # fmt: skip
    *_, problem = prepared(layout(box, []), wishes)
    assert isinstance(problem, Problem)
    return problem


def together(problem: Problem, floor: int, front_fans: int) -> int:
    sizes = ("1 fan" if count == 1 else f"{count} fans" for count in (floor, front_fans))
    one, other = (f"exchanger {size} long" for size in sizes)
    count = pattern_count(problem, (one, other))
    assert count.done
    return count.found


def test_two_and_two_fit_three_and_one_fit_three_and_two_do_not(corner: Problem) -> None:
    assert together(corner, 2, 2) > 0
    assert together(corner, 3, 1) > 0
    assert together(corner, 3, 2) == 0


def test_what_never_stands_together_is_told_with_the_solids_that_meet(corner: Problem) -> None:
    told = {e.patterns: e for e in exclusions(corner) if e.always}
    never = told["exchanger 3 fans long", "exchanger 2 fans long"]
    # The floor core lies at x = 20 to 380; turned end for end its port end would reach 20 - 30,
    # into the rear wall, so it reaches 410 at the front. The front stack takes x = 385 to 440, so
    # 410 - 385 = 25 mm are shared at best and another 2 mm of margin are missing.
    assert never.zones == ("floor-zone", "front-zone")
    assert never.verdict is Verdict.BLOCKED
    assert never.short_mm == pytest.approx(27.0)


def test_the_most_that_goes_in_beside_the_rest_is_told(corner: Problem) -> None:
    front_patterns = [o.pattern for o in corner.zones[1].options]
    for beside, longest in (("empty", 360.0), ("exchanger 2 fans long", 240.0)):
        most = largest(corner, 0, (0, front_patterns.index(beside)))
        assert most.longest is not None
        assert most.longest[1] == longest


def listed(problem: Problem) -> list[tuple[int, ...]]:
    sizes = (range(n) for n in problem.tables.sizes)
    return [c for c in product(*sizes) if problem.tables.fits(c)]


@pytest.mark.parametrize("keys", [("area", "leftover"), ("volume", "fans"), ("leftover", "parts"),
                                  ("area", "leftover", "parts")])  # fmt: skip
def test_front_equals_that_of_the_whole_list(corner: Problem, keys: tuple[str, ...]) -> None:
    wanted = [MEASURES[key] for key in keys]
    values = [np.stack([measured(z, m) for m in wanted], axis=1) for z in corner.zones]
    points = set()
    for combination in listed(corner):
        rows = [v[k] for v, k in zip(values, combination, strict=True)]
        points.add(
            tuple(
                sum(float(r[n]) for r in rows)
                if m.kind == "sum"
                else min(float(r[n]) for r in rows)
                for n, m in enumerate(wanted)
            )
        )
    best = {
        p for p in points
        if not any(q != p and all(a >= b for a, b in zip(q, p, strict=True)) for q in points)
    }  # fmt: skip
    *_, last = front(merged(whole(corner.tables)), values, [m.kind for m in wanted])
    assert last.done
    assert {p.values for p in last.points} == best


def test_every_row_passes_the_full_check(corner: Problem) -> None:
    *_, answer = answers(corner, [MEASURES["area"], MEASURES["leftover"]])
    assert answer.done
    assert answer.refused == 0
    assert answer.rows[0].figures["area"] == max(
        sum(z.options[k].area_cm2 for z, k in zip(corner.zones, c, strict=True))
        for c in listed(corner)
    )
    assert all(row.passes(tight_allowed=False) for row in answer.rows)


# Tables drawn by a seed, against numpy listing every combination.


def drawn(sizes: tuple[int, ...], share: float, seed: int) -> Tables:
    rng = np.random.default_rng(seed)
    zones = range(len(sizes))
    return Tables.of(
        sizes,
        {
            (i, j): rng.random((sizes[i], sizes[j])) < share
            for i in zones
            for j in zones
            if i < j and (i, j) != (0, 2)
        },
    )


def fitting(tables: Tables) -> np.ndarray:  # type: ignore[type-arg]
    """The truth value of every combination, as one array with an axis for each zone."""
    out = np.ones(tables.sizes, dtype=bool)
    for (i, j), table in tables.clash.items():
        shape = [1] * len(tables.sizes)
        shape[i], shape[j] = table.shape
        out &= ~table.full().reshape(shape)
    return out


def test_count_over_a_million_equals_listing_them_all() -> None:
    # 30**5 = 24.3 million combinations, each looked at; nine of ten pairs of zones conflict.
    tables = drawn((30, 30, 30, 30, 30), 0.16, seed=7)
    every = int(fitting(tables).sum())
    assert every > 1_000_000
    assert count_all(tables) == every


@pytest.mark.parametrize("seed", range(6))
def test_count_best_and_estimate_on_small_drawn_tables(seed: int) -> None:
    tables = drawn((6, 7, 5, 8, 6, 4), 0.1 + 0.08 * seed, seed)
    fit = fitting(tables)
    assert count_all(tables) == int(fit.sum())
    rng = np.random.default_rng(seed)
    values = [rng.integers(0, 20, (n, 1)).astype(np.float64) for n in tables.sizes]
    total = sum(
        v[:, 0].reshape([-1 if k == z else 1 for k in range(6)]) for z, v in enumerate(values)
    )
    left = worthy(merged(tables), values)
    *_, best = Climber(left, ["sum"]).climb()
    assert best.done
    if fit.any():
        assert best.values == (float(np.where(fit, total, -1.0).max()),)
        assert best.combination is not None
        assert fit[left.original(best.combination)]
        guess = estimate(merged(tables), 0.02, seed)
        # Four times the half width of the 95 % interval is about eight standard errors.
        assert abs(guess.mean - fit.sum()) <= 4 * guess.half_width + 1e-9
    else:
        assert best.combination is None


def test_a_count_that_is_stopped_gives_sure_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    tables = drawn((7, 7, 7, 7, 7, 7), 0.2, seed=3)
    exact = count_all(tables)
    assert exact == int(fitting(tables).sum())
    # With hardly any work allowed at once it has to branch, and tells how far it is.
    monkeypatch.setattr(eliminate, "MOST_WORK", 100)
    monkeypatch.setattr(eliminate, "MOST_MULTIPLIED", 100)
    states = list(counting(tables))
    assert len(states) > 2
    assert all(state.found <= exact <= state.at_most for state in states)
    assert (states[-1].found, states[-1].done) == (exact, True)


def test_a_count_beyond_whole_floats_is_exact() -> None:
    # Class 0 of zone 0 stands with class 0 of zone 1 alone, class 1 with both:
    # (2**40 + 1) x 2**30 + 1 x 3, which no 64-bit float holds.
    weights = {0: np.array([2.0**40, 1.0]), 1: np.array([2.0**30, 3.0])}
    each = np.arange(2)
    fits = Factor((0, 1), (each, each), np.array([[True, False], [True, True]]))
    assert run_through(summed_out(weights, [fits])) == (2**40 + 1) * 2**30 + 3
    # Where a table would have such sums none is told.
    weights[2] = np.array([2.0**52, 1.0])
    wide = {zone: 2.0**10 * figures for zone, figures in weights.items()}
    rest = [Factor(pair, (each, each), np.ones((2, 2), dtype=bool)) for pair in ((0, 2), (1, 2))]
    assert run_through(summed_out(wide, [fits, *rest])) is None


@pytest.mark.parametrize("at_once", [1, 40, 10_000])
def test_a_count_of_classes_that_tables_do_not_tell_apart_is_exact(
    monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    # A ring of three zones with a fourth at one of them, as shipped enclosures have; of thirty to
    # fifty options of each most are alike to one of their neighbours.
    monkeypatch.setattr(eliminate, "CELLS_AT_ONCE", at_once)
    rng = np.random.default_rng(5)
    sizes = (30, 40, 50, 20)
    clash = {}
    for i, j in ((0, 1), (0, 2), (1, 2), (1, 3)):
        few = rng.random((6, 5)) < 0.3
        rows, columns = rng.integers(0, 6, sizes[i]), rng.integers(0, 5, sizes[j])
        clash[i, j] = few[rows][:, columns]
    tables = Tables.of(sizes, clash)
    assert len(list(counting(tables))) == 2
    assert count_all(tables) == int(fitting(tables).sum())


def test_a_zone_without_options_leaves_nothing_to_count() -> None:
    assert list(counting(Tables((3, 0), {}))) == [Counting(0, 0, 1.0, done=True)]
