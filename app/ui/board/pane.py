"""The board with its rulers."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app.drawing.primitives import Bounds
from app.ui.board.axes import axes_across, axes_down
from app.ui.board.canvas import clamped
from app.ui.board.rulers import RULER_PX, Ruler
from app.ui.board.view import BoardView
from app.ui.preferences import Preferences
from app.ui.skin import Skin
from app.ui.units import Unit

EDGE_PX = 14.0
UNIT_PX = 6
FIT_ROUNDS = 3
"""Annotations keep their size on screen, so what they reach beyond the views is found by trying."""

USUAL_REACH_PX = (85.0, 58.0, 105.0, 0.0)
"""What annotations usually reach beyond the views: left, top, right, bottom."""

LEAST_SHARE = 0.4
"""What the views keep of a small window, whatever annotations reach beyond it."""

WASTE, OVER = 0.03, 0.002
"""By how much less than the best scale, and by how much more, is well enough to try no more."""


class BoardPane(QWidget):
    """Rulers along the top and the left, the unit in the corner, the board in the rest."""

    def __init__(
        self, board: BoardView, preferences: Preferences, skin: Skin, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.board = board
        self._preferences, self._skin = preferences, skin
        self._reach_px = USUAL_REACH_PX
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
        picture = self.board.picture
        with picture.at_once():
            picture.reframe()
            scale, (x0, y0, x1, y1) = self._fitting()
            edge = EDGE_PX / scale
            content = QRectF(x0, y0, x1 - x0, y1 - y0).adjusted(-edge, -edge, edge, edge)
            self._set_board(content)
            self.board.fit_at(scale, content.center())
            picture.refresh()

    def _fitting(self) -> tuple[float, Bounds]:
        """Return the pixels a millimetre at which all is seen, and what is then taken up (mm)."""
        picture = self.board.picture
        scale = self._scale_for(self._reach_px)
        for _ in range(FIT_ROUNDS):
            taken = picture.bounds_at(1.0 / scale)
            x0, y0, x1, y1 = picture.frame.bounds
            beyond = (x0 - taken[0], y0 - taken[1], taken[2] - x1, taken[3] - y1)
            reach = (beyond[0] * scale, beyond[1] * scale, beyond[2] * scale, beyond[3] * scale)
            best = self._scale_for(reach)
            if best * (1.0 - WASTE) <= scale <= best * (1.0 + OVER):
                return scale, taken
            scale, self._reach_px = best, reach
        return scale, picture.bounds_at(1.0 / scale)

    def _scale_for(self, reach_px: Bounds) -> float:
        """Return the pixels a millimetre at which the views fit with `reach_px` beyond them."""
        left, top, right, bottom = reach_px
        size = self.board.viewport().size()
        x0, y0, x1, y1 = self.board.picture.frame.bounds
        width_px, height_px = size.width() - 2 * EDGE_PX, size.height() - 2 * EDGE_PX
        across = max(width_px - left - right, LEAST_SHARE * width_px) / (x1 - x0)
        down = max(height_px - top - bottom, LEAST_SHARE * height_px) / (y1 - y0)
        return clamped(min(across, down))

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
