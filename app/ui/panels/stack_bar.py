"""A stack as a bar to scale: its layers from the plate outwards, then what is left."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QToolTip, QWidget

from app.drawing.owners import part_ink
from app.drawing.primitives import Ink
from app.ui.panels.bar_text import largest_free, write_into
from app.ui.skin import Skin
from app.ui.units import figure_text, length_text
from catalog.parts import Part, PartKind, Pump, PumpReservoir
from geometry.checks.words import beside_text
from geometry.depths import LimitedBeside, far_mm, limited_beside, standing_out
from geometry.finding import LayerSpan, StackDepth
from geometry.measures.tolerance import LENGTH_EPS_MM
from geometry.scene import Scene

SHORT_NAMES: dict[PartKind, str] = {
    "exchanger": "exch.",
    "fan": "fan",
    "pump": "pump",
    "pump_reservoir": "pump unit",
    "reservoir": "res.",
    "gasket": "gasket",
    "adapter": "adapter",
    "fitting": "fitting",
    "board": "board",
    "card": "card",
    "supply": "supply",
    "drive": "drive",
}
OPEN_SHARE = 0.25
"""Share of the bar for what is left where nothing limits it."""
LANE_SHARE = 0.5
"""Share of the bar's height for what is left where something taller stands beside it."""


@dataclass(frozen=True)
class _Span:
    layer: str
    name: str
    short: str
    ink: Ink
    base_mm: float
    top_mm: float
    selected: bool
    reach_mm: float
    """How far its own body goes: past `top_mm` where the next layer lies on its plate beside it."""

    @property
    def beside(self) -> bool:
        """Whether its body stands beside what lies on it."""
        return self.reach_mm > self.top_mm + LENGTH_EPS_MM


