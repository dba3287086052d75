"""Rows of the sheet that tell what stands nearest to port ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.sheet.content import tolerance_lines
from app.sheet.item_references import item_references
from app.sheet.table import LABEL_MM, Cell, ColumnSpec, Row
from app.sheet.words import figure_mm
from geometry.checks.nearest import nearest_figure, nearest_of

if TYPE_CHECKING:
    from geometry.checks.runner import Checked

NEAREST_COLUMNS = (
    ColumnSpec("Port end of", 30),
    ColumnSpec("Nearest to it", 50),
    ColumnSpec("Gap", 14, "right", fixed=True),
    ColumnSpec("Asked for", 15, "right", fixed=True),
    ColumnSpec("Worst case", 15, "right", fixed=True),
    ColumnSpec("Statistical limits, and largest shares of its tolerance", 62),
)


def nearest_rows(checked: Checked) -> list[Row]:
    """Return one row for each part with ports: what stands nearest to its port end."""
    survey = checked.report.survey
    if survey is None:
        return []
    rows: list[Row] = []
    references = item_references(checked.scene.layout)
    for owner, placed in checked.scene.placed.items():
        part = placed.part.name
        for one in nearest_of(survey, owner):
            if one.kind != "port_end":
                continue
            figure = nearest_figure(survey, one)
            rows.append(
                (
                    f"{references[owner]}\n{one.a.name.removeprefix(f'{part}, ')}",
                    Cell(one.b.name, height_mm=LABEL_MM),
                    figure_mm(one.gap_mm, one.required_mm),
                    figure_mm(one.required_mm),
                    "" if figure is None else figure_mm(figure.worst.worst_mm),
                    Cell("\n".join(tolerance_lines(figure, references)), height_mm=LABEL_MM),
                )
            )
    return rows
