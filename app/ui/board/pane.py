"""The board with its rulers."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt, QTimer
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app.drawing.axes import axes_across, axes_down
from app.drawing.frame import union_bounds
from app.drawing.primitives import Bounds
from app.ui.board.canvas import clamped
from app.ui.board.rulers import RULER_PX, Ruler
from app.ui.board.view import BoardView
from app.ui.preferences import Preferences
from app.ui.skin import Skin

EDGE_PX, LEAST_EDGE_PX = 14.0, 3.0
"""What is left free round a fitted board, and where room is short."""

FIT_ROUNDS = 3
"""Annotations keep their size on screen, so what they reach beyond the views is found by trying."""

USUAL_REACH_PX = (46.0, 58.0, 120.0, 0.0)
"""What annotations usually reach beyond the views: left, top, right, bottom."""

COMPACT_REACH_PX = (46.0, 58.0, 42.0, 0.0)
"""What overall dimensions, titles and balloons without notes need."""

REFIT_MS = 60
"""How long the window keeps its size before the board is fitted to it with all its annotations."""

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
        self._refit = QTimer(self, singleShot=True, interval=REFIT_MS)
        self._refit.timeout.connect(lambda: self.fit() if board.fitted else None)
        self._was_fitted = False
        self._top = Ruler(Qt.Orientation.Horizontal, skin.chrome)
        self._left = Ruler(Qt.Orientation.Vertical, skin.chrome)
        self._corner = QLabel()
        self._corner.setObjectName("muted")
        self._corner.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._corner.setFixedSize(RULER_PX, RULER_PX)
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
        board.refit_wanted.connect(self._refit_later)
        board.all_wanted.connect(self.fit)
        skin.changed.connect(self._dress)
        preferences.changed.connect(lambda key: self._dress() if key == "grid" else None)
        self._dress()
        self._reframe()

    def _refit_later(self) -> None:
        """Find the scale anew for a window of another size, once that rests."""
        if self._was_fitted:
            self._refit.start()

    def fit(self) -> None:
        """Show all views with all parts and what is written round them."""
        picture = self.board.picture
        self._was_fitted = True
        with picture.at_once():
            picture.reframe()
            scale, taken = self._fitting()
            x0, y0, x1, y1 = union_bounds([taken, picture.extent])
            edge = EDGE_PX / scale
            content = QRectF(x0, y0, x1 - x0, y1 - y0).adjusted(-edge, -edge, edge, edge)
            self._set_board(content)
            self.board.fit_at(scale, self._middle(content, scale))
            seen, least = self.board.seen, LEAST_EDGE_PX / scale
            within = seen.adjusted(least, least, -least, -least)
            picture.keep_to(
                self.board.mm_per_px,
                (within.left(), within.top(), within.right(), within.bottom()),
            )
            picture.refresh()

    def _middle(self, content: QRectF, scale: float) -> QPointF:
        """Return the middle of what is to be seen: of all, or so that no view is cut off."""
        size = self.board.viewport().size()
        x0, y0, x1, y1 = self.board.picture.extent
        middle = content.center()
        spare_x = max(0.0, (size.width() - 2 * EDGE_PX) / scale - (x1 - x0)) / 2
        spare_y = max(0.0, (size.height() - 2 * EDGE_PX) / scale - (y1 - y0)) / 2
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        return QPointF(
            min(max(middle.x(), x - spare_x), x + spare_x),
            min(max(middle.y(), y - spare_y), y + spare_y),
        )

    def _fitting(self) -> tuple[float, Bounds]:
        """Return the pixels a millimetre at which all is seen, and what is then taken up (mm)."""
        picture = self.board.picture
        if self._leaves_too_little(self._reach_px):
            return self._compactly()
        scale = self._scale_for(self._reach_px)
        size, edge = self.board.viewport().size(), 2 * LEAST_EDGE_PX
        for _ in range(FIT_ROUNDS):
            taken = picture.bounds_at(1.0 / scale)
            x0, y0, x1, y1 = picture.extent
            beyond = (x0 - taken[0], y0 - taken[1], taken[2] - x1, taken[3] - y1)
            reach = (beyond[0] * scale, beyond[1] * scale, beyond[2] * scale, beyond[3] * scale)
            best = self._scale_for(reach)
            if best * (1.0 - WASTE) <= scale <= best * (1.0 + OVER):
                break
            scale, self._reach_px = best, reach
        x0, y0, x1, y1 = union_bounds([picture.bounds_at(1.0 / scale), picture.extent])
        if (x1 - x0) * scale + edge <= size.width() and (y1 - y0) * scale + edge <= size.height():
            return scale, (x0, y0, x1, y1)
        self._reach_px = USUAL_REACH_PX
        return self._compactly()

    def _leaves_too_little(self, reach_px: Bounds) -> bool:
        """Whether what reaches beyond the views takes of the window what they keep of it."""
        left, top, right, bottom = reach_px
        size = self.board.viewport().size()
        keeps = 1.0 - LEAST_SHARE
        return left + right > keeps * (size.width() - 2 * EDGE_PX) or top + bottom > keeps * (
            size.height() - 2 * EDGE_PX
        )

    def _compactly(self) -> tuple[float, Bounds]:
        """Return the scale for a window too small for all, with room for what is least left out."""
        scale = self._scale_for(COMPACT_REACH_PX)
        left, top, right, bottom = (px / scale for px in COMPACT_REACH_PX)
        x0, y0, x1, y1 = self.board.picture.extent
        return scale, (x0 - left, y0 - top, x1 + right, y1 + bottom)

    def _scale_for(self, reach_px: Bounds) -> float:
        """Return the pixels a millimetre at which the views fit with `reach_px` beyond them."""
        left, top, right, bottom = reach_px
        size = self.board.viewport().size()
        x0, y0, x1, y1 = self.board.picture.extent
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
        self._top.set_window(seen.left(), self.board.mm_per_px)
        self._left.set_window(seen.top(), self.board.mm_per_px)

    def _follow_pointer(self, place: QPointF | None) -> None:
        self._top.set_pointer(place.x() if place is not None else None)
        self._left.set_pointer(place.y() if place is not None else None)

    def _dress(self) -> None:
        unit = self._skin.unit
        self._corner.setText(unit.value)
        self._corner.setToolTip(f"Rulers and figures in {unit.value}; see the Board menu")
        for ruler in (self._top, self._left):
            ruler.set_look(self._skin.chrome, unit)
        self.board.set_look(self._skin.chrome, self._preferences.grid)
        self.board.picture.refresh()