class StackBar(QWidget):
    """Paints the bar; a click on a layer names it."""

    layer_clicked = Signal(str)

    def __init__(self, skin: Skin, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._skin = skin
        self._spans: tuple[_Span, ...] = ()
        self._reach_mm = 0.0
        self._beside: LimitedBeside | None = None
        self._out: LayerSpan | None = None
        self._left_mm = 0.0
        self._sideways_mm: float | None = None
        self._length_mm = 1.0
        self._known = False
        self.setMouseTracking(True)
        self.setMinimumHeight(58)
        self.setMaximumHeight(58)

    def sizeHint(self) -> QSize:
        """Return the height that two lines of text in the layers want."""
        return QSize(240, 58)

    def show_depth(self, depth: StackDepth | None, scene: Scene, selected: str | None) -> None:
        """Show one side of a stack; None tells that its depth is not known yet."""
        self._spans, self._known = (), depth is not None
        if depth is not None:
            kinds = _layer_parts(scene, depth.stack)
            self._out = standing_out(scene, depth)
            self._beside = limited_beside(scene, depth)
            self._sideways_mm = depth.least.sideways_mm
            self._left_mm = depth.least.mm if self._sideways_mm is None else 0.0
            self._reach_mm = depth.total_mm if self._beside is None else depth.least.reach_mm
            self._spans = tuple(
                _Span(
                    span.layer,
                    span.name,
                    SHORT_NAMES[kinds[span.layer][0].kind],
                    part_ink(kinds[span.layer][0]),
                    span.base_mm,
                    span.top_mm,
                    selected in kinds[span.layer][1],
                    _reach_mm(scene, depth, span),
                )
                for span in depth.layers
                if span.layer in kinds
            )
            left = 0.0 if math.isinf(self._left_mm) else self._left_mm
            self._length_mm = max(depth.total_mm, self._reach_mm + left, 1.0)
            if math.isinf(self._left_mm):
                self._length_mm = max(depth.total_mm, 1.0) / (1 - OPEN_SHARE)
        self.setAccessibleName(self._words())
        self.setToolTip("")
        self.update()

    def _words(self) -> str:
        if not self._known:
            return "Stack to scale: checking…"
        unit = self._skin.unit
        layers = ", ".join(f"{s.name} {figure_text(_thick_mm(s), unit)}" for s in self._spans)
        out = f"; stands out {figure_text(_thick_mm(self._out), unit)}" if self._out else ""
        return f"Stack to scale: {layers}{out}; {self._left_words()}"

    def _left_words(self) -> str:
        unit = self._skin.unit
        if self._beside is not None:
            return beside_text(self._beside, lambda mm: length_text(mm, unit))
        if self._sideways_mm is not None:
            return f"overlaps {length_text(self._sideways_mm, unit)} sideways"
        return f"leftover {length_text(self._left_mm, unit)}"

    @property
    def _bar(self) -> QRectF:
        return QRectF(1.5, 3.5, self.width() - 3.0, self.height() - 8.0)

    @property
    def _rest(self) -> QRectF:
        """The room over the face that is limited; in a lane of its own beside what is taller."""
        bar, scale = self._bar, self._bar.width() / self._length_mm
        left = bar.left() + self._reach_mm * scale
        if self._beside is None:
            return QRectF(left, bar.top(), bar.right() - left, bar.height())
        lane = bar.height() * LANE_SHARE
        return QRectF(left, bar.bottom() - lane, max(0.0, self._left_mm) * scale, lane)

    def _rect(self, span: _Span | LayerSpan) -> QRectF:
        bar = self._bar
        scale = bar.width() / self._length_mm
        left = bar.left() + span.base_mm * scale
        rect = QRectF(left, bar.top(), _thick_mm(span) * scale, bar.height())
        if isinstance(span, _Span) and span.beside:
            rect.setTop(bar.bottom() - bar.height() * LANE_SHARE)
        return rect

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint layers, what is left, and the clear depth as a frame."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme, chrome = self._skin.theme, self._skin.chrome
        painter.fillRect(event.rect(), QColor(chrome.panel))
        bar = self._bar
        painter.fillRect(bar, QColor(theme.paper))
        if not self._known:
            painter.setPen(QColor(chrome.muted))
            painter.drawText(bar, Qt.AlignmentFlag.AlignCenter, "checking…")
            return
        if self._beside is None:
            self._paint_rest(painter, bar)
        if self._out is not None:
            self._paint_out(painter, self._out)
        for span in sorted(self._spans, key=lambda one: one.beside):
            self._paint_layer(painter, span)
        if self._beside is not None:
            # Over a layer that stands beside what is limited, too.
            painter.setPen(QPen(QColor(theme.stroke(Ink.OUTLINE)), 1.0))
            painter.setBrush(QColor(theme.paper))
            painter.drawRect(self._rest)
            self._paint_rest(painter, bar)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(theme.stroke(Ink.OUTLINE)), 1.4))
        painter.drawRect(bar)

    def _paint_layer(self, painter: QPainter, span: _Span) -> None:
        theme = self._skin.theme
        rect = self._rect(span)
        painter.setPen(QPen(QColor(theme.stroke(Ink.OUTLINE)), 1.0))
        painter.setBrush(QColor(theme.fill(span.ink)))
        painter.drawRect(rect)
        if span.selected:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(self._skin.chrome.accent), 2.4))
            painter.drawRect(rect.adjusted(2.5, 2.5, -2.5, -2.5))
        self._write(painter, self._free(rect, span), span.short, _thick_mm(span))

    def _paint_out(self, painter: QPainter, out: LayerSpan) -> None:
        """Paint what stands out beyond the last layer: it takes depth, and is no layer."""
        rect = self._out_rect(out)
        colour = QColor(self._skin.theme.stroke(Ink.FITTING))
        painter.setPen(QPen(colour, 1.0, Qt.PenStyle.DashLine))
        painter.setBrush(QColor(self._skin.theme.fill(Ink.FITTING)))
        painter.drawRect(rect)
        self._write(painter, self._free(rect, out), "out", _thick_mm(out))

    def _free(self, rect: QRectF, box: _Span | LayerSpan) -> QRectF:
        """Return of a box the largest part that nothing is painted over afterwards."""
        order = self._in_order
        covers = [self._rect(span) for span in order[order.index(box) + 1 :]]
        return largest_free(rect, covers if self._beside is None else [*covers, self._rest])

    @property
    def _in_order(self) -> list[_Span | LayerSpan]:
        """What takes depth, as it is painted one over the other."""
        out = [] if self._out is None else [self._out]
        return [*out, *sorted(self._spans, key=lambda one: one.beside)]

    def _out_rect(self, out: LayerSpan) -> QRectF:
        """Return the box of what stands out, above the lane of what is left beside it."""
        rect = self._rect(out)
        if self._beside is not None:
            rect.setHeight(rect.height() * (1 - LANE_SHARE))
        return rect

    def _write(self, painter: QPainter, rect: QRectF, word: str, mm: float) -> None:
        """Write a word and its figure into what is free of a box."""
        painter.setPen(QColor(self._skin.theme.stroke(Ink.TEXT)))
        write_into(painter, rect, word, figure_text(mm, self._skin.unit))

    def _paint_rest(self, painter: QPainter, bar: QRectF) -> None:
        """Paint what is left as open room; what is short as a hatch over the last layers."""
        theme = self._skin.theme
        rest = self._rest
        if self._sideways_mm is not None:
            return
        if math.isinf(self._left_mm) or self._left_mm >= 0:
            left = self._left_mm
            text = "open" if math.isinf(left) else figure_text(left, self._skin.unit)
            painter.setPen(QColor(theme.stroke(Ink.TEXT)))
            font = painter.font()
            font.setBold(True)
            painter.save()
            painter.setFont(font)
            write_into(painter, rest, "", text)
            painter.restore()
            return
        missing = self._left_mm * bar.width() / self._length_mm
        short = QRectF(rest.left() + missing, rest.top() - 3, -missing, 0)
        short.setBottom(bar.bottom() + 4)
        painter.fillRect(
            short, QBrush(QColor(theme.stroke(Ink.BLOCKED)), Qt.BrushStyle.BDiagPattern)
        )

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Tell what is under the pointer, and how thick it is or how much is left there."""
        QToolTip.showText(event.globalPosition().toPoint(), self.tip_at(event.position()), self)

    def tip_at(self, at: QPointF) -> str:
        """Return what is told of a place of the bar; empty where there is nothing."""
        if not self._known:
            return ""
        words = self._left_words()
        left = f"{words[0].upper()}{words[1:]}" if self._rest.contains(at) else ""
        if left and self._beside is not None:
            return left
        span = self._span_at(at)
        if span is not None:
            return self._tip(span.name, span)
        if self._out is not None and self._out_rect(self._out).contains(at):
            return self._tip(f"Stands out beyond the last layer: {self._out.name}", self._out)
        return left

    def _tip(self, name: str, span: _Span | LayerSpan) -> str:
        return f"{name}, {length_text(_thick_mm(span), self._skin.unit)}"

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the layer under the pointer."""
        span = self._span_at(event.position())
        if span is not None:
            self.layer_clicked.emit(span.layer)

    def _span_at(self, at: QPointF) -> _Span | None:
        there = [span for span in self._spans if self._rect(span).contains(at)]
        return next((s for s in there if s.beside), next(iter(there), None))


