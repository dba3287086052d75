"""The board painted from its groups: what is painted anew, on which layer, and how texts look."""

from __future__ import annotations

import gc

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QTransform
from PySide6.QtWidgets import QApplication

from app.drawing.board_making import LEVEL_BALLOON, LEVEL_DEPTH, LEVEL_HIDDEN, LEVEL_SOLID
from app.drawing.primitives import Fill, Group, Ink, Path, Region, Stroke, Text
from app.drawing.silhouettes import rectangle
from app.drawing.theme import LIGHT
from app.ui.board.canvas import BoardCanvas
from app.ui.board.picture_layers import Span, gathered
from app.ui.board.ready_groups import Mark, ReadyGroup
from app.ui.board.strips import Looks, strips_of
from app.ui.board.text_images import TextImages, text_bounds

SPANS = st.lists(
    st.tuples(*[st.integers(0, 400)] * 2, *[st.integers(1, 120)] * 2).map(
        lambda r: (r[0], r[1], r[0] + r[2], r[1] + r[3])
    ),
    max_size=12,
)


def rect(span: Span) -> QRect:
    x0, y0, x1, y1 = span
    return QRect(x0, y0, x1 - x0, y1 - y0)


@given(SPANS)
def test_gathered_rectangles_cover_all_and_none_meets_another(spans: list[Span]) -> None:
    found = [rect(span) for span in gathered(spans)]
    rects = [rect(span) for span in spans]
    assert len(found) <= len(rects)
    assert all(any(one.contains(rect) for one in found) for rect in rects)
    assert not any(a.intersects(b) for k, a in enumerate(found) for b in found[:k])


@pytest.fixture
def canvas(qtbot) -> BoardCanvas:
    board = BoardCanvas()
    qtbot.addWidget(board)
    board.resize(200, 200)
    board.set_board(QRectF(0, 0, 200, 200), (), ())
    board.show()
    QApplication.processEvents()
    board.still.start()
    return board


def body(key: str, ink: Ink) -> Group:
    return Group(key, (rectangle((40.0, 40.0, 160.0, 160.0), None, Fill(ink)),), LEVEL_SOLID)


def colour(board: BoardCanvas) -> str:
    place = board.mapFromScene(100.0, 100.0)
    return board.viewport().grab().toImage().pixelColor(place).name()


def test_a_body_that_comes_to_stand_before_another_is_seen(canvas: BoardCanvas) -> None:
    """Moved along the line of sight it is drawn as before, but it lies over the other now."""
    looks = Looks(LIGHT)
    fan, pump = body("solid:side:F", Ink.FAN), body("solid:side:P", Ink.PUMP)
    canvas.still.show((fan, pump), looks)
    canvas.still.show_over((), looks)
    assert colour(canvas) == QColor(LIGHT.fill(Ink.PUMP)).name()
    canvas.still.show((pump, body("solid:side:F", Ink.FAN)), looks)
    canvas.still.show_over((), looks)
    assert colour(canvas) == QColor(LIGHT.fill(Ink.FAN)).name()


def test_a_leader_across_dimensions_does_not_paint_them_again(
    canvas: BoardCanvas, monkeypatch: pytest.MonkeyPatch
) -> None:
    painted: list[str] = []
    plain = ReadyGroup.marks

    def marks(one: ReadyGroup, texts: TextImages) -> list[Mark]:
        painted.append(one.group.key)
        return plain(one, texts)

    monkeypatch.setattr(ReadyGroup, "marks", marks)
    below = [
        body("solid:side:P1", Ink.FAN),
        body("depth:S1:inner", Ink.CLEAR)._replace(level=LEVEL_DEPTH),
    ]
    looks = Looks(LIGHT)
    for ink in (Ink.BLOCKED, Ink.TIGHT):
        painted.clear()
        canvas.still.show([*below, body("finding:1", ink)._replace(level=LEVEL_BALLOON)], looks)
        canvas.still.show_over((), looks)
        QApplication.processEvents()
    assert painted == ["finding:1"]


