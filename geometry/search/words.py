"""The answer of a search in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from catalog.parts import Exchanger
from geometry.layout import Item, Layer, Layout, Stack
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.search.answers import Measure, Row, free_slide_mm
from geometry.search.listing.option import holds_pump
from geometry.search.row_limits import (
    LeftInPlace,
    TightAtWorst,
    left_in_place,
    short_before,
    tight_at_worst,
)
from geometry.search.run import Searched
from geometry.search.slide_words import free_words, slid_words, slots_of
from geometry.search.solving.count import Counting
from geometry.search.stack_facts import port_end_words
from geometry.stackup.figure_words import Number
from geometry.stackup.words import beside_way_words
from geometry.zone_names import zone_names


def count_text(found: Searched) -> str:
    """Say how many combinations fit, how sure that is, and how many of them put nothing in."""
    raw = found.problem.combinations
    count, guess = found.count, found.estimate
    how = judge_text(found)
    if found.only_empty and found.empty:
        return (
            f"nothing of what was asked for fits {how}: only all zones empty "
            f"({count.found:,} of {raw:,} combinations, exact count)"
        )
    if count.done:
        told = f"{count.found:,} of {raw:,} combinations fit {how} (exact count)"
        return f"{told}{_with_empty(found.empty)}"
    between = between_text(count.found, count.at_most)
    if guess is None:
        return f"{between} of {raw:,} combinations fit {how} (the count was cut short)"
    low = max(guess.mean - guess.half_width, 0.0)
    high = guess.mean + guess.half_width
    return (
        f"about {guess.mean:.3g} of {raw:,} combinations fit {how} (an estimate: {low:.3g} to "
        f"{high:.3g} at 95 %, from {guess.runs:,} random runs"
        f"{'' if _says_nothing(count, raw) else f'; for sure {between}'})"
    )


def _with_empty(empty: int) -> str:
    if empty == 1:
        return "; one of them leaves all zones empty"
    return f"; {empty:,} of them leave all zones empty" if empty else ""


def _says_nothing(count: Counting, raw: int) -> bool:
    """Whether it is only sure that from none to all combinations fit."""
    return count.found == 0 and count.at_most >= raw


def between_text(least: int, most: int) -> str:
    """Say between which counts it is: one number where both are the same.

    >>> between_text(1200, 1200), between_text(0, 1200)
    ('1,200', '0 to 1,200')
    """
    return f"{most:,}" if least == most else f"{least:,} to {most:,}"


def no_pump_text(found: Searched) -> str:
    """Say that no row holds a pump where one was allowed and fits; empty elsewhere."""
    rows = found.answer.rows
    if found.problem.wishes.pump != "allowed" or not found.pump_fits or not rows:
        return ""
    if any(holds_pump(option) for row in rows for option in row.options):
        return ""
    why = ": nothing that counts is better with one" if found.answer.done else " so far"
    return f"pumps fit, but no best row has one{why}; ask for exactly one to see them"


LEAST_TOLD_MM = 0.1
"""What is missing by less is called a hair: under this."""


def short_figure(short_mm: float, write: Callable[[float], str]) -> str:
    """Write what is missing; of a hair that it is one, where it would read as nothing.

    >>> short_figure(1.25, "{:.1f} mm".format), short_figure(0.001, "{:.1f} mm".format)
    ('1.2 mm', 'under 0.1 mm')
    """
    if LENGTH_EPS_MM < short_mm < LEAST_TOLD_MM:
        return f"under {write(LEAST_TOLD_MM)}"
    return write(short_mm)


def judge_text(found: Searched) -> str:
    """Say by which dimensions gaps are judged."""
    if found.problem.wishes.tight_allowed or found.problem.judge == "nominal":
        return "as drawn"
    return "in the worst case"


def standing_lines(found: Searched) -> list[str]:
    """Say what stands already and is at fault, so that nothing at all can fit."""
    report = found.problem.base.report
    faults = [f for f in report.findings if f.verdict.value != "clear"]
    if not found.problem.wishes.tight_allowed:
        return [f"note: {f.verdict.value} already without any stack: {f.title}" for f in faults]
    return [f"note: blocked already: {f.title}" for f in faults if f.verdict.value == "blocked"]


def alike_text(count: int, *, exact: bool = True) -> str:
    """Say how many combinations of one pattern fit, or that at least so many do.

    >>> alike_text(1204), alike_text(1)
    ('1,204 combinations of this pattern fit', '1 combination of this pattern fits')
    >>> alike_text(1204, exact=False)
    'at least 1,204 combinations of this pattern fit'
    """
    what, fit = ("combination", "fits") if count == 1 else ("combinations", "fit")
    return f"{'' if exact else 'at least '}{count:,} {what} of this pattern {fit}"


def figure_text(row: Row, measure: Measure) -> str:
    """Return one figure of a row without its unit; "open" where nothing limits a length."""
    value = row.figures[measure.key]
    if measure.unit == "mm":
        return f"{value:.1f}" if math.isfinite(value) else "open"
    return f"{value:.0f}" if math.isfinite(value) else "-"


def tight_count_text(tight: Sequence[TightAtWorst] | None) -> str:
    """Say how many gaps are tight at worst, as drawn or only then: "2", "clear", "not judged"."""
    if tight is None:
        return "not judged"
    return str(len(tight)) if tight else "clear"


def tight_lines(tight: Sequence[TightAtWorst] | None, most: int | None = None) -> list[str]:
    """Say which gaps are tight at worst, and which dimensions take the most of each."""
    return [_tight_line(one, most) for one in tight or ()]


def _tight_line(one: TightAtWorst, most: int | None) -> str:
    line = f"{'tight as drawn already' if one.as_drawn else 'tight at worst'}: {one.title}"
    if not one.taking:
        return line
    at = "at worst " if one.as_drawn else ""
    return f"{line}; {at}most is taken by {', then '.join(one.taking[:most])}"


def short_before_text(count: int) -> str:
    """Say how many gaps fell short of their margin before the search: "1 gap that fell ..."."""
    return f"{count} gap{'' if count == 1 else 's'} that fell short before the search"


def not_counted_lines(count: int) -> list[str]:
    """Say that what fell short before the search is not among what is tight at worst."""
    return [f"not counted: {short_before_text(count)}"] if count else []


def in_place_lines(
    left: LeftInPlace,
    most: int | None = None,
    number: Number = "{:.1f}".format,
    unit: str = "mm",
) -> list[str]:
    """Say what is left with all in place, then where it is least at worst, and what takes it.

    `most` bounds how many dimensions are named; `number` writes a length in mm in the unit.
    """
    if not math.isfinite(left.worst_mm):
        return ["left with all in place: open"]
    drawn, worst, likely = (number(mm) for mm in (left.drawn_mm, left.worst_mm, left.likely_mm))
    where = f"least at worst: {left.zone}, to {left.limit}"
    if left.beside_mm is not None:
        beside = beside_way_words(
            left.beside_mm, lambda mm: f"{number(mm)} {unit}", of_openings=left.of_openings
        )
        where += f", {beside} as drawn"
        where += f", brought in most by {', then '.join(left.bringing[:most])}"
    if left.taking:
        where += f"; most is taken by {', then '.join(left.taking[:most])}"
    return [
        f"left with all in place: {drawn} {unit} as drawn, {worst} {unit} in the worst case, "
        f"statistically {likely} {unit} or more",
        where,
    ]


def row_text(row: Row) -> str:
    """Return what each zone of a row holds in full, and what tolerances leave of it."""
    names = zone_names(row.layout.enclosure)
    scene = row.checked.scene
    lines = []
    for stack in row.stacks.values():
        holds = _sides_words(row.layout, stack)
        how = "".join(
            f", port end to the {port_end_words(one)}"
            + (", ports to the plate" if isinstance(one.use, Item) and one.use.turned_over else "")
            for one in scene.items_of(stack)
            if isinstance(one.part, Exchanger)
        )
        frame = scene.frames[stack.zone]
        slide_mm = (stack.slide_u_mm, stack.slide_v_mm)
        where = slid_words(frame, slide_mm, slots_of(scene.items_of(stack)))
        slide = f", slid {where}" if any(slide_mm) else f", {where}"
        free = free_words(frame, free_slide_mm(scene, stack.id))
        more = f"; free to slide {free}" if free != "no" else ""
        lines.append(f"{names[stack.zone]}: {holds}{how}{slide}{more}")
    for option in row.options:
        if option.free is not None:
            x, y, z = option.free.at_mm
            name = row.layout.part(option.free.part).name
            lines.append(
                f"{name} on its feet at {x:g}, {y:g}, {z:g}, length along {option.free.x_to}"
            )
    lines += in_place_lines(left_in_place(row), 1)
    tight = tight_at_worst(row)
    lines += tight_lines(tight, 1)
    if tight is not None:
        lines += not_counted_lines(short_before(row))
    return "\n".join(lines)


def _sides_words(layout: Layout, stack: Stack) -> str:
    """Return the layers of a stack: "on the outer side 2 x Fan 120 x 15; Exchanger 2 x 120"."""
    outer = " + ".join(_layer_words(layout, layer) for layer in reversed(stack.outer))
    inner = " + ".join(_layer_words(layout, layer) for layer in stack.inner)
    return "; ".join(filter(None, (outer and f"on the outer side {outer}", inner)))


def _layer_words(layout: Layout, layer: Layer) -> str:
    name = layout.part(layer.items[0].part).name
    return f"{len(layer.items)} x {name}" if len(layer.items) > 1 else name
