"""The rows of a search as listed: filtered, grouped by pattern, sorted. No widget in it."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from app.ui.search.measure_units import measure_text, unit_sign
from app.ui.units import Unit, figure_text
from geometry.search.answers import MEASURES, Measure
from geometry.search.rows_csv import facts_text
from geometry.search.summary import RowSummary
from geometry.search.words import (
    alike_text,
    in_place_lines,
    not_counted_lines,
    short_before_text,
    tight_count_text,
    tight_lines,
)

ALIKE, WORST, TEXT = "alike", "worst", "text"
LEFT, LEFT_WORST, LEFT_LIKELY = "left", "left worst", "left likely"
"""Columns beside those of the measures: how many are like it, tight at worst, what it holds; what
is left with all of it in place, as drawn, in the worst case, and at the lower statistical limit."""

IN_PLACE = (LEFT, LEFT_WORST, LEFT_LIKELY)

LIMITED: tuple[str, ...] = (*MEASURES, *IN_PLACE)
"""What rows can be filtered by, the least and the most of it."""

COLUMNS: tuple[str, ...] = (TEXT, *MEASURES, LEFT, LEFT_WORST, WORST, ALIKE)

SHORT_NAMES: Mapping[str, str] = {
    TEXT: "What it holds",
    "area": "Face area",
    "volume": "Core volume",
    "fans": "Fans",
    "leftover": "Leftover",
    "parts": "Parts",
    "cables": "Cables",
    LEFT: "In place",
    LEFT_WORST: "At worst",
    LEFT_LIKELY: "Statistical",
    WORST: "Gaps at worst",
    ALIKE: "Same pattern",
}

BESIDE = "beside"
"""Said after what is left at worst where it is left to what stands beside the way as drawn."""

BETWEEN_ZONES = "  |  "
NOTHING = "all zones empty"
TIP_LETTERS = 76
TIP_GAPS = 3
"""So many gaps are told in a tip; all of them where one row is told in full."""

_WORD = re.compile(r"\w+(?:[.-]\w+)*")


@dataclass(frozen=True)
class RowFilter:
    """Which rows are listed: words, one pattern (None: all), least and most of what is limited."""

    words: str = ""
    pattern: str | None = None
    limits: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)

    def passes(self, row: RowSummary) -> bool:
        """Say whether a row is listed."""
        if self.pattern is not None and row.pattern != self.pattern:
            return False
        text = row_words(row)
        if not all(any(_is_begun(one, word) for one in text) for word in _words(self.words)):
            return False
        for key, (least, most) in self.limits.items():
            value = figure_of(row, key)
            if (least is not None and value < least) or (most is not None and value > most):
                return False
        return True


@dataclass(frozen=True)
class Sorting:
    """By which column, and whether the greatest comes first; None keeps the order of finding."""

    column: str | None = None
    falling: bool = True


UNSORTED = Sorting()
FALLS, RISES = "▾", "▴"
"""The marks in the head of the column by which the rows are sorted."""


@dataclass(frozen=True)
class RowGroup:
    """The listed rows of one pattern."""

    pattern: str
    rows: tuple[RowSummary, ...]

    @property
    def alike(self) -> str:
        """How many combinations of the pattern fit, in words."""
        return alike_text(self.rows[0].alike, exact=self.rows[0].alike_exact)


def row_words(row: RowSummary) -> frozenset[str]:
    """Return all words of a row, in small letters, to look for others among; "push-pull" is one."""
    facts = (f"{zone.name} {' '.join(zone.facts.values())}" for zone in row.zones)
    return frozenset(_words(f"{row.number} {row.pattern} {' '.join(facts)}"))


def _words(text: str) -> list[str]:
    """Return the words and figures of a text in small letters, a word with hyphens as one."""
    return _WORD.findall(text.casefold())


def _is_begun(word: str, typed: str) -> bool:
    """Say whether a word is the typed one, or becomes it while one types; figures are whole.

    >>> _is_begun("push-pull", "pull"), _is_begun("push-pull", "push"), _is_begun("push", "pus")
    (False, False, True)
    """
    if word == typed:
        return True
    return word.startswith(typed) and not typed[0].isdigit() and word[len(typed)] != "-"


def arranged(
    rows: Sequence[RowSummary], wanted: RowFilter, sorting: Sorting
) -> tuple[RowGroup, ...]:
    """Return the rows that pass, grouped by pattern; the group of the best row comes first."""
    listed = [row for row in rows if wanted.passes(row)]
    column = sorting.column
    if column is not None:
        listed.sort(key=lambda row: _key(row, column), reverse=sorting.falling)
    groups: dict[str, list[RowSummary]] = {}
    for row in listed:
        groups.setdefault(row.pattern, []).append(row)
    return tuple(RowGroup(name, tuple(of)) for name, of in groups.items())


def _key(row: RowSummary, column: str) -> float | str:
    if column == TEXT:
        return row_text(row)
    if column == ALIKE:
        return float(row.alike)
    if column == WORST:
        return -1.0 if row.tight is None else float(len(row.tight))
    return figure_of(row, column)


def figure_of(row: RowSummary, column: str) -> float:
    """Return a figure of a row by a measure, or what is left in place (mm)."""
    return in_place_mm(row, column) if column in IN_PLACE else row.figures[column]


def measure_of(column: str) -> Measure:
    """Return the measure as which a figure is told; what is left in place is leftover depth."""
    return MEASURES["leftover" if column in IN_PLACE else column]


def in_place_mm(row: RowSummary, column: str) -> float:
    """Return what is left with all of a row in place: as drawn, at worst or statistically (mm)."""
    left = row.in_place
    return {LEFT: left.drawn_mm, LEFT_WORST: left.worst_mm, LEFT_LIKELY: left.likely_mm}[column]


def row_text(row: RowSummary) -> str:
    """Return what a row holds in one line, its filled zones in the order of its pattern."""
    told = [zone.short for zone in row.zones if zone.short]
    return BETWEEN_ZONES.join(told) if told else NOTHING


def named_text(row: RowSummary) -> str:
    """Return what a row holds in one line, each filled zone by a short name."""
    names = short_names([zone.name for zone in row.zones])
    told = [f"{names[zone.name]}: {zone.short}" for zone in row.zones if zone.short]
    return BETWEEN_ZONES.join(told) if told else NOTHING


def short_names(names: Sequence[str]) -> Mapping[str, str]:
    """Return of each name its first words, as many as tell it from the others.

    >>> list(short_names(["side, low", "floor", "rear wall left", "rear wall right"]).values())
    ['side', 'floor', 'rear wall left', 'rear wall right']
    """

    def first(name: str, count: int) -> str:
        return " ".join(name.split()[:count]).rstrip(",;:")

    def apart(name: str, count: int) -> bool:
        return all(first(other, count) != first(name, count) for other in names if other != name)

    return {
        name: next((first(name, n) for n in range(1, len(name.split())) if apart(name, n)), name)
        for name in names
    }


def short_tip(row: RowSummary) -> str:
    """Return what a row holds, however little room the table has, and which pump.

    It is short, for it lies over what is beside the table; all of the row is under Compare, and
    what it takes out is said on the board, where it is previewed.
    """
    held = folded([f"Row {row.number}: {named_text(row)}"])
    named = [zone.facts["pump"] for zone in row.zones if "pump" in zone.facts]
    pumps = [f"Pump: {name}" for name in named if name not in held]
    return "\n".join([held, *filter(None, [folded(pumps)])])


def worst_tip(row: RowSummary) -> str:
    """Return the first gaps of a row that are tight at worst, and how many more there are."""
    lines = worst_lines(row)
    more = len(lines) - TIP_GAPS
    if more > 0:
        lines = [*lines[:TIP_GAPS], f"And {more} more: select the row and see Compare"]
    return folded(lines)


def row_tip(row: RowSummary, unit: Unit) -> str:
    """Return what a row holds in full, one line a zone, and what tolerances leave of it."""
    lines = [f"Row {row.number}: {row.pattern}"]
    for zone in row.zones:
        lines += textwrap.wrap(f"{zone.name}: {facts_text(zone.facts)}", TIP_LETTERS)
    lines.append(folded([*left_lines(row, unit), *worst_lines(row)]))
    return "\n".join([*lines, *loss_lines(row.takes_out)])


def left_lines(row: RowSummary, unit: Unit, most: int | None = None) -> list[str]:
    """Return what is left with all of a row in place, and what takes it at worst: so many at most.

    All of what takes it where `most` is None.
    """
    every = in_place_lines(row.in_place, most, lambda mm: figure_text(mm, unit), unit.value)
    return [_capital(line) for line in every]


def worst_lines(row: RowSummary) -> list[str]:
    """Return each gap of a row that is tight at worst, or that none is, or was looked at."""
    if row.tight is None:
        return ["Gaps are judged as drawn: tolerances were not looked at"]
    told = tight_lines(row.tight)
    if told:
        return [_capital(line) for line in (*told, *not_counted_lines(row.short_before))]
    but = f", but for {short_before_text(row.short_before)}" if row.short_before else ""
    return [f"Every gap keeps its margin in the worst case too{but}"]


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def folded(lines: Sequence[str]) -> str:
    """Return lines as a tip."""
    return "\n".join(part for line in lines for part in textwrap.wrap(line, TIP_LETTERS))


def loss_lines(takes_out: Sequence[str]) -> list[str]:
    """Return the lines that say what would be taken out of the layout; none where nothing is."""
    if not takes_out:
        return []
    return textwrap.wrap(f"Takes out of the layout: {' + '.join(takes_out)}", TIP_LETTERS)


def cell_text(row: RowSummary, column: str, unit: Unit) -> str:
    """Return what stands in one column of a row."""
    if column == TEXT:
        return row_text(row)
    if column == ALIKE:
        return f"{'' if row.alike_exact else '≥ '}{row.alike:,}"
    if column == WORST:
        return f"{len(row.tight)} tight" if row.tight else tight_count_text(row.tight)
    text = measure_text(measure_of(column), figure_of(row, column), unit)
    return f"{text} {BESIDE}" if column == LEFT_WORST and is_beside(row) else text


def is_beside(row: RowSummary) -> bool:
    """Whether least is left at worst to what stands beside the way as drawn."""
    return row.in_place.beside_mm is not None


def head_text(column: str, unit: Unit) -> str:
    """Return the head of a column, with its unit on a second line."""
    if column in (WORST, ALIKE):
        return SHORT_NAMES[column].replace(" ", "\n", 1)
    if column not in LIMITED:
        return SHORT_NAMES[column]
    sign = unit_sign(measure_of(column), unit)
    return f"{SHORT_NAMES[column]}\n{sign}" if sign else SHORT_NAMES[column]


def marked_head(column: str, unit: Unit, sorting: Sorting) -> str:
    """Return the head of a column with the mark of the order on the shorter of its lines.

    >>> marked_head("leftover", Unit.MM, Sorting("leftover"))
    'Leftover\\n▾ mm'
    """
    text = head_text(column, unit)
    if column != sorting.column:
        return text
    lines = text.split("\n")
    shorter = lines.index(min(lines, key=len))
    lines[shorter] = f"{FALLS if sorting.falling else RISES} {lines[shorter]}"
    return "\n".join(lines)


def order_text(column: str, sorting: Sorting) -> str:
    """Say in which order a click has put the rows, and what the next one does."""
    if column != sorting.column:
        return "Click to sort"
    by_letters = column == TEXT
    falls, rises = ("Z first", "A first") if by_letters else ("greatest first", "least first")
    return f"Sorted: {falls if sorting.falling else rises}"


HEAD_TIPS: Mapping[str, str] = {
    TEXT: "What every filled zone holds; Compare shows a selected row in full",
    "leftover": "Least depth that the stacks leave to what stood before the search",
    "cables": "Least room kept for cables at the better end of a stack, to what stood before",
    LEFT: "Least leftover depth with all of the row in place, as drawn",
    LEFT_WORST: "Least leftover depth with all of the row in place, once every dimension is off by "
    "its tolerance; the tip of a row tells which dimensions take the most. Beside: what limits it "
    "stands beside the way as drawn, and only tolerances bring it in, so it may be far less than "
    "in place; whether gaps are kept then, the next column tells",
    LEFT_LIKELY: "Least leftover depth with all of the row in place, at the lower statistical "
    "limit",
    WORST: "Gaps that do not keep their margin once every dimension is off by its tolerance, those "
    "tight as drawn among them; the tip of a row tells each, and which dimensions take the most. "
    "Clear: every gap keeps it then too. Not counted: what fell short before the search. Not "
    "judged: gaps are judged as drawn, tolerances not looked at",
    ALIKE: "How many combinations of the same pattern fit; ≥ where time was out",
}


def head_tip(column: str, unit: Unit, wanted: Sequence[str], sorting: Sorting = UNSORTED) -> str:
    """Return the tool tip of a column's head: what is told, in which unit, what is better."""
    measure, order = MEASURES.get(column), order_text(column, sorting)
    if column in IN_PLACE:
        return f"{HEAD_TIPS[column]} ({unit.value}); shown only, does not count\n{order}"
    if measure is None:
        return f"{HEAD_TIPS[column]}\n{order}"
    text = HEAD_TIPS.get(column, measure.name[:1].upper() + measure.name[1:])
    sign = unit_sign(measure, unit)
    better = "more is better" if measure.sign > 0 else "less is better"
    counts = "counts for the trade-offs" if column in wanted else "shown only, does not count"
    return f"{text}{f' ({sign})' if sign else ''}; {better}; {counts}\n{order}"
