"""What excludes what by thickness and fans is what the tables say pair by pair; what a rule or the
worst case alone excludes is told as such."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from search_oracle import exclusions, made_ready
from small_rooms import PUMP, exchanger, fan, layout, room, row, zone

from geometry.layout import Settings
from geometry.measures.broadphase import Floats
from geometry.search import finer_exclusions as finer
from geometry.search.exclusion_words import meeting_text, missing_text
from geometry.search.finer_exclusions import FinerExclusions, finer_exclusions
from geometry.search.long_work import run_through
from geometry.search.problem import Problem
from geometry.search.solving.pair_table import PairTable
from geometry.search.wishes import Wishes


def crossing(
    wishes: Wishes, *, judge: str = "nominal", height_mm: float = 400.0, slot_mm: float = 9.0
) -> Problem:
    """A floor and a front zone whose stacks come near each other."""
    box = room(
        (300, 200, height_mm),
        [
            zone("floor-zone", "floor", (20, 40, 0), "+x", "+y", row(2, slot_u_mm=slot_mm)),
            zone("front-zone", "front", (300, 40, 40), "+z", "+y", row(2, slot_u_mm=12.0)),
        ],
    )
    return made_ready(layout(box, [], settings=Settings(judge=judge)), wishes)  # type: ignore[arg-type]


CORES = Wishes(
    exchangers=(exchanger(1, 30), exchanger(1, 45)), fans=(fan(25), fan(15)), slide_steps=3
)


def finely(problem: Problem) -> FinerExclusions:
    (found,) = [one for _, one in finer_exclusions(problem) if one is not None]
    return found


def test_each_pair_of_choices_is_counted_as_the_tables_say() -> None:
    problem = crossing(CORES)
    found = finely(problem)
    clash = problem.tables.clash[0, 1].full()
    assert found.excluded.sum() == clash.sum() > 0
    assert len(set(found.choices[0])) == len(found.choices[0])

    def of(zone: int, pattern: str, thickness_mm: float, held: int) -> list[int]:
        return [
            k for k, o in enumerate(problem.zones[zone].options)
            if o.pattern == pattern and o.core is not None
            and o.core.core_thickness_mm == thickness_mm and o.fans == held
        ]  # fmt: skip

    one = "exchanger 1 fan long"
    for mine, theirs in product((30.0, 45.0), repeat=2):
        want = clash[of(0, one, mine, 2)][:, of(1, one, theirs, 0)]
        (row_at,) = [k for k, c in enumerate(found.choices[0])
                     if c.words == f"{one}, {mine:g} mm, push-pull"]  # fmt: skip
        (column_at,) = [k for k, c in enumerate(found.choices[1])
                        if c.words == f"{one}, {theirs:g} mm, no fans"]  # fmt: skip
        assert found.excluded[row_at, column_at] == want.sum()
        assert found.pairs(row_at, column_at) == want.size
        turned = found.of(("front-zone", "floor-zone"))
        assert turned.share(column_at, row_at) == found.share(row_at, column_at)


@pytest.mark.parametrize("exact", [2**24, 0])
@pytest.mark.parametrize("shape", [(90, 30), (30, 90)])
def test_classes_are_summed_some_at_a_time_as_all_pairs_are(
    shape: tuple[int, int], exact: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(finer, "PRODUCTS_AT_ONCE", 100)
    monkeypatch.setattr(finer, "EXACT_SHORT", exact)
    known = np.random.default_rng(4)
    table = known.random(shape) < 0.3
    labels = [known.integers(0, many, size) for many, size in zip((4, 3), shape, strict=True)]
    found = run_through(finer._sums(PairTable.of(table), labels, (4, 3)))
    for a, b in product(range(4), range(3)):
        assert found[a, b] == table[labels[0] == a][:, labels[1] == b].sum()


class Multiplied:
    """Counts the products that are summed while it stands in for the product of matrices."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.products, self._matmul = 0, np.matmul
        monkeypatch.setattr(np, "matmul", self)

    def __call__(self, one: Floats, other: Floats) -> Floats:
        self.products += one.shape[0] * one.shape[1] * other.shape[1]
        found: Floats = self._matmul(one, other)
        return found


