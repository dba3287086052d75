"""What `gapwright search --json` prints."""

from __future__ import annotations

import math
from typing import Literal

from pydantic import BaseModel, ConfigDict

from geometry.layout import Layout
from geometry.search.run import Searched


class _Said(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class ZoneSaid(_Said):
    """A zone: how many options were listed, and how many of them stand alone."""

    zone: str
    listed: int
    fit_alone: int


class CountSaid(_Said):
    """How many combinations fit: exact, or an estimate with its 95 % interval, and sure bounds."""

    kind: Literal["exact", "estimate", "cut short"]
    combinations: int
    exact: int | None = None
    at_least: int
    at_most: int
    estimate: float | None = None
    low_95: float | None = None
    high_95: float | None = None


class RowSaid(_Said):
    """One trade-off; a figure is null where nothing limits it. `layout` is a whole layout file."""

    pattern: str
    figures: dict[str, float | None]
    tight_at_worst: int
    like_it: int
    layout: Layout


class SearchFile(_Said):
    """The answer of a search."""

    format: Literal["gapwright-search"] = "gapwright-search"
    version: Literal[1] = 1
    enclosure: str
    judged: Literal["clear", "clear or tight"]
    zones: tuple[ZoneSaid, ...]
    count: CountSaid
    measures: tuple[str, ...]
    rows: tuple[RowSaid, ...]
    rows_proven: bool
    stopped: bool


def search_file(found: Searched, *, stopped: bool) -> SearchFile:
    """Return the answer as it is printed."""
    problem = found.problem
    return SearchFile(
        enclosure=problem.base.scene.layout.enclosure.id,
        judged="clear or tight" if problem.wishes.tight_allowed else "clear",
        zones=tuple(
            ZoneSaid(zone=z.zone, listed=z.listed, fit_alone=len(z.options)) for z in problem.zones
        ),
        count=_count(found),
        measures=tuple(m.key for m in found.wanted),
        rows=tuple(
            RowSaid(
                pattern=row.pattern,
                figures={k: v if math.isfinite(v) else None for k, v in row.figures.items()},
                tight_at_worst=row.tight_at_worst,
                like_it=row.alike,
                layout=row.layout,
            )
            for row in found.answer.rows
        ),
        rows_proven=found.answer.done,
        stopped=stopped,
    )


def _count(found: Searched) -> CountSaid:
    count, guess = found.count, found.estimate
    raw = found.problem.tables.combinations
    if count.done:
        return CountSaid(
            kind="exact",
            combinations=raw,
            exact=count.found,
            at_least=count.found,
            at_most=count.found,
        )
    said = CountSaid(
        kind="cut short", combinations=raw, at_least=count.found, at_most=count.at_most
    )
    if guess is None:
        return said
    return said.model_copy(
        update={
            "kind": "estimate",
            "estimate": guess.mean,
            "low_95": max(guess.mean - guess.half_width, 0.0),
            "high_95": guess.mean + guess.half_width,
        }
    )
