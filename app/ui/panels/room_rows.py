"""What room a part has: its leftover depths and what stands nearest, with their tolerances."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from app.ui.panels.tolerance_texts import contributors_tip, tolerance_line
from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.units import Unit, length_text
from app.ui.widgets import clear_layout, muted, wrapping
from geometry.checks.finding_figures import depth_figure
from geometry.checks.nearest import Nearest, nearest_told
from geometry.finding import Leftover, Report
from geometry.placement import Placed
from geometry.stackup.stack_ups import Figure


class RoomRows(QWidget):
    """Two lines a figure: what it is as drawn; worst case and statistical limits.

    The tip on the second line names all contributors. Nothing is shown while parts move or
    tolerances are worked out behind.
    """

    def __init__(self, session: Session, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._skin = session, skin
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(3)
        self._shown: tuple[object, ...] = ()
        self.lines: list[tuple[QLabel, QLabel]] = []
        """The two labels of every figure shown."""

    def show_part(self, one: Placed | None) -> None:
        """Show the room round a placed part; None shows nothing."""
        busy = self._session.trying or self._session.looking or self._session.stale
        report, unit = self._session.edited.report, self._skin.unit
        shown = () if one is None or busy else (one, report, unit)
        if [id(each) for each in shown] == [id(each) for each in self._shown]:
            return
        self._shown = shown
        clear_layout(self._column)
        self.lines = []
        if shown and one is not None:
            for text, figure in _figures(report, one, unit):
                self._add(text, figure, unit)
        self.setVisible(bool(self.lines))

    def _add(self, text: str, figure: Figure | None, unit: Unit) -> None:
        told, limits = wrapping(text), muted()
        if figure is not None:
            limits.setText(tolerance_line(figure, unit))
            limits.setToolTip(contributors_tip(figure))
        self.lines.append((told, limits))
        for label in (told, limits):
            self._column.addWidget(label)


def _figures(report: Report, one: Placed, unit: Unit) -> Iterator[tuple[str, Figure | None]]:
    cells = [left for depth in report.depths for left in depth.cells if left.item == one.id]
    for left in cells[:1]:
        # An item moves as one: it has the same depth over all its cells.
        if not isinf(left.mm):
            over = ", ".join(each.cell for each in cells)
            yield _depth_text(left, over, unit), depth_figure(report, left)
    if report.survey is not None:
        for nearest, figure in nearest_told(report.survey, one.id):
            yield _nearest_text(nearest, unit), figure


def _depth_text(left: Leftover, over: str, unit: Unit) -> str:
    if left.sideways_mm is not None:
        sideways = length_text(left.sideways_mm, unit)
        return f"Over {over}: overlaps {left.limited_name} by {sideways} sideways"
    return f"Depth over {over}: {length_text(left.mm, unit)} to {left.limited_name}"


def _nearest_text(one: Nearest, unit: Unit) -> str:
    gap, required = length_text(one.gap_mm, unit), length_text(one.required_mm, unit)
    return f"{one.word.capitalize()}: {gap} to {one.b.name} ({required} required)"
