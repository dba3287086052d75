"""What arrays say of the worst case is what the measures of the check say, face by face."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from search_oracle import made_ready

from catalog.store import Library
from geometry.layout import Layout
from geometry.measures.broadphase import Bools, Floats
from geometry.measures.pose import Vec
from geometry.search.judging import tolerant, tolerant_kinds, worst
from geometry.search.judging.tolerant import Making, _places, _Shared
from geometry.search.judging.tolerant_solids import Tolerant
from geometry.search.judging.units import role_margins
from geometry.search.judging.worst import Facing, short_options
from geometry.search.judging.worst_classes import short_classes
from geometry.search.judging.worst_faces import falls_short
from geometry.search.judging.worst_pairs import FacePairs
from geometry.search.listing.option import Option
from geometry.search.long_work import run_through, told_as
from geometry.search.making_ready import Progress, prepared
from geometry.search.problem import Problem
from geometry.search.solving.pair_table import PairTable
from geometry.search.stage import Doing
from geometry.search.usual import usual
from geometry.search.wishes import Wishes, wishes_from

LOOKED_AT = 150
"""So many pairs of faces of each kind of answer are measured one by one, drawn by a seed."""


@pytest.fixture(scope="module")
def layout() -> Layout:
    cube = Library().enclosure("small-cube")
    return Layout(name="cube", enclosure=cube)


@pytest.fixture(scope="module")
def wishes() -> Wishes:
    every = wishes_from([p for p in Library().parts.values() if usual(p)])
    return Wishes(exchangers=every.exchangers[::2], fans=every.fans)


@pytest.fixture(scope="module")
def problem(layout: Layout, wishes: Wishes) -> Problem:
    return made_ready(layout, wishes)


def faces_met(problem: Problem) -> Iterator[FacePairs]:
    """Yield the pairs of faces of all pairs of zones that bounds leave open."""
    margins = role_margins(problem.base.scene.layout.settings)
    for one, other in combinations(problem.zones, 2):
        a, b = one.tolerant, other.tolerant
        assert a is not None
        assert b is not None
        yield from faces_between(a, b, margins)


def faces_between(a: Tolerant, b: Tolerant, margins: Floats) -> Iterator[FacePairs]:
    """Yield the pairs of faces of two zones that bounds leave open, whatever conflicts as drawn."""
    facing = Facing.of(a, b, margins)
    columns = np.arange(len(facing.theirs))
    for start in range(0, len(facing.mine), 300):
        rows = np.arange(start, min(start + 300, len(facing.mine)))
        look = np.ones((len(rows), len(columns)), dtype=bool)
        at, beside, need = facing.doubtful(rows, columns, look)
        yield FacePairs.of(a, b, facing.mine[rows[at]], facing.theirs[beside], need)


def measured(pairs: FacePairs, n: int) -> bool:
    a, b = pairs.a, pairs.b
    i, j = pairs.i[n], pairs.j[n]
    x, y, z = (b.shift[j] - a.shift[i]).round(6).tolist()
    places = int(a.faces.place[pairs.p[n]]), int(b.faces.place[pairs.q[n]])
    return falls_short(
        a.kinds[a.kind[i]], places[0], b.kinds[b.kind[j]], places[1], (x, y, z),
        float(pairs.need[n]),
    )  # fmt: skip


def test_arrays_decide_faces_as_the_check_measures_them(problem: Problem) -> None:
    draw = np.random.default_rng(20261126)
    said = {"short": 0, "kept": 0}
    for pairs in faces_met(problem):
        short, left = pairs.by_arrays()
        for name, rows in (("short", short), ("kept", ~short & ~left)):
            some = np.flatnonzero(rows)
            for n in draw.permutation(some)[:LOOKED_AT].tolist():
                assert measured(pairs, n) is (name == "short"), (name, n)
                said[name] += 1
    assert min(said.values()) > 50, said


def test_what_is_measured_once_for_all_that_is_alike_is_what_each_measures(
    problem: Problem,
) -> None:
    looked_at = 0
    for pairs in faces_met(problem):
        _, left = pairs.by_arrays()
        some = pairs.some(np.flatnonzero(left)[:LOOKED_AT])
        assert some.one_by_one({}).tolist() == [measured(some, n) for n in range(len(some.i))]
        looked_at += len(some.i)
    assert looked_at > 50


def option_by_option(a: Tolerant, b: Tolerant, margins: Floats, drawn: Bools) -> Bools:
    """Return what conflicts as drawn or at worst, from all faces that options hold."""
    out = drawn.copy()
    mine, theirs = ([set(t.lists.one(k)) for k in range(t.size)] for t in (a, b))
    for pairs in faces_between(a, b, margins):
        short, left = pairs.by_arrays()
        short[left] = pairs.some(left).one_by_one({})
        for i, j in set(zip(pairs.i[short].tolist(), pairs.j[short].tolist(), strict=True)):
            rows, columns = ([i in own for own in mine], [j in own for own in theirs])
            out[np.ix_(rows, columns)] = True
    return out


def test_a_table_by_worst_case_is_the_same_made_in_many_steps(
    problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    margins = role_margins(problem.base.scene.layout.settings)
    draw = np.random.default_rng(20261126)
    said = {True: 0, False: 0}
    many: list[float] = []

    def told(done: float) -> float:
        many.append(done)
        return done

    for one, other in combinations(problem.zones, 2):
        assert one.tolerant is not None
        assert other.tolerant is not None
        a, b = (t.only(draw.permutation(t.size)[:40]) for t in (one.tolerant, other.tolerant))
        drawn = draw.random((a.size, b.size)) < 0.1
        expected = option_by_option(a, b, margins, drawn)
        for smaller in (False, True):
            with monkeypatch.context() as patch:
                if smaller:
                    patch.setattr(worst, "PLACES_AT_ONCE", 500)
                    patch.setattr(worst, "PAIRS_AT_ONCE", 20)
                    patch.setattr(worst, "MEASURED_AT_ONCE", 1)
                made = short_classes(a, b, margins, PairTable.of(drawn))
                table = run_through(told_as(made, told))
                whole = run_through(short_options(a, b, margins, drawn))
            assert (table.full() == expected).all()
            assert (whole == expected).all()
        for short in expected[~drawn].tolist():
            said[short] += 1
    assert min(said.values()) > 50, said
    assert len(many) > 50
    assert 0.0 <= min(many) <= max(many) <= 1.0


def test_items_are_worked_out_once_for_all_stacks_alike_below_them(
    layout: Layout, wishes: Wishes, monkeypatch: pytest.MonkeyPatch
) -> None:
    stood: dict[object, int] = {}
    kinds: set[tuple[int, int]] = set()
    made_of = _Shared.made_of

    def asking(self: _Shared, option: Option) -> list[tuple[int, Vec]]:
        made = made_of(self, option)
        kinds.update((id(self), kind) for kind, _ in made)
        if option.base is not None:
            layout = self.making.layout
            drawn = any(is_drawn for _, is_drawn in _places(layout, option.base))
            stood[id(option.layers), option.slide_mm if drawn else None] = len(made)
        return made

    monkeypatch.setattr(_Shared, "made_of", asking)
    problem = made_ready(layout, wishes)
    assert problem.zones
    # Each of these solids would be one by itself, but for the layers with which stacks begin alike.
    assert len(kinds) < 0.7 * sum(stood.values()), (len(kinds), sum(stood.values()))


def test_a_search_tells_how_far_it_is_while_it_judges(layout: Layout, wishes: Wishes) -> None:
    told = [step.stage for step in prepared(layout, wishes) if isinstance(step, Progress)]
    partly = {(one.doing, one.on) for one in told if one.share is not None}
    assert partly >= {(Doing.JUDGING, zone.name) for zone in layout.enclosure.zones}
    assert (Doing.PAIRING, "roof with far side") in partly


def test_solids_that_are_made_again_are_judged_as_they_were(
    layout: Layout, wishes: Wishes, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = replace(wishes, exchangers=wishes.exchangers[::6])
    kept = made_ready(layout, few)
    again: list[int] = []
    make = Making.again

    def counted(self: Making, *more: Any) -> Any:
        again.append(1)
        return make(self, *more)

    monkeypatch.setattr(Making, "again", counted)
    monkeypatch.setattr(tolerant_kinds, "GROUPS_KEPT", 1)
    monkeypatch.setattr(tolerant, "STACKS_KEPT", 3)
    made = made_ready(layout, few)
    assert len(again) > 50
    assert [one.options.stack.tolist() for one in made.zones] == [
        one.options.stack.tolist() for one in kept.zones
    ]
    assert made.tables.clash.keys() == kept.tables.clash.keys()
    for pair, table in made.tables.clash.items():
        assert (table.full() == kept.tables.clash[pair].full()).all()


def test_what_is_made_again_is_what_it_was(layout: Layout, wishes: Wishes) -> None:
    problem = made_ready(layout, replace(wishes, exchangers=wishes.exchangers[::6]))
    looked_at = 0
    for zone in problem.zones:
        assert zone.tolerant is not None
        kinds = zone.tolerant.kinds
        for number in range(0, len(kinds), max(1, len(kinds) // 40)):
            before = kinds[number]
            kinds._made.clear()
            after = kinds[number]
            assert after is not before
            assert (after.solid.id, after.solid.prisms) == (before.solid.id, before.solid.prisms)
            assert (after.far, after.outer) == (before.far, before.outer)
            assert after.moves.keys() == before.moves.keys()
            assert np.array_equal(after.shifts, before.shifts)
            looked_at += 1
    assert looked_at > 60
