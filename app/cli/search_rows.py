"""The trade-offs of a search for a terminal: a table of all, and rows in full on request."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from app.cli.figures import mm_text, row_lines
from geometry.search.answers import Row
from geometry.search.run import Searched
from geometry.search.summary import RowSummary, every_row
from geometry.search.taken_out import taken_out
from geometry.search.words import figure_text, row_text, tight_count_text

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
    "--details tells rows in full: which way round, how far they may slide, what limits them at "
    "worst, and which dimensions take the most."
)
BETWEEN_ZONES = " | "
INDENT = "    "


def trade_off_lines(found: Searched, width: int) -> list[str]:
    """Return all rows as a table under their patterns, then what its columns are.

    What a row holds stands beside its figures where the terminal is wide enough for all of them,
    else below them.
    """
    rows = every_row(found)
    if not rows:
        return ["  none"]
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
    made = [f"{first}  what each zone holds" if beside else first]
    for pattern, numbers in _by_pattern(rows).items():
        alike = rows[numbers[0]].alike
        made += textwrap.wrap(f"{pattern} ({alike:,} like it fit)", width, subsequent_indent=INDENT)
        for k in numbers:
            made += [f"{lines[k]}  {held[k]}"] if beside else [lines[k], *_below(held[k], width)]
            made += _below(_loss(rows[k].takes_out), width)
    starred = any(row.in_place.beside_mm is not None for row in rows)
    by_leftover = any(measure.key == "leftover" for measure in found.wanted)
    for text, told_so in (
        (LEFTOVER, by_leftover), (IN_PLACE, True), (BESIDE, starred), (AT_WORST, True),
        (MORE, True),
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


def _by_pattern(rows: Sequence[RowSummary]) -> dict[str, list[int]]:
    """Return the places of rows by pattern, the pattern of the best row first."""
    groups: dict[str, list[int]] = {}
    for k, row in enumerate(rows):
        groups.setdefault(row.pattern, []).append(k)
    return groups


def _held(row: RowSummary) -> str:
    """Return what the zones of a row hold, in the order of its pattern."""
    return BETWEEN_ZONES.join(zone.short for zone in row.zones if zone.short) or "nothing anywhere"


def _loss(takes_out: Sequence[str]) -> str:
    """Say what would be taken out of the layout, where something would."""
    return f"takes out: {' + '.join(takes_out)}" if takes_out else ""


def _below(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=INDENT, subsequent_indent=INDENT)
