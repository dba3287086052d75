"""The rows of a search as CSV (RFC 4180), the same from the window and the command line."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from math import isfinite

from geometry.search.answers import MEASURES
from geometry.search.summary import RowSummary


def rows_csv(rows: Sequence[RowSummary]) -> str:
    """Return rows as CSV, a head line first.

    Figures by every measure, whether it counted or not; lengths in mm, one that nothing bounds as
    "open". Each zone, headed by its id, has all that is told of it.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    heads = [f"{m.key}_{m.unit}".rstrip("_") for m in MEASURES.values()]
    zones = [zone.zone for zone in rows[0].zones] if rows else []
    told = ["left_in_place_mm", "tight_at_worst", "like_it", "pattern", "takes_out"]
    writer.writerow(["number", *heads, *told, *zones])
    for row in rows:
        figures = [row.figures[key] for key in MEASURES]
        writer.writerow(
            [row.number, *map(_figure, figures), _figure(row.left_in_place_mm)]
            + [row.tight_at_worst, row.alike, row.pattern, " + ".join(row.takes_out)]
            + [facts_text(zone.facts) for zone in row.zones]
        )
    return out.getvalue()


def facts_text(facts: Mapping[str, str]) -> str:
    """Return all that is told of a zone in one line; "empty" where it holds nothing."""
    return "; ".join(
        text if label in ("exchanger", "holds") else f"{label} {text}"
        for label, text in facts.items()
        if not (label == "holds" and len(facts) > 1)
    )


def _figure(value: float) -> str:
    return f"{value + 0.0:g}" if isfinite(value) else "open"
