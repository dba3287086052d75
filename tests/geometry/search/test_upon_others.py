"""Options that are others with something more conflict as if each were judged by itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from search_oracle import made_ready

from catalog.store import Library
from geometry.layout import Layout
from geometry.measures.broadphase import Bools
from geometry.search.judging import levels, worst_classes
from geometry.search.judging.upon_others import NONE, UponOthers
from geometry.search.problem import Problem
from geometry.search.solving.lists import Lists
from geometry.search.solving.pair_table import PairTable
from geometry.search.wishes import Judging, Wishes, wishes_from

PIECES = 5
MADE_OF = st.lists(st.lists(st.integers(0, PIECES - 1), unique=True).map(sorted), min_size=1)


def by_options(pieces: Bools, made_of: Lists) -> Bools:
    """What options conflict with, each by all its pieces."""
    every = [pieces[made_of.one(k)].any(axis=0) for k in range(len(made_of))]
    return np.array(every, dtype=bool).reshape(len(made_of), pieces.shape[1])


@given(MADE_OF, st.data())
def test_what_is_below_and_what_is_more_make_up_each_option(
    options: list[list[int]], data: st.DataObject
) -> None:
    made_of = Lists.of(options)
    marked = np.array([data.draw(st.booleans()) for _ in options], dtype=bool)
    upon = UponOthers.of(made_of, marked)
    plain = [own for own, mark in zip(options, marked, strict=True) if not mark]
    own = [own for own, mark in zip(options, marked, strict=True) if mark]
    assert len(upon.base) == len(upon.more) == len(own)
    for k, all_of_it in enumerate(own):
        below = [] if upon.base[k] == NONE else plain[upon.base[k]]
        assert sorted([*below, *upon.more.one(k).tolist()]) == all_of_it

    width = data.draw(st.integers(1, 3))
    cells = data.draw(st.lists(st.booleans(), min_size=PIECES * width, max_size=PIECES * width))
    pieces = np.array(cells, dtype=bool).reshape(PIECES, width)
    of_more = PairTable.of(by_options(pieces, upon.more))
    of_others = PairTable.of(by_options(pieces, Lists.of(plain)))
    either = upon.below(of_others).either(of_more)
    assert (either.full() == by_options(pieces, Lists.of(own))).all()


def test_one_that_holds_more_than_another_stands_on_it() -> None:
    made_of = Lists.of([[], [0, 1], [0, 1, 4], [4], [0, 4], [0, 2, 4]])
    upon = UponOthers.of(made_of, np.array([False, False, True, True, True, True]))
    assert upon.base.tolist() == [1, 0, NONE, NONE]
    assert [upon.more.one(k).tolist() for k in range(4)] == [[4], [4], [0, 4], [0, 2, 4]]


@pytest.fixture(scope="module")
def cube() -> tuple[Layout, Wishes]:
    library = Library()
    parts = ["exchanger-1x120-30", "fan-120-25", "pump-compact-plate-120"]
    wishes = wishes_from([library.part(part) for part in parts], Wishes(pump="allowed"))
    return Layout(name="Cube", enclosure=library.enclosure("small-cube")), wishes


def searched(cube: tuple[Layout, Wishes], judge: Judging) -> Problem:
    layout, wishes = cube
    return made_ready(layout, replace(wishes, judge=judge))


@pytest.mark.parametrize("judge", ["nominal", "worst case"])
def test_tables_are_what_they_are_without_looking_for_others_below(
    cube: tuple[Layout, Wishes], judge: Judging, monkeypatch: pytest.MonkeyPatch
) -> None:
    found: list[UponOthers] = []
    look = UponOthers.of

    def watched(made_of: Lists, marked: Bools) -> UponOthers:
        found.append(look(made_of, marked))
        return found[-1]

    def none(made_of: Lists, marked: Bools) -> UponOthers:
        own = made_of.some(np.flatnonzero(marked))
        return UponOthers(np.full(len(own), NONE), own)

    for module in (levels, worst_classes):
        monkeypatch.setattr(module.UponOthers, "of", watched)
    made = searched(cube, judge)
    for module in (levels, worst_classes):
        monkeypatch.setattr(module.UponOthers, "of", none)
    plainly = searched(cube, judge)
    bases = np.concatenate([upon.base for upon in found])
    assert len(bases) > 100
    assert (bases != NONE).mean() > 0.9
    assert made.tables.clash.keys() == plainly.tables.clash.keys()
    for pair, table in made.tables.clash.items():
        assert (table.full() == plainly.tables.clash[pair].full()).all()
