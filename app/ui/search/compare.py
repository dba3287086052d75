"""Two rows of a search side by side, with what differs; or one of them in full."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.document.own_texts import texts_with_lengths
from app.ui.search.measure_units import measure_text, unit_sign
from app.ui.search.rows import (
    ALIKE,
    IN_PLACE,
    LEFT,
    LEFT_LIKELY,
    LEFT_WORST,
    SHORT_NAMES,
    WORST,
    cell_text,
    in_place_mm,
)
from app.ui.skin import Skin
from app.ui.units import Unit, in_unit, length_text
from app.ui.widgets import hint
from geometry.search.answers import MEASURES, Measure
from geometry.search.stack_facts import FACTS
from geometry.search.summary import RowSummary
from geometry.search.words import not_counted_lines, tight_lines
from geometry.stackup.words import beside_way_words

HINT = "Select one row of the combinations to read all of it here, or two (Ctrl+click) to compare."


@dataclass(frozen=True)
class Line:
    """One line of a comparison: what is told, the text of each row, and the difference in words.

    `difference` is empty where the rows agree.
    """

    what: str
    texts: tuple[str, ...]
    difference: str = ""


def comparison(rows: Sequence[RowSummary], unit: Unit) -> list[Line]:
    """Return the lines that tell one row, or compare two: measures first, then zone by zone.

    Lengths are told in `unit`; names, and the dimensions that parts are made to, keep to mm.
    """
    kept = texts_with_lengths([row.layout for row in rows]) if unit is not Unit.MM else ()
    made_in = "" if unit is Unit.MM else " (dimensions of parts in mm)"

    def say(text: str) -> str:
        return in_unit(text, unit, kept)

    lines = [_measure_line(rows, measure, unit) for measure in MEASURES.values()]
    lines += [_in_place_line(rows, column, unit) for column in IN_PLACE]
    limits = tuple(_limit_text(row, unit) for row in rows)
    if any(limits):
        lines.append(Line(f"At worst, most is taken{made_in}", limits, _differs(limits)))
    for column in (WORST, ALIKE):
        texts = tuple(cell_text(row, column, unit) for row in rows)
        lines.append(Line(SHORT_NAMES[column], texts, _differs(texts)))
    if any(row.tight or row.short_before for row in rows if row.tight is not None):
        told = tuple("\n".join(map(say, _tight_texts(row))) or "–" for row in rows)
        lines.append(Line(f"What is tight at worst{made_in}", told, _differs(told)))
    if any(row.takes_out for row in rows):
        texts = tuple(" + ".join(row.takes_out) or "–" for row in rows)
        lines.append(Line("Takes out", texts, _differs(texts)))
    by_zone = [{zone.zone: zone for zone in row.zones} for row in rows]
    for zone in rows[0].zones:
        held = [of.get(zone.zone) for of in by_zone]
        for label in FACTS:
            facts = (one.facts.get(label, "–") if one is not None else "–" for one in held)
            texts = tuple(map(say, facts))
            if any(text != "–" for text in texts):
                lines.append(Line(f"{zone.name}: {label}", texts, _differs(texts)))
    return lines


def _measure_line(rows: Sequence[RowSummary], measure: Measure, unit: Unit) -> Line:
    sign = unit_sign(measure, unit)
    what = f"{SHORT_NAMES[measure.key]}{f' ({sign})' if sign else ''}"
    texts = tuple(cell_text(row, measure.key, unit) for row in rows)
    return _figures(what, texts, [row.figures[measure.key] for row in rows], measure, unit)


def _in_place_line(rows: Sequence[RowSummary], column: str, unit: Unit) -> Line:
    which = {LEFT: "as drawn", LEFT_WORST: "at worst", LEFT_LIKELY: "statistically"}[column]
    texts = tuple(cell_text(row, column, unit) for row in rows)
    values = [in_place_mm(row, column) for row in rows]
    what = f"Left in place, {which} ({unit.value})"
    return _figures(what, texts, values, MEASURES["leftover"], unit)


def _figures(
    what: str, texts: tuple[str, ...], values: Sequence[float], measure: Measure, unit: Unit
) -> Line:
    if not _differs(texts):
        return Line(what, texts)
    first, second = values
    if not (math.isfinite(first) and math.isfinite(second)):
        return Line(what, texts, "differs")
    more = second - first
    word = "better" if more * measure.sign > 0 else "worse"
    return Line(what, texts, f"{measure_text(measure, more, unit, signed=True)}, {word}")


def _limit_text(row: RowSummary, unit: Unit) -> str:
    """Return where least is left at worst, and which dimensions take the most there."""
    left = row.in_place
    if not left.limit:
        return ""
    where = f"{left.zone}, to {left.limit}"
    if left.beside_mm is not None:
        beside = beside_way_words(
            left.beside_mm, lambda mm: length_text(mm, unit), of_openings=left.of_openings
        )
        where += f", {beside} as drawn"
    bringing = ["brought in from beside the way by:", *left.bringing] if left.bringing else []
    return "\n".join([f"{where}:", *left.taking, *bringing])


def _tight_texts(row: RowSummary) -> list[str]:
    if row.tight is None:
        return []
    lines = [*tight_lines(row.tight), *not_counted_lines(row.short_before)]
    return [line.removeprefix("tight at worst: ") for line in lines]


def _differs(texts: Sequence[str]) -> str:
    return "differs" if len(set(texts)) > 1 else ""


class CompareView(QWidget):
    """A table of the lines; what differs is bold and says so in a column of its own."""

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._rows: tuple[RowSummary, ...] = ()
        self._hint = hint(HINT)
        self.table = QTableWidget()
        self.table.setObjectName("lines")
        self.table.setAccessibleName("Rows side by side")
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setTabKeyNavigation(False)
        self.table.setShowGrid(False)
        self.table.setWordWrap(True)
        self.table.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.table.verticalHeader().hide()
        self.table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.table.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        # Wrapped lines are as high as the columns make them, once these have their width.
        self._fit = QTimer(self, singleShot=True, interval=0)
        self._fit.timeout.connect(self.table.resizeRowsToContents)
        self.table.horizontalHeader().sectionResized.connect(self._on_resized)
        column = QVBoxLayout(self)
        column.setContentsMargins(10, 6, 10, 6)
        column.addWidget(self._hint)
        column.addWidget(self.table, 1)
        skin.changed.connect(lambda: self.show_rows(self._rows))
        self.show_rows(())

    def _on_resized(self, _column: int, _old: int, _new: int) -> None:
        self._fit.start()

    def show_rows(self, rows: Sequence[RowSummary]) -> None:
        """Show one row in full, or two side by side; of more than two the first two."""
        self._rows = tuple(rows[:2])
        more = len(rows) > 2
        self._hint.setVisible(not rows or more)
        self._hint.setText(
            "More than two rows are selected: the first two are shown." if more else HINT
        )
        self.table.setVisible(bool(rows))
        lines = comparison(self._rows, self._skin.unit) if rows else []
        heads = ["", *(f"Row {row.number}" for row in self._rows)]
        if len(self._rows) == 2:
            heads.append(f"Row {self._rows[1].number} against {self._rows[0].number}")
        self.table.setColumnCount(len(heads))
        self.table.setHorizontalHeaderLabels(heads)
        self.table.setRowCount(len(lines))
        for k, line in enumerate(lines):
            texts = (line.what, *line.texts, line.difference)[: len(heads)]
            for n, text in enumerate(texts):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
                if n and line.difference:
                    font = item.font()
                    font.setBold(True)
                    item.setFont(font)
                self.table.setItem(k, n, item)
        head = self.table.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        # Long texts wrap, so that both rows are in sight side by side.
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        for k in range(1, 1 + len(self._rows)):
            head.setSectionResizeMode(k, QHeaderView.ResizeMode.Stretch)
        self.table.resizeRowsToContents()
