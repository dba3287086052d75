"""What a search has found, as plain values: small, and fit to be handed to another process.

The search itself keeps tables of all options; who shows, compares or exports rows needs none of
them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.layout import Layout, Stack
from geometry.search.answers import MEASURES, Measure, Row, free_slide_mm, measured
from geometry.search.excludes import Exclusion, Largest
from geometry.search.finer_exclusions import FinerExclusions
from geometry.search.listing.option import Option
from geometry.search.problem import Problem
from geometry.search.row_limits import (
    LeftInPlace,
    TightAtWorst,
    left_in_place,
    short_before,
    tight_at_worst,
)
from geometry.search.run import Searched
from geometry.search.stack_facts import SIDE_WORDS, beside, joined, pump_words, stack_facts
from geometry.search.taken_out import taken_out
from geometry.search.words import count_text, no_pump_text, standing_lines


@dataclass(frozen=True)
class ZoneFill:
    """What one zone holds in a row, in words; `facts` are by label, of those in FACTS.

    So is told what state an obstacle is chosen to be in, and where a pump stands on its own feet.
    """

    zone: str
    name: str
    short: str
    facts: Mapping[str, str]


@dataclass(frozen=True, eq=False)
class RowSummary:
    """One row: its figures by measure (all that there are), what every zone holds, its layout.

    `alike` is the number of combinations of its pattern that fit, at least so many where it is not
    `alike_exact`; `in_place` the least leftover depth with all of it in place, `tight` the gaps
    that are tight at worst, None where tolerances were not looked at; not among these are the
    `short_before`, so many that fell short before the search. `takes_out` names what stood before
    the search and does not with it.
    """

    number: int
    pattern: str
    alike: int
    tight: tuple[TightAtWorst, ...] | None
    in_place: LeftInPlace
    figures: Mapping[str, float]
    zones: tuple[ZoneFill, ...]
    layout: Layout
    takes_out: tuple[str, ...] = ()
    short_before: int = 0
    alike_exact: bool = True


@dataclass(frozen=True)
class ZoneListed:
    """A zone that was searched: how many options were listed, and how many stand alone."""

    zone: str
    name: str
    listed: int
    fit_alone: int


@dataclass(frozen=True)
class LargestHere:
    """What at most goes into a zone, the others being as in the first row: what, mm, and which."""

    zone: str
    name: str
    what: str
    mm: float
    option: str


@dataclass(frozen=True, eq=False)
class Summary:
    """The answer without its rows. `combinations` are all; between `least` and `most` of them fit.

    `count` says so in words. `proven` tells that no better row exists, each stack's room measured
    before the others are put in; `done` that everything has been looked at; `refused` counts rows
    that the full check did not let pass. `excluded_share` of the groups of options has been looked
    at for what excludes what, `finer` has that by thickness and fans. `no_pump` says that no row
    holds a pump though some fit, where that is so.
    """

    enclosure: str
    zones: tuple[ZoneListed, ...]
    wanted: tuple[str, ...]
    combinations: int
    least: int
    most: int
    count: str
    notes: tuple[str, ...]
    refused: int
    proven: bool
    done: bool
    exclusions: tuple[Exclusion, ...]
    excluded_share: float
    finer: tuple[FinerExclusions, ...]
    largest: tuple[LargestHere, ...]
    no_pump: str = ""


def summary(found: Searched) -> Summary:
    """Return what was found, without its rows."""
    problem = found.problem
    layout = problem.base.scene.layout
    return Summary(
        enclosure=layout.enclosure.name,
        zones=tuple(
            ZoneListed(z.zone, problem.names[z.zone], z.listed, z.fit_alone) for z in problem.zones
        ),
        wanted=tuple(m.key for m in found.wanted),
        combinations=problem.combinations,
        least=found.count.found,
        most=found.count.at_most,
        count=count_text(found),
        notes=tuple(standing_lines(found)),
        refused=found.answer.refused,
        proven=found.answer.done,
        done=found.done,
        exclusions=found.exclusions,
        excluded_share=found.excluded_share,
        finer=found.finer,
        largest=tuple(
            here for one in found.largest for here in _largest_here(one, problem.names[one.zone])
        ),
        no_pump=no_pump_text(found),
    )


def _largest_here(one: Largest, name: str) -> list[LargestHere]:
    told = (
        ("thickest core", one.thickest), ("longest core", one.longest),
        ("deepest stack", one.deepest),
    )  # fmt: skip
    return [
        LargestHere(
            one.zone,
            name,
            what,
            most[1],
            ", ".join((most[0].pattern, *dict.fromkeys(core.name for core in most[0].cores))),
        )
        for what, most in told
        if most is not None
    ]


class RowTeller:
    """Tells rows of one search as plain values; keeps what is measured for all options at once."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._measured: dict[tuple[int, str], np.ndarray[tuple[int], np.dtype[np.float64]]] = {}

    def told(self, number: int, row: Row) -> RowSummary:
        """Return a row as a plain value, with its figures by every measure that there is."""
        zones = []
        for option in row.options:
            stack = row.stacks.get(option.zone)
            columns = [(one, self._facts(row, one, own)) for one, own in beside(stack, option)]
            facts = joined([one for _, one in columns]) | {"holds": option.pattern}
            name = self._problem.names[option.zone]
            short = " + ".join(filter(None, (self._short(*column) for column in columns)))
            zones.append(ZoneFill(option.zone, name, short, facts))
        return RowSummary(
            number,
            row.pattern,
            row.alike,
            tight_at_worst(row),
            left_in_place(row),
            {m.key: self._figure(row, m) for m in MEASURES.values()},
            tuple(zones),
            row.layout,
            taken_out(self._problem.before, row.layout),
            short_before(row),
            row.alike_exact,
        )

    def _facts(self, row: Row, option: Option, stack: Stack | None) -> dict[str, str]:
        """Return what an option of a row is in words, by label, with its stack in the row."""
        facts = {"holds": option.pattern}
        layout, free = row.layout, option.free
        if stack is not None:
            zone = next(z for z in layout.enclosure.zones if z.id == option.zone)
            ends = free_slide_mm(row.checked.scene, stack.id)
            facts |= stack_facts(layout, zone, stack, ends)
        if free is not None:
            at = ", ".join(f"{mm:g}" for mm in free.at_mm)
            facts |= {
                "pump": layout.part(free.part).name,
                "stands at": f"{at} mm, length towards {SIDE_WORDS[free.x_to]}",
            }
        states = {one.id: one for one in layout.enclosure.obstacles if one.id in option.states}
        chosen = [
            f"{one.name}: {state.name}"
            for one in states.values()
            for state in one.states
            if state.id == option.states[one.id]
        ]
        return facts | ({"obstacles": ", ".join(chosen)} if chosen else {})

    def _short(self, option: Option, facts: Mapping[str, str]) -> str:
        """Return what a zone holds in a few words; none where it holds nothing."""
        if len(facts) == 1:
            return ""
        pump = [pump_words(facts["pump"])] if "pump" in facts else []
        if "exchanger" not in facts:
            alone = [facts["fans"].removesuffix(", alone")] if "fans" in facts else []
            return ", ".join(alone + pump) or facts.get("obstacles", facts["holds"])
        words = [facts["exchanger"].removeprefix("Exchanger ").strip()]
        fans = facts.get("fans", "none")
        words.append("no fans" if fans == "none" else fans.split(" x ")[0].rsplit(",", 1)[0])
        if option.fans and self._problem.wishes.part_rows:
            words.append("1 fan" if option.fans == 1 else f"{option.fans} fans")
        if "turned" in facts:
            words.append(f"turned {facts['turned']}")
        return ", ".join(words + pump)

    def _figure(self, row: Row, measure: Measure) -> float:
        if measure.key in row.figures:
            return row.figures[measure.key] + 0.0
        values = [self._values(z, measure)[k] for z, k in enumerate(row.combination)]
        together = min(values) if measure.kind == "least" else sum(values)
        return measure.sign * float(together) + 0.0

    def _values(self, zone: int, measure: Measure) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        key = (zone, measure.key)
        if key not in self._measured:
            self._measured[key] = measured(self._problem.zones[zone], measure)
        return self._measured[key]


def every_row(found: Searched) -> tuple[RowSummary, ...]:
    """Return all rows that were found, as plain values."""
    teller = RowTeller(found.problem)
    return tuple(teller.told(number, row) for number, row in enumerate(found.answer.rows, start=1))
