"""The rows of a search as CSV (RFC 4180), the same from the window and the command line."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from math import isfinite

from geometry.search.answers import MEASURES
from geometry.search.row_limits import LeftInPlace
from geometry.search.slide_words import AS_IT_LIES, NOT_FREE
from geometry.search.summary import RowSummary
from geometry.search.told_figures import told_figure
from geometry.search.words import tight_lines

IN_PLACE = (
    "left_in_place_mm", "left_in_place_worst_mm", "left_in_place_statistical_mm",
    "left_in_place_worst_at", "left_in_place_taken_by", "left_in_place_brought_in_by",
)  # fmt: skip
"""Heads of what is left with all of a row in place: as drawn, in the worst case, at the lower
statistical limit; where it is least in the worst case, which dimensions take the most there, and
which bring in what stands beside the way as drawn."""


def rows_csv(rows: Sequence[RowSummary]) -> str:
    """Return rows as CSV, a head line first.

    Figures by every measure, whether it counted or not; lengths in mm, one that nothing bounds as
    "open". `tight_at_worst` and `short_before`, which are not among it, are empty where tolerances
    were not looked at. Each zone, headed by its name, has all that is told of it.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    heads = [f"{m.key}_{m.unit}".rstrip("_") for m in MEASURES.values()]
    zones = [zone.name for zone in rows[0].zones] if rows else []
    told = ["tight_at_worst", "tight_at_worst_what", "short_before"]
    told += ["like_it", "pattern", "takes_out"]
    writer.writerow(["number", *heads, *IN_PLACE, *told, *zones])
    for row in rows:
        figures = [row.figures[key] for key in MEASURES]
        writer.writerow(
            [row.number, *map(_figure, figures), *_in_place(row.in_place)]
            + ["" if row.tight is None else len(row.tight), " | ".join(tight_lines(row.tight))]
            + ["" if row.tight is None else row.short_before]
            + [row.alike if row.alike_exact else f">={row.alike}"]
            + [row.pattern, " + ".join(row.takes_out)]
            + [facts_text(zone.facts) for zone in row.zones]
        )
    return out.getvalue()


def _in_place(left: LeftInPlace) -> list[str]:
    figures = (left.drawn_mm, left.worst_mm, left.likely_mm)
    limit = f"{left.zone}, to {left.limit}" if left.limit else ""
    return [*map(_figure, figures), limit, *map(" | ".join, (left.taking, left.bringing))]


def facts_text(facts: Mapping[str, str]) -> str:
    """Return all that is told of a zone in one line; "empty" where it holds nothing."""
    return "; ".join(
        _fact_text(label, text)
        for label, text in facts.items()
        if not (label == "holds" and len(facts) > 1)
    )


def _fact_text(label: str, text: str) -> str:
    """Return a fact so that it reads by itself.

    >>> _fact_text("slide", "unslid, middle of its slots"), _fact_text("free to slide", "no")
    ('not slid, middle of its slots', 'not free to slide')
    >>> _fact_text("slide", "2.0 mm up"), _fact_text("pump", "Pump")
    ('slid 2.0 mm up', 'pump Pump')
    """
    if label in ("exchanger", "holds"):
        return text
    if label == "slide":
        at_home = text.startswith(AS_IT_LIES)
        return f"not slid{text.removeprefix(AS_IT_LIES)}" if at_home else f"slid {text}"
    return f"not {label}" if text == NOT_FREE else f"{label} {text}"


def _figure(value: float) -> str:
    return f"{told_figure(value):g}" if isfinite(value) else "open"
