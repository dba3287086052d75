"""The board with its rulers."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app.ui.board_axes import axes_across, axes_down
from app.ui.board_view import BoardView
from app.ui.preferences import Preferences
from app.ui.rulers import RULER_PX, Ruler
from app.ui.skin import Skin
from app.ui.units import Unit

EDGE_PX = 14.0
UNIT_PX = 6
FIT_ROUNDS = 3
"""Annotations keep their size on screen, so what they reach beyond the views is found by trying."""


class BoardPane(QWidget):
    """Rulers along the top and the left, the unit in the corner, the board in the rest."""

    def __init__(
        self, board: BoardView, preferences: Preferences, skin: Skin, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.board = board
        self._preferences, self._skin = preferences, skin
        self._top = Ruler(Qt.Orientation.Horizontal, skin.chrome)
        self._left = Ruler(Qt.Orientation.Vertical, skin.chrome)
        self._corner = QLabel()
        self._corner.setObjectName("muted")
        self._corner.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._corner.setFixedSize(RULER_PX, RULER_PX)
        self._unit = QLabel("figures on the board in mm", board)
        self._unit.setObjectName("muted")
        self._unit.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(0)
        grid.addWidget(self._corner, 0, 0)
        grid.addWidget(self._top, 0, 1)
        grid.addWidget(self._left, 1, 0)
        grid.addWidget(board, 1, 1)
        board.window_changed.connect(self._follow_window)
        board.pointer_moved.connect(self._follow_pointer)
        board.picture.reframed.connect(self._reframe)
        skin.changed.connect(self._dress)
        preferences.changed.connect(lambda key: self._dress() if key == "grid" else None)
        self._dress()
        self._reframe()

    def fit(self) -> None:
        """Show all views with what is written round them."""
        for _ in range(FIT_ROUNDS):
            x0, y0, x1, y1 = self.board.picture.drawing.bounds
            edge = EDGE_PX * self.board.mm_per_px
            content = QRectF(x0, y0, x1 - x0, y1 - y0).adjusted(-edge, -edge, edge, edge)
            self._set_board(content)
            self.board.zoom_to_fit()

    def _set_board(self, content: QRectF) -> None:
        frame = self.board.picture.frame
        self.board.set_board(content, axes_across(frame), axes_down(frame))

    def _reframe(self) -> None:
        frame = self.board.picture.frame
        self._top.set_spans(axes_across(frame))
        self._left.set_spans(axes_down(frame))
        x0, y0, x1, y1 = frame.bounds
        edge = max(x1 - x0, y1 - y0) * 0.12
        self._set_board(QRectF(x0, y0, x1 - x0, y1 - y0).adjusted(-edge, -edge, edge, edge))

    def _follow_window(self) -> None:
        seen = self.board.seen
        self._unit.adjustSize()
        self._unit.move(UNIT_PX, self.board.height() - self._unit.height() - UNIT_PX)
        self._top.set_window(seen.left(), self.board.mm_per_px)
        self._left.set_window(seen.top(), self.board.mm_per_px)

    def _follow_pointer(self, place: QPointF | None) -> None:
        self._top.set_pointer(place.x() if place is not None else None)
        self._left.set_pointer(place.y() if place is not None else None)

    def _dress(self) -> None:
        unit = self._skin.unit
        self._corner.setText(unit.value)
        self._unit.setVisible(unit is Unit.INCH)
        self._corner.setToolTip(f"Rulers in {unit.value}; see the Board menu")
        for ruler in (self._top, self._left):
            ruler.set_look(self._skin.chrome, unit)
        self.board.set_look(self._skin.chrome, self._preferences.grid)
        self.board.picture.refresh()
