"""What the JSON of `gapwright search` is made of: each thing that is said, with its fields."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from geometry.layout import Layout
from geometry.search.told_figures import told_figure


class _Said(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


Told = Annotated[float, AfterValidator(told_figure)]
"""A figure to a thousandth."""


class ZoneSaid(_Said):
    """A zone: how many options were listed, and how many of them stand alone."""

    zone: str
    listed: int
    fit_alone: int


class CountSaid(_Said):
    """How many combinations fit: exact, or an estimate with its 95 % interval, and sure bounds.

    `combinations`, `at_most` and `empty` are null while not all options are listed.
    """

    kind: Literal["exact", "estimate", "cut short"]
    combinations: int | None
    empty: Annotated[
        int | None,
        Field(
            description="so many of those that fit, and of all of these counts, put nothing in: "
            "all zones empty"
        ),
    ]
    exact: int | None = None
    at_least: int
    at_most: int | None
    estimate: float | None = None
    low_95: float | None = None
    high_95: float | None = None


class FreeSlideSaid(_Said):
    """How far the stack of a zone may still be slid back and ahead in its slots, to touching."""

    zone: str
    u_mm: tuple[Told, Told]
    v_mm: tuple[Told, Told]


class TightSaid(_Said):
    """A gap that is `short_mm` short of its margin in the worst case, or `as_drawn` already.

    `taking` names the dimensions that take the most of it, none where it has no stack-up.
    """

    title: str
    short_mm: Told
    taking: tuple[str, ...]
    as_drawn: bool


class RowSaid(_Said):
    """One trade-off; a figure is null where nothing limits it. `layout` is a whole layout file.

    `figures` are against what stood before the search; `left_in_place_mm` is the least leftover
    depth with all of the row in place as drawn, then in the worst case and at the lower statistical
    limit, as `gapwright check` has them. It is least in the worst case at `left_in_place_worst_at`
    (zone, and what limits), where `left_in_place_taken_by` are the dimensions that take the most,
    and `left_in_place_brought_in_by` those that bring it in where it stands beside the way as
    drawn. `takes_out` names what stood before the search and does not with it.
    """

    pattern: str
    figures: dict[str, Told | None]
    left_in_place_mm: Told | None
    left_in_place_worst_mm: Told | None
    left_in_place_statistical_mm: Told | None
    left_in_place_worst_at: tuple[str, str] | None
    left_in_place_taken_by: tuple[str, ...]
    left_in_place_brought_in_by: tuple[str, ...]
    free_slides: tuple[FreeSlideSaid, ...]
    tight_at_worst: Annotated[
        int | None, Field(description="null where gaps are judged as drawn: not looked at")
    ]
    tight: Annotated[tuple[TightSaid, ...], Field(description="those that are counted there")]
    short_before: Annotated[
        int | None,
        Field(
            description="gaps that fell short before the search, not counted there; null likewise"
        ),
    ]
    like_it: Annotated[int, Field(description="combinations of the same pattern that fit")]
    like_it_exact: Annotated[
        bool, Field(description="false: time was out, at least so many are like it")
    ]
    takes_out: tuple[str, ...]
    layout: Layout


class ExclusionSaid(_Said):
    """Two groups of options, by zone and pattern, of which all or some pairs cannot stand together.

    `first` and `second` meet in the pair that comes nearest to it, which is `short_mm` short.
    """

    zones: tuple[str, str]
    patterns: tuple[str, str]
    always: bool
    excluded: int
    pairs: int
    first: str
    second: str
    verdict: Literal["blocked", "tight", "clear"]
    short_mm: Told
    short_by: Annotated[
        Literal["as drawn", "worst case", "rule"],
        Field(
            description="what short_mm is measured by: dimensions as drawn, or every one at its "
            "worst, where nothing is short as drawn; rule: no length is short, as of a second pump"
        ),
    ]
    sure: Annotated[bool, Field(description="false: a pair that was not measured may come nearer")]


class ChoiceSaid(_Said):
    """Options of a zone alike in pattern, in the thickness of their exchangers and in their fans.

    Those that stand side by side have a thickness and fans each. There are `options` of them.
    """

    pattern: str
    thickness_mm: tuple[Told, ...]
    fans: tuple[str, ...]
    pump: Annotated[bool, Field(description="two choices with a pump each exclude each other")]
    options: int


class FinerExclusionsSaid(_Said):
    """What excludes what of two zones by the thickness of exchangers and the places of fans.

    `excluded[i][j]` of the pairs of choice `i` of the first with choice `j` of the second zone
    cannot stand together: never where it is the product of both numbers of options.
    """

    zones: tuple[str, str]
    first: tuple[ChoiceSaid, ...]
    second: tuple[ChoiceSaid, ...]
    excluded: tuple[tuple[int, ...], ...]


class LargestSaid(_Said):
    """The most of one measure that still goes into a zone, the other zones as in the first row.

    The thickest and the longest core, without its end tanks; the deepest stack on one side. What a
    slide between the listed ones lets in follows where it is more, as its near miss tells.
    """

    zone: str
    what: Literal["thickest", "longest", "deepest"]
    mm: Told
    pattern: str
    exchangers: tuple[str, ...]
    slide: Annotated[str | None, Field(description="where not at a listed slide, how it goes in")]


class RelaxationSaid(_Said):
    """One change that lets a near miss in, and the layout that it gives.

    `cuts` marks a change to the enclosure by cutting, which is irreversible. `amount_mm` is by how
    much, null for what has no amount. `takes_out` names the parts that stood before the search and
    do not with it.
    """

    name: str
    kind: str
    cuts: bool
    amount_mm: Told | None
    takes_out: tuple[str, ...]
    layout: Layout


class NearMissSaid(_Said):
    """A row with another stack on one zone, or on two: more than any row, refused for few things.

    Those with `relaxations` come first; where there are none, no single change that was tried lets
    it in. `short_mm` is missing to the margin, `short_at_worst` only once every dimension is off.
    """

    row: Annotated[
        int, Field(description="whose other zones it keeps; 0 where it keeps none, or nothing fits")
    ]
    zone: str
    holds: str
    also: Annotated[
        tuple[str, str] | None,
        Field(description="another zone that differs from the row, and in words what is there"),
    ]
    gains: Annotated[dict[str, Told], Field(description="over the best row, by measure")]
    refused_for: tuple[str, ...]
    short_mm: Told
    short_at_worst: bool
    takes_out: tuple[str, ...]
    relaxations: tuple[RelaxationSaid, ...]


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
    exclusions: tuple[ExclusionSaid, ...]
    exclusions_done: Annotated[bool, Field(description="false: there may be more than are listed")]
    exclusions_looked_at: Annotated[
        float, Field(ge=0, le=1, description="the share of the groups of options looked at")
    ]
    exclusions_finer: Annotated[
        tuple[FinerExclusionsSaid, ...], Field(description="of the zones that --finer asks for")
    ]
    largest: tuple[LargestSaid, ...]
    near_misses: tuple[NearMissSaid, ...]
    near_misses_done: Annotated[bool, Field(description="false: stopped, more time finds more")]
    near_misses_looked_at: Annotated[
        int, Field(description="so many layouts were looked at, those that meet least first")
    ]
    near_misses_of: Annotated[int, Field(description="so many would be more than any row")]
    near_misses_close: Annotated[
        int, Field(description="so many of those looked at are refused for few things")
    ]
    near_misses_close_looked_at: Annotated[
        int, Field(description="for so many of these it was looked what would let them in")
    ]
    cutting_allowed: bool
    caution: Annotated[str, Field(description="where cutting is allowed, else empty")]
    stopped: bool
    done: Annotated[
        bool, Field(description="false: stopped or cut short; there may be more of something")
    ]
