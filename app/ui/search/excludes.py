"""What excludes what: a matrix of zone options, and the largest that still goes into each zone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.ui.search.panel_words import NOT_WORKED_OUT
from app.ui.skin import Skin
from app.ui.units import Unit, length_text
from app.ui.widgets import hint, tip_lines
from geometry.search.excludes import Exclusion
from geometry.search.exclusion_words import (
    PUMP_RULE,
    is_pump_rule,
    meeting_text,
    often_text,
    rule_text,
)
from geometry.search.summary import LargestHere
from geometry.search.told_figures import looked_at_text
from geometry.search.words import short_figure

PAD_PX = 32
"""What a cell or a head keeps free beside its text, both sides together."""
DASH = "–"
NOTHING_YET = "Worked out at the end of a search."
NONE = "No two zones exclude each other: whatever fits alone fits together."
SHORT = (
    "Short: so much is missing to the margin where two come nearest to going together; worst case: "
    "only once every dimension is off by its tolerance."
)
Choice = tuple[str, str]
"""A zone and the pattern of some of its options."""


def cell_words(exclusion: Exclusion, unit: Unit) -> str:
    """Return what stands in a cell: how often not together, and how many mm it falls short."""
    if is_pump_rule(exclusion):
        return rule_text(exclusion)
    often = often_text(exclusion.excluded, exclusion.pairs)
    if exclusion.judged == "rule":
        return f"{often}:\n{rule_text(exclusion)}"
    worst = ", worst case" if exclusion.judged == "worst case" else ""
    return f"{often}\n{_length(exclusion, unit)} short{worst}"


def _length(exclusion: Exclusion, unit: Unit) -> str:
    return short_figure(exclusion.short_mm, lambda mm: length_text(mm, unit))


def exclusion_words(exclusion: Exclusion, names: Mapping[str, str], unit: Unit) -> str:
    """Return an exclusion in a sentence, with the solids that meet."""
    (one, other), (first, second) = exclusion.zones, exclusion.patterns
    pair = f"{names[one]}: {first} with {names[other]}: {second}"
    often = (
        "never go together"
        if exclusion.always
        else f"do not go together in {exclusion.excluded:,} of {exclusion.pairs:,} ways"
    )
    if exclusion.judged == "rule":
        return f"{pair} {often}: {meeting_text(exclusion)}."
    # Two fittings are of like names; which exchanger each is on, its zone tells.
    met = meeting_text(
        replace(
            exclusion,
            first=f"{exclusion.first} (on {names[one]})",
            second=f"{exclusion.second} (on {names[other]})",
        )
    )
    off = " once every dimension is off" if exclusion.judged == "worst case" else ""
    return (
        f"{pair} {often}. {exclusion.how_near.capitalize()}: {met}, "
        f"{_length(exclusion, unit)} missing to the margin{off} ({exclusion.verdict.value})."
    )


class ExclusionMatrix(QWidget):
    """What zones may hold: in rows all but the last zone's, in columns all but the first one's.

    So with two zones no cell pairs a zone with itself. The marked cell is told in full below. What
    holds a pump stands last; what excludes nothing but a second pump is left out, and told below.
    """

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._told: dict[tuple[int, int], Exclusion] = {}
        self._choices: tuple[list[Choice], list[Choice]] = ([], [])
        """What stands in each row and in each column."""
        self._left_out: tuple[Choice, ...] = ()
        """What excludes nothing but a second pump."""
        self._names: Mapping[str, str] = {}
        self._shown: tuple[Sequence[Exclusion], float] = ((), 0.0)
        self._stopped = False
        self.table = QTableWidget()
        self.table.setAccessibleName("What excludes what")
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setTabKeyNavigation(False)
        self.table.setCornerButtonEnabled(False)
        self.table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.sentence = hint()
        column = QVBoxLayout(self)
        column.setContentsMargins(10, 6, 10, 6)
        column.addWidget(self.table, 1)
        column.addWidget(self.sentence)
        self.table.currentCellChanged.connect(lambda row, at, *_: self._tell(row, at))
        skin.changed.connect(self._fill)
        self._fill()

    def show_exclusions(
        self,
        exclusions: Sequence[Exclusion],
        looked_at: float,
        names: Mapping[str, str],
        *,
        stopped: bool = False,
    ) -> None:
        """Show what a search found; `looked_at` is the share of it that was, `names` the zones'.

        `stopped`: the search was, before its end. The marked cell and the place that is scrolled
        to are kept.
        """
        shown = (tuple(exclusions), looked_at)
        if (shown, names, stopped) != (self._shown, self._names, self._stopped):
            self._shown, self._names, self._stopped = shown, dict(names), stopped
            self._fill()

    def _fill(self) -> None:
        """Make the table anew, with the same choices marked and the same place in sight."""
        chosen = self._chosen
        bars = self.table.horizontalScrollBar(), self.table.verticalScrollBar()
        scrolled = [bar.value() for bar in bars]
        self._list_choices()
        self._fill_cells()
        self._fit_cells()
        self.sentence.setText(self._hint())
        down, across = self._choices
        if chosen is not None and chosen[0] in down and chosen[1] in across:
            self.table.setCurrentCell(down.index(chosen[0]), across.index(chosen[1]))
        # Until it is laid out anew the table can be scrolled no further than an empty one.
        self.table.doItemsLayout()
        for bar, value in zip(bars, scrolled, strict=True):
            bar.setValue(value)

    @property
    def _chosen(self) -> tuple[Choice, Choice] | None:
        """What stands in the row and in the column of the marked cell; None where none is."""
        row, column = self.table.currentRow(), self.table.currentColumn()
        if row < 0 or column < 0:
            return None
        return self._choices[0][row], self._choices[1][column]

    def _list_choices(self) -> None:
        """Find what stands in rows and in columns, and what each cell tells."""
        exclusions = self._shown[0]
        known: dict[Choice, None] = {}
        pumped: dict[Choice, None] = {}
        for one in exclusions:
            for choice in zip(one.zones, one.patterns, strict=True):
                (pumped if is_pump_rule(one) else known)[choice] = None
        self._left_out = tuple(choice for choice in pumped if choice not in known)
        order = list(self._names)

        def at(choice: Choice) -> int:
            return order.index(choice[0]) if choice[0] in order else 0

        listed = sorted(known, key=lambda choice: (choice in pumped, at(choice)))
        zones = [choice[0] for choice in sorted(known, key=at)]
        across = [choice for choice in listed if choice[0] != zones[0]]
        down = [choice for choice in listed if choice[0] != zones[-1]]
        self._choices = down, across
        row_of, column_of = ({choice: k for k, choice in enumerate(of)} for of in (down, across))
        self._told = {}
        for one in exclusions:
            first, second = zip(one.zones, one.patterns, strict=True)
            for row, column in ((first, second), (second, first)):
                if row in row_of and column in column_of:
                    self._told[row_of[row], column_of[column]] = one

    def _heads(self, choices: Sequence[Choice]) -> list[str]:
        return [f"{self._names.get(zone, zone)}:\n{pattern}" for zone, pattern in choices]

    def _fill_cells(self) -> None:
        down, across = self._choices
        self.table.setVisible(bool(down))
        self.table.clear()
        self.table.setRowCount(len(down))
        self.table.setColumnCount(len(across))
        self.table.setHorizontalHeaderLabels(self._heads(across))
        self.table.setVerticalHeaderLabels(self._heads(down))
        for (a, b), one in self._told.items():
            self.table.setItem(a, b, self._item(one))
        for a, b in self._same_zone():
            item = QTableWidgetItem(DASH)
            item.setTextAlignment(Qt.AlignmentFlag.AlignCenter)
            self.table.setItem(a, b, item)

    def _fit_cells(self) -> None:
        """Give all cells the room that the widest words need."""
        # Asking every cell for its size takes a tenth of a second where there are many zones.
        bold = QFontMetrics(_bold(self.font()))
        heads = self._heads(self._choices[1])
        unit = self._skin.unit
        lines = [line for head in heads for line in head.split("\n")]
        lines += [line for one in self._shown[0] for line in cell_words(one, unit).split("\n")]
        wide = max(map(bold.horizontalAdvance, lines), default=0) + PAD_PX
        self.table.horizontalHeader().setDefaultSectionSize(wide)
        high = 2 * self.fontMetrics().lineSpacing() + PAD_PX // 4
        self.table.verticalHeader().setDefaultSectionSize(high)

    def _same_zone(self) -> list[tuple[int, int]]:
        """Return the cells that pair a zone with itself."""
        rows, columns = self._choices
        return [
            (a, b)
            for a, (zone, _) in enumerate(rows)
            for b, (other, _) in enumerate(columns)
            if zone == other
        ]

    def _hint(self) -> str:
        exclusions, looked_at = self._shown
        cut_short = f"Cut short: {looked_at_text(looked_at)}"
        if not exclusions:
            unlooked = NOT_WORKED_OUT if self._stopped else NOTHING_YET
            nothing = f"{cut_short}, nothing found so far." if looked_at else unlooked
            return NONE if looked_at == 1.0 else nothing
        lines = [self._pump_line()] if self._left_out else []
        if not self._told:
            return " ".join(lines)
        lines.append("Choose a cell to read which solids meet.")
        if any(one.judged != "rule" for one in self._told.values()):
            lines.append(SHORT)
        if self._same_zone():
            lines.append(f"{DASH}: both stand on the same zone.")
        rows, columns = (range(len(choices)) for choices in self._choices)
        if any(self.table.item(a, b) is None for a in rows for b in columns):
            together = "they go together in all ways"
            lines.append(
                f"Empty: not looked at, or {together}."
                if looked_at < 1.0
                else f"Empty: {together}."
            )
        if looked_at < 1.0:
            lines.append(f"{cut_short}.")
        return " ".join(lines)

    def _pump_line(self) -> str:
        """Say what is left out, as it excludes nothing but a second pump."""
        zones: dict[str, list[str]] = {}
        for zone, pattern in self._left_out:
            zones.setdefault(self._names.get(zone, zone), []).append(pattern)
        told = "; ".join(f"{zone}: {', '.join(patterns)}" for zone, patterns in zones.items())
        return f"Left out, for they exclude only each other ({PUMP_RULE}): {told}."

    def _item(self, exclusion: Exclusion) -> QTableWidgetItem:
        item = QTableWidgetItem(cell_words(exclusion, self._skin.unit))
        item.setToolTip(tip_lines(exclusion_words(exclusion, self._names, self._skin.unit)))
        item.setTextAlignment(Qt.AlignmentFlag.AlignCenter)
        if exclusion.always and not is_pump_rule(exclusion):
            item.setFont(_bold(item.font()))
        return item

    def _tell(self, row: int, column: int) -> None:
        one = self._told.get((row, column))
        if one is not None:
            self.sentence.setText(exclusion_words(one, self._names, self._skin.unit))
        elif row >= 0 and self._choices[0][row][0] == self._choices[1][column][0]:
            self.sentence.setText("Both would stand on the same zone.")
        elif row >= 0 and self._shown[1] < 1.0:
            self.sentence.setText("Not looked at, or these go together in all ways.")
        elif row >= 0:
            self.sentence.setText("These go together in all ways that were listed.")


def _bold(font: QFont) -> QFont:
    """Return a font as the heads of the chosen cell have it."""
    made = QFont(font)
    made.setBold(True)
    return made


class LargestTable(QWidget):
    """The thickest, longest and deepest of each zone, the others being as in the first row."""

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._shown: tuple[Sequence[LargestHere], bool, bool] = ((), False, False)
        self.table = QTableWidget()
        self.table.setObjectName("lines")
        self.table.setAccessibleName("Largest per zone")
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setTabKeyNavigation(False)
        self.table.setShowGrid(False)
        self.table.verticalHeader().hide()
        self.hint = hint()
        column = QVBoxLayout(self)
        column.setContentsMargins(10, 6, 10, 6)
        column.addWidget(self.hint)
        column.addWidget(self.table, 1)
        skin.changed.connect(lambda: self.show_largest(*self._shown))
        self.show_largest((), False)

    def show_largest(
        self, largest: Sequence[LargestHere], done: bool, stopped: bool = False
    ) -> None:
        """Show what a search found; `done` tells that it has looked, `stopped` that it will not."""
        self._shown = (largest, done, stopped)
        self.table.setVisible(bool(largest))
        self.hint.setText(
            "What at most still goes into one zone at a listed slide, the other zones being as in "
            "row 1, and what near misses show to go in between these. "
            "Thickest and longest are of the core, deepest is the whole stack on one side "
            "of the plate."
            if largest
            else "Nothing fits, so nothing is largest."
            if done
            else NOT_WORKED_OUT
            if stopped
            else NOTHING_YET
        )
        heads = ("Zone", "What", "Size", "Which")
        self.table.setColumnCount(len(heads))
        self.table.setHorizontalHeaderLabels(heads)
        self.table.setRowCount(len(largest))
        for k, one in enumerate(largest):
            size = length_text(one.mm, self._skin.unit)
            for n, text in enumerate((one.name, one.what, size, one.option)):
                item = QTableWidgetItem(text)
                item.setToolTip(tip_lines(text))
                self.table.setItem(k, n, item)
        head = self.table.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.table.resizeRowsToContents()
