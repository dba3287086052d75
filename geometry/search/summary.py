"""What a search has found, as plain values: small, and fit to be handed to another process.

The search itself keeps tables of all options; who shows, compares or exports rows needs none of
them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from catalog.enclosure import Zone
from catalog.model import Direction
from catalog.parts import Exchanger
from geometry.layout import Item, Layer, Layout, Stack
from geometry.placement import zone_frame
from geometry.search.answers import MEASURES, Measure, Row, free_slide_mm, measured
from geometry.search.excludes import Exclusion, Largest
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
from geometry.search.slide_words import free_words, slid_words
from geometry.search.taken_out import taken_out
from geometry.search.words import count_text, standing_lines

SIDE_WORDS: Mapping[Direction, str] = {
    "+x": "front",
    "-x": "rear",
    "+y": "far side",
    "-y": "access side",
    "+z": "top",
    "-z": "floor",
}


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

    `alike` is the exact number of combinations of its pattern that fit; `in_place` the least
    leftover depth with all of it in place, `tight` the gaps that are tight at worst, None where
    tolerances were not looked at; not among these are the `short_before`, so many that fell short
    before the search. `takes_out` names what stood before the search and does not with it.
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

    `count` says so in words. `proven` tells that no better row exists, `done` that everything has
    been looked at; `refused` counts rows that the full check did not let pass. `excluded_share` of
    the groups of options has been looked at for what excludes what.
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
    largest: tuple[LargestHere, ...]


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
        largest=tuple(
            here for one in found.largest for here in _largest_here(one, problem.names[one.zone])
        ),
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
            beside = [self._facts(row, one, own) for one, own in _beside(stack, option)]
            facts = _joined(beside) | {"holds": option.pattern}
            name = self._problem.names[option.zone]
            short = " + ".join(filter(None, map(_short, beside)))
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


FACTS = (
    "holds", "exchanger", "fans", "pump", "port end", "ports", "slide", "free to slide",
    "stands at", "obstacles",
)  # fmt: skip
"""The labels of what a zone holds, in the order in which one reads them."""


def stack_facts(
    layout: Layout,
    zone: Zone,
    stack: Stack,
    free_mm: tuple[tuple[float, float], tuple[float, float]],
) -> dict[str, str]:
    """Return what a stack of a row is in words, by label; what it has not is left out.

    `free_mm` is how far it may be slid back and ahead, along u and along v.
    """
    facts: dict[str, str] = {}
    outer, inner = (tuple(reversed(stack.outer)), stack.inner)
    items = [item for layer in (*outer, *inner) for item in layer.items]
    for item in items:
        part = layout.part(item.part)
        if isinstance(part, Exchanger):
            side = " on the outer side" if _within(outer, item) else ""
            facts["exchanger"] = part.name + side
            facts["port end"] = SIDE_WORDS[_end(zone, item)]
            facts["ports"] = "to the plate" if item.turned_over else "away from the plate"
        elif part.kind in ("pump", "pump_reservoir"):
            facts["pump"] = part.name
    fans = _fan_words(layout, stack)
    if fans:
        facts["fans"] = fans
    frame = zone_frame(layout, zone.id)
    facts["slide"] = slid_words(frame, (stack.slide_u_mm, stack.slide_v_mm))
    facts["free to slide"] = free_words(frame, free_mm)
    return facts


def _beside(stack: Stack | None, option: Option) -> Iterator[tuple[Option, Stack | None]]:
    """Yield the columns of an option with what of its stack in a row is theirs, in their order."""
    inner = outer = 0
    for column in option.columns:
        if stack is None or column.base is None:
            yield column, stack
            continue
        first, inner = inner, inner + len(column.base.inner)
        begin, outer = outer, outer + len(column.base.outer)
        yield column, stack.but(inner=stack.inner[first:inner], outer=stack.outer[begin:outer])


def _joined(beside: Sequence[Mapping[str, str]]) -> dict[str, str]:
    """Return the facts of what stands side by side as one, in the order of FACTS."""
    return {
        label: "; ".join(dict.fromkeys(facts[label] for facts in beside if label in facts))
        for label in FACTS
        if any(label in facts for facts in beside)
    }


def _fan_words(layout: Layout, stack: Stack) -> str:
    """Return the fans of a stack, said by what they do to the core."""
    ahead: list[str] = []
    behind: list[str] = []
    core_seen = has_outer = False
    for side, layers in (("outer", tuple(reversed(stack.outer))), ("inner", stack.inner)):
        for layer in layers:
            parts = [layout.part(item.part) for item in layer.items]
            core_seen |= any(part.kind == "exchanger" for part in parts)
            if parts[0].kind == "fan":
                (behind if core_seen else ahead).append(f"{len(parts)} x {parts[0].name}")
                has_outer |= side == "outer"
    if not ahead and not behind:
        return "none" if core_seen else ""
    outside = ", on the outer side" if has_outer else ""
    if not core_seen:
        return f"{' and '.join(ahead)}, alone{outside}"
    inward = stack.air == "inward"
    words = "push-pull" if ahead and behind else "push" if bool(ahead) is inward else "pull"
    fans = dict.fromkeys((*ahead, *behind))
    return f"{words}, {' and '.join(fans)}{outside}"


def _within(layers: tuple[Layer, ...], item: Item) -> bool:
    return any(item is one for layer in layers for one in layer.items)


def _end(zone: Zone, item: Item) -> Direction:
    """Return the way in the room that the port end of an item looks."""
    along: Direction = zone.u if item.turn % 2 == 0 else zone.v
    if item.turn < 2:
        return along
    back: dict[Direction, Direction] = {
        "+x": "-x", "-x": "+x", "+y": "-y", "-y": "+y", "+z": "-z", "-z": "+z",
    }  # fmt: skip
    return back[along]


def _short(facts: Mapping[str, str]) -> str:
    """Return what a zone holds in a few words; none where it holds nothing."""
    if len(facts) == 1:
        return ""
    if "exchanger" not in facts:
        told = facts.get("fans", facts.get("pump", facts.get("obstacles", facts["holds"])))
        return told.removesuffix(", alone")
    words = [facts["exchanger"].removeprefix("Exchanger ").strip()]
    fans = facts.get("fans", "none")
    words.append("no fans" if fans == "none" else fans.split(" x ")[0].rsplit(",", 1)[0])
    if "pump" in facts:
        words.append("pump")
    return ", ".join(words)
