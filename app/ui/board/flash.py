"""A ring on the board that closes in on a place, so that the eye finds it."""

from __future__ import annotations

from PySide6.QtCore import QObject, QPointF, QTimer
from PySide6.QtGui import QColor, QPen
from PySide6.QtWidgets import QGraphicsEllipseItem, QGraphicsScene

STEPS = 8
STEP_MS = 70
RADII_PX = (90.0, 22.0)
"""From the first step to the last."""

ON_TOP = 1e9


class Flash(QObject):
    """Draws one ring at a time into a scene."""

    def __init__(self, scene: QGraphicsScene, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._scene = scene
        self._ring: QGraphicsEllipseItem | None = None
        self._step, self._mm_per_px = 0, 1.0
        self._timer = QTimer(self)
        self._timer.setInterval(STEP_MS)
        self._timer.timeout.connect(self._on_step)

    @property
    def running(self) -> bool:
        """Whether a ring is drawn at the moment."""
        return self._ring is not None

    def start(self, place: QPointF, colour: QColor, mm_per_px: float) -> None:
        """Let a ring close in on a place; one that is drawn elsewhere goes."""
        self._end()
        ring = QGraphicsEllipseItem()
        pen = QPen(colour, 3.0)
        pen.setCosmetic(True)
        ring.setPen(pen)
        ring.setPos(place)
        ring.setZValue(ON_TOP)
        self._scene.addItem(ring)
        self._ring, self._step, self._mm_per_px = ring, 0, mm_per_px
        self._on_step()
        self._timer.start()

    def _on_step(self) -> None:
        if self._ring is None or self._step >= STEPS:
            self._end()
            return
        first, last = RADII_PX
        radius = (first + (last - first) * self._step / (STEPS - 1)) * self._mm_per_px
        self._ring.setRect(-radius, -radius, 2 * radius, 2 * radius)
        self._step += 1

    def _end(self) -> None:
        self._timer.stop()
        if self._ring is not None:
            self._scene.removeItem(self._ring)
            self._ring = None