@pytest.mark.parametrize("shape", [(90, 30), (30, 90)])
def test_as_many_products_are_reckoned_with_as_are_summed(
    shape: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    known = np.random.default_rng(4)
    table = PairTable.of(known.random(shape) < 0.3)
    labels = [known.integers(0, many, size) for many, size in zip((7, 3), shape, strict=True)]
    multiplied = Multiplied(monkeypatch)
    run_through(finer._sums(table, labels, (7, 3)))
    assert multiplied.products == finer._products(table, (7, 3)) > 0


def test_of_zones_with_more_products_than_may_be_summed_nothing_is_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = crossing(CORES)
    with monkeypatch.context() as patch:
        multiplied = Multiplied(patch)
        finely(problem)
    monkeypatch.setattr(finer, "MOST_WORK", multiplied.products)
    finely(problem)
    monkeypatch.setattr(finer, "MOST_WORK", multiplied.products - 1)
    assert all(one is None for _, one in finer_exclusions(problem))


def test_what_is_listed_several_times_counts_once() -> None:
    problem = crossing(
        Wishes((exchanger(1, 30),), (fan(25),), slide_steps=1, tight_allowed=True), judge="nominal"
    )
    found = finely(problem)
    for size, of in zip(found.sizes, problem.zones, strict=True):
        assert size.sum() == of.options.how_many


@pytest.mark.parametrize("judge", ["nominal", "worst case"])
def test_a_pump_with_a_second_one_is_a_rule_and_no_length(judge: str) -> None:
    wishes = Wishes(
        (exchanger(1, 30),), (fan(25),), pumps=(PUMP,), pump="allowed", fan_places=("far",),
        slide_steps=1,
    )  # fmt: skip
    problem = crossing(wishes, judge=judge)
    told = exclusions(problem)
    both = [one for one in told if all("pump" in pattern for pattern in one.patterns)]
    assert both
    for one in both:
        assert one.always
        assert (one.judged, one.short_mm) == ("rule", 0.0)
        assert meeting_text(one) == "a pump with a second pump"
        assert missing_text(one, "{:.1f} mm".format) == "by rule"
    rest = [one for one in told if one not in both]
    assert rest
    found = finely(problem)
    pumps = [["pump" in choice.pattern for choice in choices] for choices in found.choices]
    for row_at, column_at in product(*(range(len(some)) for some in pumps)):
        by_rule = pumps[0][row_at] and pumps[1][column_at]
        assert found.by_rule(row_at, column_at) == by_rule
        assert not by_rule or found.share(row_at, column_at) == 1.0
    assert all("a second pump" not in meeting_text(one) for one in rest)


def test_how_far_the_counting_is_never_goes_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(finer, "PRODUCTS_AT_ONCE", 1)
    wishes = Wishes(
        (exchanger(1, 30), exchanger(1, 45)), (fan(25), fan(15)), pumps=(PUMP,), pump="allowed",
    )  # fmt: skip
    shares = [share for share, _ in finer_exclusions(crossing(wishes))]
    assert len(set(shares)) > 5
    assert shares == sorted(shares)


def test_what_is_short_at_worst_only_is_told_as_such() -> None:
    # With fans of 25 on cores of 45 the floor's stacks end 70 mm up, beside those of the front that
    # begin at 40 and are slid; some pairs keep their margin as drawn and not at worst.
    told = exclusions(crossing(CORES, judge="worst case"))
    by = {one.judged for one in told}
    assert by <= {"as drawn", "worst case"}
    assert "worst case" in by
    for one in told:
        words = missing_text(one, "{:.1f} mm".format)
        assert words.endswith("at worst") == (one.judged == "worst case")
    assert {one.judged for one in exclusions(crossing(CORES))} == {"as drawn"}
