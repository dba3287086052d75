"""The rows of a search as CSV (RFC 4180)."""

from __future__ import annotations

import csv
import io
from math import isfinite

from geometry.search.answers import Row
from geometry.search.run import Searched


def rows_csv(found: Searched) -> str:
    """Return the rows as CSV (RFC 4180), a head line first."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    zones = [zone.zone for zone in found.problem.zones]
    heads = [f"{m.key}_{m.unit}".rstrip("_") for m in found.wanted]
    writer.writerow(
        ["number", *heads, "left_in_place_mm", "tight_at_worst", "like_it", "pattern", *zones]
    )
    for n, row in enumerate(found.answer.rows, start=1):
        figures = [row.figures[m.key] for m in found.wanted]
        writer.writerow(
            [n, *map(csv_figure, figures), csv_figure(row.left_in_place_mm)]
            + [row.tight_at_worst, row.alike, row.pattern]
            + [_option_text(row, k) for k in range(len(zones))]
        )
    return out.getvalue()


def csv_figure(value: float) -> str:
    """Write a figure; what nothing bounds is "open"."""
    return f"{value + 0.0:g}" if isfinite(value) else "open"


def _option_text(row: Row, zone: int) -> str:
    option = row.options[zone]
    if option.stack is None:
        return option.pattern if option.states or option.free is not None else ""
    layers = (*reversed(option.stack.outer), *option.stack.inner)
    return " + ".join(f"{len(layer.items)} x {layer.items[0].part}" for layer in layers)
