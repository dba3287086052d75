"""Near misses as plain values: small, and fit to be handed to another process."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from geometry.edits import CUT_NOTE
from geometry.layout import Layout
from geometry.search.near.largest import SlidIn, slid_in
from geometry.search.near.misses import NearMiss, NearMisses
from geometry.search.near.words import extent_text, fault_text, gain_text, miss_text
from geometry.search.problem import Problem
from geometry.search.taken_out import parts_taken_out


@dataclass(frozen=True, eq=False)
class LetIn:
    """A single change that lets a near miss in; `cuts` when it cuts the enclosure, for good.

    `takes_out` names the parts that stood before the search and do not with it.
    """

    name: str
    cuts: bool
    layout: Layout
    takes_out: tuple[str, ...] = ()

    @property
    def plain_name(self) -> str:
        """The change without the note that it cuts, for where that is told beside it."""
        return self.name.replace(CUT_NOTE, "")


@dataclass(frozen=True, eq=False)
class NearSummary:
    """A near miss: what it is, what it would gain over every row, why it is refused.

    `short_mm` is by how much its worst fault falls short of the margin, `at_worst` only once
    every dimension is off; `layout` is refused.
    `takes_out` names what stood before the search and does not in it.
    """

    what: str
    zone: str
    gain: str
    gains: Mapping[str, float]
    refused_for: tuple[str, ...]
    short_mm: float
    relaxations: tuple[LetIn, ...]
    layout: Layout
    takes_out: tuple[str, ...] = ()
    at_worst: bool = False


@dataclass(frozen=True, eq=False)
class NearFound:
    """The near misses found so far, as in `NearMisses`, and how much was looked at in words.

    `cutting` tells that relaxations which cut the enclosure were looked at too; `extent` is empty
    where all was looked at. `slid` are those of the first row that a slide alone lets in.
    """

    found: tuple[NearSummary, ...]
    cutting: bool
    done: bool
    extent: str = ""
    slid: tuple[SlidIn, ...] = ()


def near_found(problem: Problem, state: NearMisses, *, cutting: bool) -> NearFound:
    """Return near misses of a search as plain values."""
    found = tuple(near_summary(miss) for miss in state.found)
    slid = slid_in(problem, state.found)
    return NearFound(found, cutting, state.done, extent_text(state), slid)


def near_summary(miss: NearMiss) -> NearSummary:
    """Return one near miss as a plain value."""
    return NearSummary(
        miss_text(miss),
        miss.zone,
        gain_text(miss),
        dict(miss.gains),
        tuple(fault_text(fault) for fault in miss.refused_for),
        miss.short_mm,
        tuple(
            LetIn(one.name, one.cuts, one.layout, parts_taken_out(miss.before, one.layout))
            for one in miss.relaxations
        ),
        miss.layout,
        miss.takes_out,
        miss.at_worst,
    )
