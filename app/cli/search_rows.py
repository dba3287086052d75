"""The trade-offs of a search for a terminal: a table of all, and rows in full on request."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import reduce
from itertools import chain
from operator import and_
from typing import TypeVar

from app.cli.figures import mm_text, row_lines
from geometry.layout import Layout
from geometry.search.answers import Row
from geometry.search.run import Searched
from geometry.search.summary import RowSummary, every_row
from geometry.search.taken_out import gone, gone_words, taken_out
from geometry.search.words import alike_text, figure_text, row_text, tight_count_text

Of = TypeVar("Of", Row, RowSummary)

STAR = "*"
LEFTOVER = (
    "leftover: the least depth that the stacks of a row leave to what stood before the search, as "
    "drawn."
)
IN_PLACE = (
    "in place: the least depth left with all of the row in place, as drawn. at worst: the same "
    "once every dimension is off by its tolerance."
)
BESIDE = (
    f"{STAR} something else limits it then than as drawn: what stands just beside the way, into "
    "which tolerances may bring it; so it can be far less."
)
AT_WORST = (
    "tight at worst: gaps that do not keep their margin once every dimension is off by its "
    "tolerance, those that are tight as drawn already among them. Clear: every gap keeps it then "
    "too. Not counted is what fell short before the search. Not judged: gaps are judged as drawn, "
    "and tolerances were not looked at."
)
MORE = (
    "--details shows rows in full: which way round, how far they may slide, what limits them at "
    "worst, and which dimensions take the most."
)
BETWEEN_ZONES = " | "
INDENT = "    "


def in_printed_order(found: Searched | None) -> Searched | None:
    """Return what was found with its rows pattern by pattern, so that their numbers run on.

    The pattern of the best row comes first; within a pattern rows stay as they are.
    """
    if found is None:
        return None
    rows = tuple(chain.from_iterable(_grouped(found.answer.rows).values()))
    return replace(found, answer=replace(found.answer, rows=rows))


def trade_off_lines(found: Searched, width: int, *, in_full: bool = False) -> list[str]:
    """Return all rows as a table under their patterns, then what its columns are.

    What a row holds stands beside its figures where the terminal is wide enough for all of them,
    else below them. What every row takes out of the layout is said once above. `in_full` tells that
    rows are told in full too.
    """
    rows = every_row(found)
    if not rows:
        return ["  none"]
    if found.only_empty:
        return ["  none but all zones empty"]
    measures = [f"{m.key} {m.unit}".strip() for m in found.wanted]
    head = ("#", *measures, "in place mm", "at worst mm ", "tight at worst")
    figures = [
        (
            str(row.number),
            *(figure_text(of, measure) for measure in found.wanted),
            mm_text(row.in_place.drawn_mm),
            mm_text(row.in_place.worst_mm) + (" " if row.in_place.beside_mm is None else STAR),
            tight_count_text(row.tight),
        )
        for row, of in zip(rows, found.answer.rows, strict=True)
    ]
    right = frozenset(range(len(head)))
    first, *lines = (line for (line,) in row_lines(head, figures, right=right, width=10 * width))
    held = [_held(row) for row in rows]
    beside = max(map(len, (first, *lines))) + 2 + max(map(len, held)) <= width
    always, losses = _losses(found.problem.before, [row.layout for row in found.answer.rows])
    made = textwrap.wrap(always, width, subsequent_indent=INDENT)
    made.append(f"{first}  what each zone holds" if beside else first)
    for pattern, group in _grouped(rows).items():
        alike = alike_text(group[0].alike, exact=group[0].alike_exact)
        counted = f"{len(group):,} shown; {alike}"
        made += textwrap.wrap(f"{pattern} ({counted})", width, subsequent_indent=INDENT)
        for k in (row.number - 1 for row in group):
            own = [held[k], *filter(None, (losses[k],))]
            if beside:
                made += [f"{lines[k]}  {held[k]}", *_below(losses[k], width)]
            elif len(INDENT + "; ".join(own)) <= width:
                made += [lines[k], f"{INDENT}{'; '.join(own)}"]
            else:
                made += [lines[k], *(line for text in own for line in _below(text, width))]
    starred = any(row.in_place.beside_mm is not None for row in rows)
    by_leftover = any(measure.key == "leftover" for measure in found.wanted)
    for text, told_so in (
        (LEFTOVER, by_leftover), (IN_PLACE, True), (BESIDE, starred), (AT_WORST, True),
        (MORE, not in_full),
    ):  # fmt: skip
        made += textwrap.wrap(text, width) if told_so else []
    return made


def rows_in_full(found: Searched, numbers: Sequence[int], width: int) -> list[str]:
    """Return rows by number with all that is told of them."""
    rows = found.answer.rows
    made: list[str] = []
    for number in numbers:
        made += ["", *textwrap.wrap(f"row {number}: {rows[number - 1].pattern}", width)]
        for line in _full(found, rows[number - 1]):
            made += textwrap.wrap(
                line, width, initial_indent="  ", subsequent_indent=INDENT + INDENT
            )
    return made


def _full(found: Searched, row: Row) -> Iterator[str]:
    yield from row_text(row).split("\n")
    loss = _loss(taken_out(found.problem.before, row.layout))
    if loss:
        yield loss


def _grouped(rows: Sequence[Of]) -> dict[str, list[Of]]:
    """Return rows by pattern, the pattern of the first one first."""
    groups: dict[str, list[Of]] = {}
    for row in rows:
        groups.setdefault(row.pattern, []).append(row)
    return groups


def _held(row: RowSummary) -> str:
    """Return what the zones of a row hold, in the order of its pattern."""
    return BETWEEN_ZONES.join(zone.short for zone in row.zones if zone.short) or "all zones empty"


def _losses(before: Layout, rows: Sequence[Layout]) -> tuple[str, list[str]]:
    """Say what every one of some rows takes out of a layout, and what each does beyond that."""
    every = [gone(before, row) for row in rows]
    common = reduce(and_, every) if len(every) > 1 else Counter()
    more = "takes out too" if common else "takes out"
    own = [_loss(gone_words(before, one - common), more) for one in every]
    return _loss(gone_words(before, common), "every row takes out"), own


def _loss(takes_out: Sequence[str], says: str = "takes out") -> str:
    """Say what would be taken out of the layout, where something would."""
    return f"{says}: {' + '.join(takes_out)}" if takes_out else ""


def _below(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=INDENT, subsequent_indent=INDENT)
