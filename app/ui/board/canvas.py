"""The drawing board as a view: paper, grid, pan and zoom. It knows no parts."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QLineF, QPoint, QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsScene, QGraphicsView, QWidget

from app.drawing.axes import AxisSpan
from app.paint.shapes import plain_brush
from app.ui.board.still_board import StillBoard
from app.ui.style import LIGHT, Chrome

LEAST_PX_PER_MM = 0.1
MOST_PX_PER_MM = 60.0
ZOOM_STEP = 1.25
GRID_STEPS_MM = (1.0, 5.0, 10.0, 50.0, 100.0, 500.0)
LEAST_GRID_PX = 7.0


class BoardCanvas(QGraphicsView):
    """Shows a board in millimetres.

    `window_changed` tells that another part of it is seen; `scale_changed` that drawing details
    laid out per scale are due again; `pointer_moved` where the pointer is (None: it left);
    `painted` that what has changed is to be seen; `refit_wanted` that a fitted board is to be
    fitted to another size of the window.
    """

    window_changed = Signal()
    scale_changed = Signal()
    pointer_moved = Signal(object)
    painted = Signal()
    refit_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setViewport(QWidget())
        self.setScene(QGraphicsScene(self))
        self.scene().setItemIndexMethod(QGraphicsScene.ItemIndexMethod.BspTreeIndex)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)
        self.setCacheMode(QGraphicsView.CacheModeFlag.CacheBackground)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # The background fills the viewport, so nothing under it needs painting; items set their
        # own pens and brushes, so the painter's state needs no saving round each.
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setOptimizationFlag(QGraphicsView.OptimizationFlag.DontSavePainterState)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Drawing board")
        self.still = StillBoard(self)
        self.window_changed.connect(self._on_other_window)
        self._chrome = LIGHT
        self._grid_on = True
        self._across: tuple[AxisSpan, ...] = ()
        self._down: tuple[AxisSpan, ...] = ()
        self._content = QRectF(0, 0, 100, 100)
        self._fitted = True
        self._pan_from: QPointF | None = None
        """The place on the board that the pan holds under the pointer."""
        self._space = False

    # what is shown

    def set_look(self, chrome: Chrome, grid_on: bool) -> None:
        """Take other colours, or switch the grid."""
        self._chrome, self._grid_on = chrome, grid_on
        self.resetCachedContent()
        self.still.drop()

    def set_board(
        self, content: QRectF, across: Sequence[AxisSpan], down: Sequence[AxisSpan]
    ) -> None:
        """Take the extent of a board (mm) and the axes read off along and down it."""
        spans = (tuple(across), tuple(down))
        if content == self._content and spans == (self._across, self._down):
            return
        self._content = content
        self._across, self._down = spans
        reach = max(content.width(), content.height()) * 4 + 1000.0
        self.setSceneRect(content.adjusted(-reach, -reach, reach, reach))
        self.scene().setSceneRect(content)
        self.resetCachedContent()
        if self._fitted:
            self.zoom_to_fit()

    @property
    def px_per_mm(self) -> float:
        """How many pixels a millimetre has on the screen."""
        return self.transform().m11()

    @property
    def mm_per_px(self) -> float:
        """How many millimetres a pixel has."""
        return 1.0 / self.px_per_mm

    @property
    def seen(self) -> QRectF:
        """The part of the board that is seen (mm)."""
        return QRectF(self.mapToScene(QPoint(0, 0)), self._far_corner())

    def _far_corner(self) -> QPointF:
        size = self.viewport().size()
        return self.mapToScene(QPoint(size.width(), size.height()))

    @property
    def fitted(self) -> bool:
        """Whether all of the board is shown, and stays so in a window of another size."""
        return self._fitted

    # pan and zoom

    def zoom_to_fit(self) -> None:
        """Show all of the board."""
        self.zoom_to(self._content)
        self._fitted = True

    def fit_at(self, px_per_mm: float, middle: QPointF) -> None:
        """Show the board, whose fitting scale is known, round a place; it stays fitted."""
        self._set_view(clamped(px_per_mm), middle)
        self._fitted = True

    def zoom_to(self, rect: QRectF) -> None:
        """Show `rect` (mm) as large as it goes, in the middle."""
        size = self.viewport().size()
        if rect.isEmpty() or size.isEmpty():
            return
        scale = min(size.width() / rect.width(), size.height() / rect.height())
        self._set_view(clamped(scale), rect.center())

    def go_to(self, place: QPointF, least_px_per_mm: float = 0.0) -> None:
        """Bring a place to the middle, coming closer where the scale is under the given one."""
        self._set_view(clamped(max(self.px_per_mm, least_px_per_mm)), place)

    def zoom_by(self, factor: float, anchor: QPointF | None = None) -> None:
        """Zoom, keeping `anchor` (a place in the viewport; else its middle) where it is."""
        view_at = anchor if anchor is not None else QPointF(self.viewport().rect().center())
        board_at = self.mapToScene(view_at.toPoint())
        self._hold(board_at, view_at, clamped(self.px_per_mm * factor))

    def pan_by(self, dx_px: float, dy_px: float) -> None:
        """Move the paper under the window by pixels."""
        middle = self.mapToScene(self.viewport().rect().center())
        self._set_view(self.px_per_mm, middle - QPointF(dx_px, dy_px) / self.px_per_mm)

    def _hold(self, place: QPointF, view_at: QPointF, scale: float | None = None) -> None:
        """Bring a place on the board to a place in the viewport, at a scale."""
        scale = scale or self.px_per_mm
        size = self.viewport().size()
        middle = QPointF(size.width() / 2, size.height() / 2)
        self._set_view(scale, place + (middle - view_at) / scale)

    def _set_view(self, scale: float, middle: QPointF) -> None:
        rescaled = scale != self.px_per_mm
        self._fitted = False
        if rescaled:
            self.setTransform(QTransform.fromScale(scale, scale))
        self.centerOn(middle)
        self.window_changed.emit()
        if rescaled:
            self.scale_changed.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep a fitted board fitted."""
        super().resizeEvent(event)
        if self._fitted:
            self.zoom_to_fit()
            self.refit_wanted.emit()
        self.window_changed.emit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom to the pointer; with Shift pan along, on a touch pad with two fingers pan."""
        steps = event.angleDelta()
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self.pan_by(steps.y() or steps.x(), 0)
        else:
            self.zoom_by(ZOOM_STEP ** (steps.y() / 120.0), event.position())
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Start to pan with the middle button, or with the left one while Space is held."""
        left_pan = self._space and event.button() is Qt.MouseButton.LeftButton
        if event.button() is Qt.MouseButton.MiddleButton or left_pan:
            self.start_pan(event.position().toPoint())
            event.accept()
            return
        event.ignore()

    def start_pan(self, at: QPoint) -> None:
        """Take hold of the paper at a place in the viewport."""
        self._pan_from = self.mapToScene(at)
        self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pan, and tell where the pointer is."""
        at = event.position().toPoint()
        if self._pan_from is not None:
            self._hold(self._pan_from, QPointF(at))
        self.pointer_moved.emit(self.mapToScene(at))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a pan."""
        if self._pan_from is not None:
            self._pan_from = None
            self._show_hand()
            event.accept()

    @property
    def panning(self) -> bool:
        """Whether the mouse moves the paper now, or would if pressed."""
        return self._pan_from is not None or self._space

    def leaveEvent(self, event: QEvent) -> None:
        """Tell that the pointer has left."""
        self.pointer_moved.emit(None)
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hold Space to pan with the left button."""
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = True
            self._show_hand()
            event.accept()
            return
        event.ignore()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Let go of the paper."""
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = False
            self._show_hand()
        event.ignore()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Let go of the paper: another window or field hears of the key that goes up."""
        self._space = False
        self._show_hand()
        super().focusOutEvent(event)

    def _show_hand(self) -> None:
        if self._space:
            self.viewport().setCursor(Qt.CursorShape.OpenHandCursor)
        else:
            self.viewport().unsetCursor()

    def _on_other_window(self) -> None:
        if self.still.on:
            self.still.drop()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the board, or what is kept of it while something moves over it."""
        if self.still.on:
            self.still.paint(event.region())
        else:
            super().paintEvent(event)
        self.painted.emit()

    # paper and grid

    @property
    def grid_mm(self) -> float:
        """The finest grid that shows at this scale."""
        for step in GRID_STEPS_MM:
            if step * self.px_per_mm >= LEAST_GRID_PX:
                return step
        return GRID_STEPS_MM[-1]

    def drawBackground(self, painter: QPainter, rect: QRectF | QRect) -> None:
        """Paint the paper and the grid (kept by the view until it moves)."""
        rect = QRectF(rect)
        painter.setBackground(plain_brush(self._chrome.paper))
        painter.eraseRect(rect)
        if not self._grid_on:
            return
        fine = self.grid_mm
        for step, colour in ((fine, self._grid_colour(0.45)), (fine * 5, self._grid_colour(0.9))):
            pen = QPen(colour, 0.0)
            painter.setPen(pen)
            lines = [
                QLineF(at, rect.top(), at, rect.bottom())
                for span in self._across
                for _, at in span.lines(rect.left(), rect.right(), step)
            ]
            lines += [
                QLineF(rect.left(), at, rect.right(), at)
                for span in self._down
                for _, at in span.lines(rect.top(), rect.bottom(), step)
            ]
            painter.drawLines(lines)

    def _grid_colour(self, strength: float) -> QColor:
        colour = QColor(self._chrome.border)
        colour.setAlphaF(strength)
        return colour


def clamped(px_per_mm: float) -> float:
    """Return a scale within what the board offers."""
    return min(max(px_per_mm, LEAST_PX_PER_MM), MOST_PX_PER_MM)
