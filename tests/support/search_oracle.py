"""The full check as the oracle of a search, and all options that are listed, judged by nobody."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from listed_by_hand import by_hand, of_stack

from geometry.checks.runner import check_layout
from geometry.finding import Verdict
from geometry.layout import Layout
from geometry.measures.broadphase import Floats
from geometry.placement import zone_frame
from geometry.search.excludes import Exclusion, excluding
from geometry.search.judging.alone import slide_steps
from geometry.search.judging.units import Makeup
from geometry.search.listing.families import families, with_states
from geometry.search.listing.option import Option
from geometry.search.listing.zone_lister import ZoneLister, with_parts
from geometry.search.long_work import run_through
from geometry.search.making_ready import prepared
from geometry.search.problem import Problem, combined
from geometry.search.short_bounds import PairBounds, nearest_pairs
from geometry.search.solving.pair_table import PairTable
from geometry.search.wishes import Wishes


@dataclass(frozen=True)
class Case:
    layout: Layout
    wishes: Wishes
    seed: int


def made_ready(base: Layout, wishes: Wishes) -> Problem:
    *_, problem = prepared(base, wishes)
    assert isinstance(problem, Problem)
    return problem


def nearest_of_all(
    one: Makeup, other: Makeup, margins: Floats, count: int, *, maybe: bool = False
) -> PairBounds:
    """The pairs of two lists of options that may be missing least, all of them being excluded."""
    every = PairTable.of(np.ones((one.size, other.size), dtype=bool))
    return run_through(nearest_pairs((one, other), every, margins, count, maybe=maybe))


def exclusions(problem: Problem) -> list[Exclusion]:
    """All groups of options that exclude each other, in whole or in part."""
    return [found for _, found in excluding(problem) if found is not None]


def passes(problem: Problem, options: Iterable[Option]) -> bool:
    """Whether the full check lets options pass, but for what was at fault already."""
    base, wishes = problem.base.scene.layout, problem.wishes
    whole = with_parts(base, (*wishes.exchangers, *wishes.fans, *wishes.pumps))
    made = combined(whole, wishes, tuple(options))
    report = check_layout(made, problem.base, remedies=False).report
    new = [f for f in report.findings if (f.kind, f.ids) not in problem.standing]
    most = (Verdict.CLEAR, Verdict.TIGHT) if wishes.tight_allowed else (Verdict.CLEAR,)
    return all(f.verdict in most for f in new)


def fits(problem: Problem, combination: Sequence[int]) -> bool:
    """Whether the tables let options stand together, under whichever number each is listed.

    Under one of them at most, so that nothing is counted twice.
    """
    numbers = [
        np.flatnonzero(zone.options.different == zone.options.different[k]).tolist()
        for zone, k in zip(problem.zones, combination, strict=True)
    ]
    found = sum(problem.tables.fits(one) for one in product(*numbers))
    assert found <= 1
    return found == 1


def consistent(problem: Problem, options: tuple[Option, ...]) -> bool:
    """Whether options want one pump at most, and no obstacle in two states at once."""
    chosen = {
        z.zone: o.states
        for z, o in zip(problem.zones, options, strict=True)
        if o.stack is None and o.free is None and z.zone == "bracket"
    }
    carried = [z.id for z in problem.base.scene.layout.enclosure.zones if z.owner == "bracket"]
    on_bracket = [o for o in options if o.zone in carried and o.stack is not None]
    return sum(o.pump for o in options) <= 1 and not (
        "bracket" in chosen and any(o.states != chosen["bracket"] for o in on_bracket)
    )


def every_option(problem: Problem, zone_id: str, number: int) -> list[Option]:
    """All options that are listed for a zone, with all their slides, judged by nobody.

    What has nothing beside it is what is listed by hand, in each outcome of what carries the zone.
    """
    base = problem.base.scene.layout
    (own,) = [z for z in base.enclosure.zones if z.id == zone_id]
    outcomes: tuple[object, ...] = ({},)
    if problem.wishes.obstacle_states:
        outcomes = next((f.outcomes for f in families(base) if own.owner in f.members), ({},))
    listed = []
    for states in outcomes:
        there = with_states(base, states)  # type: ignore[arg-type]
        lister = ZoneLister(there, own, problem.wishes, f"Z{number}")
        options = [option for option in lister.options() if option.base is not None]
        alone = [of_stack(o.base) for o in options if o.base is not None and not o.beside]
        wanted = list(by_hand(own, problem.wishes)) if zone_frame(there, zone_id).present else []
        assert Counter(alone) == Counter(wanted)
        for option in options:
            assert option.base is not None
            for slide in slide_steps(lister.placed(option.base), problem.wishes.slide_steps):
                listed.append(replace(option, slide_mm=slide, states=states))  # type: ignore[arg-type]
    return listed