def test_what_lies_over_the_board_is_seen_and_goes_without_a_trace(canvas: BoardCanvas) -> None:
    looks = Looks(LIGHT)
    patch = rectangle((80.0, 80.0, 120.0, 120.0), None, Fill(Ink.TIGHT, solid=True))
    canvas.still.show((body("solid:side:F", Ink.FAN),), looks)
    canvas.still.show_over((Group("note", (patch,), LEVEL_BALLOON),), looks)
    assert colour(canvas) == QColor(LIGHT.stroke(Ink.TIGHT)).name()
    canvas.still.show_over((), looks)
    assert colour(canvas) == QColor(LIGHT.fill(Ink.FAN)).name()
    assert canvas.still.shown_keys() == ("solid:side:F",)


def test_of_notes_that_follow_the_pointer_only_the_last_is_kept(canvas: BoardCanvas) -> None:
    def ready() -> int:
        return sum(isinstance(one, ReadyGroup) for one in gc.get_objects())

    looks = Looks(LIGHT)
    canvas.still.show((body("solid:side:F", Ink.FAN),), looks)
    before = ready()
    for left in range(20):
        patch = rectangle((left, 80.0, left + 40.0, 120.0), None, Fill(Ink.TIGHT, solid=True))
        canvas.still.show_over((Group("note", (patch,), LEVEL_BALLOON),), looks)
        QApplication.processEvents()
    assert ready() == before + 1


RING = (((10.0, 10.0), (190.0, 10.0), (190.0, 190.0), (10.0, 190.0)),
        ((30.0, 30.0), (30.0, 170.0), (170.0, 170.0), (170.0, 30.0)))  # fmt: skip


def test_a_line_within_a_ring_outlives_what_moves_over_it(canvas: BoardCanvas) -> None:
    """Ring and line have one stroke, so they are painted at a stroke."""
    looks, stroke = Looks(LIGHT), Stroke(Ink.OUTLINE, width_mm=2.0)
    line = Path(((100.0, 40.0), (100.0, 160.0)), stroke)
    within = Group("keep-out:side:P", (Region(RING, stroke), line), LEVEL_HIDDEN)
    for left in (80.0, 120.0):
        part = rectangle((left, 60.0, left + 40.0, 140.0), None, Fill(Ink.FAN))
        canvas.still.show((Group("solid:side:F", (part,), LEVEL_SOLID), within), looks)
        canvas.still.show_over((), looks)
        assert colour(canvas) == QColor(LIGHT.stroke(Ink.OUTLINE)).name()


def pixels(image: QImage) -> np.ndarray:
    return np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1).astype(float)


@pytest.mark.parametrize("angle_deg", [0.0, 90.0])
@pytest.mark.parametrize("ratio", [1.0, 2.0])
def test_a_text_from_a_picture_looks_as_its_letters_filled(
    qapp, angle_deg: float, ratio: float
) -> None:
    looks = Looks(LIGHT)
    text = Text((100.3, 90.6), "63.2 clear", 9.0, Ink.CLEAR, "middle", "middle", angle_deg,
                bold=True, halo=True)  # fmt: skip

    def blank() -> QImage:
        image = QImage(round(200 * ratio), round(200 * ratio), QImage.Format.Format_RGB32)
        image.setDevicePixelRatio(ratio)
        image.fill(Qt.GlobalColor.gray)
        return image

    filled, copied = blank(), blank()
    painter = QPainter(filled)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for path, pen, brush in strips_of((text,), looks):
        painter.setPen(pen)
        painter.setBrush(brush)
        painter.drawPath(path)
    painter.end()
    painter = QPainter(copied)
    painter.scale(1 / ratio, 1 / ratio)
    images = TextImages(looks, QTransform.fromScale(ratio, ratio))
    painter.drawPixmap(*images.stamp(text))
    painter.end()
    empty = pixels(blank())
    inked = np.abs(pixels(filled) - empty).sum()
    # Letters stand up to half a dot off, so edges differ and no more.
    assert np.abs(pixels(copied) - pixels(filled)).sum() < 0.25 * inked
    rows, columns = np.nonzero(
        np.abs(pixels(filled) - empty).reshape(*empty.shape[:1], -1, 4).sum(2)
    )
    x0, y0, x1, y1 = text_bounds(text)
    assert x0 <= columns.min() / ratio
    assert columns.max() / ratio <= x1
    assert y0 <= rows.min() / ratio
    assert rows.max() / ratio <= y1