def _thick_mm(span: _Span | LayerSpan) -> float:
    top = span.reach_mm if isinstance(span, _Span) and span.beside else span.top_mm
    return top - span.base_mm


def _reach_mm(scene: Scene, depth: StackDepth, span: LayerSpan) -> float:
    """Return how far a pump or the like that carries the next layer on its plate reaches (mm).

    Of anything else a layer ends where the next one lies on it.
    """
    return max(
        (
            span.base_mm + far_mm(scene, one, fittings=False) - one.base_mm
            for one in scene.items_of(scene.layout.stack(depth.stack))
            if one.layer is not None and one.layer.id == span.layer
            if isinstance(one.part, Pump | PumpReservoir)
        ),
        default=span.top_mm,
    )


def _layer_parts(scene: Scene, stack_id: str) -> dict[str, tuple[Part, frozenset[str]]]:
    """Return each layer's thickest part and the ids of its items."""
    found: dict[str, tuple[Part, frozenset[str]]] = {}
    heights: dict[str, float] = {}
    for one in scene.placed.values():
        if one.stack is None or one.stack.id != stack_id or one.layer is None:
            continue
        key, height = one.layer.id, one.top_mm - one.base_mm
        ids = frozenset(item.id for item in one.layer.items)
        if height > heights.get(key, -1.0):
            heights[key] = height
            found[key] = (one.part, ids)
    return found
