"""The answer of a search as lines for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from app.cli.figures import mm_text, table
from app.cli.search_finer import finer_lines
from app.cli.search_rows import rows_in_full, trade_off_lines
from geometry.edits import CUT_CAUTION
from geometry.layout import Layout
from geometry.search.exclusion_words import in_order, meeting_text, missing_text
from geometry.search.near.cuts import any_cut
from geometry.search.near.largest import slid_in, with_slid_in
from geometry.search.near.misses import NearMisses
from geometry.search.near.words import (
    NO_CHANGE,
    extent_text,
    gain_text,
    letting_in_text,
    miss_text,
    refused_text,
    short_text,
)
from geometry.search.problem import Listed
from geometry.search.run import Searched
from geometry.search.summary import summary
from geometry.search.told_figures import looked_at_text
from geometry.search.words import (
    count_text,
    no_pump_text,
    short_figure,
    standing_lines,
)
from geometry.zone_names import zone_names


def search_lines(
    found: Searched,
    near: NearMisses,
    width: int,
    *,
    in_full: Sequence[int] = (),
    finer: tuple[str, str] | None = None,
    cutting: bool,
    stopped: bool,
) -> list[str]:
    """Return what was found, as lines; `in_full` numbers the rows of which all is told.

    Of the two zones of `finer` it is told what excludes what by thickness and fans.
    """
    problem = found.problem
    layout = problem.base.scene.layout
    judged = "clear or tight" if problem.wishes.tight_allowed else "clear"
    lines = [f"{layout.enclosure.name}: what fits ({judged})", ""]
    names = problem.names
    rows = [(f"{zone.listed:,}", f"{zone.fit_alone:,}", names[zone.zone]) for zone in problem.zones]
    lines += table(("listed", "fit alone", "zone"), rows, right=frozenset((0, 1)), width=width)
    lines += ["", *textwrap.wrap(count_text(found), width), *standing_lines(found), ""]
    wanted = ", ".join(m.name for m in found.wanted)
    whole = "" if found.answer.done else " (cut short: there may be better ones)"
    lines.append(f"best trade-offs by {wanted}{whole}:")
    lines += trade_off_lines(found, width, in_full=bool(in_full))
    if found.answer.refused:
        lines.append(f"{found.answer.refused} more were left out: the full check did not agree")
    no_pump = no_pump_text(found)
    lines += textwrap.wrap(f"{no_pump} (--pump required)", width) if no_pump else []
    lines += rows_in_full(found, in_full, width)
    lines += _exclusion_lines(found, width)
    lines += [] if finer is None else finer_lines(found, finer, width)
    lines += _largest_lines(found, near, width)
    lines += _near_lines(near, width, cutting=cutting)
    if stopped:
        lines += ["", "stopped before it was done; what was found so far is kept"]
    return lines


def unbegun_lines(layout: Layout, listed: Sequence[Listed]) -> list[str]:
    """Return what is known of a search that was stopped before it had rows: its zones so far."""
    names = zone_names(layout.enclosure)
    rows = [(f"{z.listed:,}", f"{z.fit_alone:,}", names.get(z.zone, z.zone)) for z in listed]
    head = ("listed", "fit alone", "zone, those that are judged so far")
    return table(head, rows, right=frozenset((0, 1)), width=72)


def _with_loss(text: str, takes_out: tuple[str, ...]) -> str:
    """Add what would be taken out of the layout, where something would."""
    return f"{text}\ntakes out: {' + '.join(takes_out)}" if takes_out else text


def _exclusion_lines(found: Searched, width: int) -> list[str]:
    """Return what excludes what, options that never stand together first."""
    looked_at = found.excluded_share
    cut_short = f"what excludes what was cut short: {looked_at_text(looked_at)}"
    if not found.exclusions:
        none = "no two zones exclude each other"
        return ["", none if looked_at == 1.0 else f"{cut_short}, nothing so far"]
    names = found.problem.names
    told = in_order(found.exclusions)
    rows = [
        (
            "never" if e.always else f"{e.excluded:,} of {e.pairs:,} not",
            missing_text(e, mm_text),
            f"{names[e.zones[0]]}: {e.patterns[0]} with {names[e.zones[1]]}: {e.patterns[1]}\n"
            + (meeting_text(e) if e.judged == "rule" else f"{e.how_near}: {meeting_text(e)}"),
        )
        for e in told
    ]
    head = ("together", "missing mm", "what excludes what, and the solids that meet")
    lines = ["", *table(head, rows, right=frozenset((1,)), width=width)]
    return lines if looked_at == 1.0 else [*lines, f"{cut_short}, there may be more"]


def _largest_lines(found: Searched, near: NearMisses, width: int) -> list[str]:
    """Return what at most goes into each zone, the other zones being as in the first row."""
    slid = slid_in(found.problem, near.found)
    largest = with_slid_in(summary(found).largest, slid)
    if not largest:
        return []
    rows = [(one.name, one.what, mm_text(one.mm), one.option) for one in largest]
    head = (
        "zone",
        "what",
        "mm",
        "that still goes in at a listed slide, the other zones as in row 1",
    )
    return ["", *table(head, rows, right=frozenset((2,)), width=width)]


def _near_lines(near: NearMisses, width: int, *, cutting: bool) -> list[str]:
    """Return what would be more than any row, what refuses it, and what would let it in."""
    how = "cutting allowed" if cutting else "no cutting"
    cut_short = "" if near.done else ", cut short"
    head = f"near misses ({how}{cut_short}):"
    extent = extent_text(near)
    farther = textwrap.wrap(extent, width) if extent else []
    if not near.found:
        return ["", head, "  none" if near.done else "  none so far", *farther]
    rows = [
        (
            str(number),
            gain_text(miss),
            short_text(miss.short_mm, miss.at_worst, short_figure(miss.short_mm, mm_text)),
            "\n".join(
                [
                    _with_loss(miss_text(miss), miss.takes_out),
                    f"refused: {refused_text(miss)}",
                    *(f"-> {relaxation.name}" for relaxation in miss.relaxations),
                    *([] if miss.relaxations else [f"{NO_CHANGE[:1].lower()}{NO_CHANGE[1:]}"]),
                ]
            ),
        )
        for number, miss in enumerate(near.found, start=1)
    ]
    columns = (
        "#",
        "more",
        "missing mm",
        "what it is, why it is refused, and what makes it fit",
    )
    mended = sum(bool(miss.relaxations) for miss in near.found)
    any_of = letting_in_text(mended, len(near.found))
    told = f"{head} each would beat every row but is refused; {any_of}."
    lines = ["", *textwrap.wrap(told, width)]
    lines += table(columns, rows, right=frozenset((0, 2)), width=width)
    lines += farther
    if any_cut(near.found):
        lines += textwrap.wrap(f"Caution: {CUT_CAUTION}", width)
    return lines
