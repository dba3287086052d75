"""A hand that works the window as a user does: mouse, keys, drops from the parts panel."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt
from PySide6.QtGui import (
    QDragEnterEvent,
    QDragLeaveEvent,
    QDragMoveEvent,
    QDropEvent,
    QKeySequence,
    QMouseEvent,
)
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.ui.panels.layer_rows import LayerRow
from app.ui.window import MainWindow
from geometry.measures.pose import Vec

NO_KEYS = Qt.KeyboardModifier.NoModifier
LEFT = Qt.MouseButton.LeftButton
COPY = Qt.DropAction.CopyAction


class Hand:
    """Works one window."""

    def __init__(self, window: MainWindow, qtbot: QtBot) -> None:
        self.window, self.qtbot = window, qtbot
        self.board = window.board
        self._mime: QMimeData | None = None

    def at(self, world: Vec, view: str = "side") -> QPoint:
        """Return where a place in the enclosure shows on the board's viewport, in a view."""
        frame = self.board.picture.frame.view(view)  # type: ignore[arg-type]
        return self.board.mapFromScene(QPointF(*frame.to_board(world)))

    def middle_of(self, owner: str) -> Vec:
        """Return the middle of a part's solids that fill their room."""
        solids = [s for s in self.window.session.checked.scene.solids_of[owner] if s.hard]
        least = [min(s.bounds[k] for s in solids) for k in range(3)]
        most = [max(s.bounds[k + 3] for s in solids) for k in range(3)]
        return tuple((a + b) / 2 for a, b in zip(least, most, strict=True))  # type: ignore[return-value]

    # mouse

    def click(self, at: QPoint, keys: Qt.KeyboardModifier = NO_KEYS) -> None:
        """Click on the board."""
        QTest.mouseClick(self.board.viewport(), LEFT, keys, at)

    def press(self, at: QPoint) -> None:
        """Press the left button on the board."""
        QTest.mousePress(self.board.viewport(), LEFT, NO_KEYS, at)

    def move(self, at: QPoint, keys: Qt.KeyboardModifier = NO_KEYS) -> None:
        """Move with the left button held, and let the window follow."""
        self.send_move(at, keys)
        QApplication.processEvents()

    def send_move(self, at: QPoint, keys: Qt.KeyboardModifier = NO_KEYS) -> None:
        """Send a move with the left button held; what follows of it later is left to the caller."""
        port = self.board.viewport()
        move = QMouseEvent(
            QEvent.Type.MouseMove,
            QPointF(at),
            QPointF(port.mapToGlobal(at)),
            Qt.MouseButton.NoButton,
            LEFT,
            keys,
        )
        QApplication.sendEvent(port, move)

    def release(self, at: QPoint) -> None:
        """Let the left button go."""
        QTest.mouseRelease(self.board.viewport(), LEFT, NO_KEYS, at)

    def drag(self, start: QPoint, end: QPoint, keys: Qt.KeyboardModifier = NO_KEYS) -> None:
        """Drag on the board and let go."""
        self.press(start)
        for share in (0.3, 0.6, 1.0):
            self.move(start + (end - start) * share, keys)
        self.release(end)

    # drops from the panel

    def take_from_panel(self, part_id: str) -> None:
        """Take hold of a part in the list."""
        parts = self.window.parts.list
        parts.choose(part_id)
        index = parts.currentIndex()
        assert index.isValid(), f"{part_id} is not in the list"
        self._mime = parts.model().mimeData([index])

    def carry_to(self, at: QPoint, keys: Qt.KeyboardModifier = NO_KEYS) -> None:
        """Carry what was taken over the board."""
        assert self._mime is not None
        port = self.board.viewport()
        if self.board.gesture is None:
            enter = QDragEnterEvent(at, COPY, self._mime, LEFT, keys)
            QApplication.sendEvent(port, enter)
            assert enter.isAccepted()
        QApplication.sendEvent(port, QDragMoveEvent(at, COPY, self._mime, LEFT, keys))
        QApplication.processEvents()

    def drop(self, at: QPoint, keys: Qt.KeyboardModifier = NO_KEYS) -> None:
        """Let go of what was taken."""
        assert self._mime is not None
        event = QDropEvent(QPointF(at), COPY, self._mime, LEFT, keys)
        QApplication.sendEvent(self.board.viewport(), event)
        QApplication.processEvents()
        self._mime = None

    def carry_off(self) -> None:
        """Carry what was taken off the board again."""
        QApplication.sendEvent(self.board.viewport(), QDragLeaveEvent())
        QApplication.processEvents()

    # keys

    def key(self, keys: str, widget: QWidget | None = None) -> None:
        """Press keys where the keyboard is, or in a widget ("Ctrl+Z", "Shift+Right")."""
        target = widget or QApplication.focusWidget() or self.window
        QTest.keySequence(target, QKeySequence(keys))
        QApplication.processEvents()

    def type(self, text: str) -> None:
        """Type text where the keyboard is."""
        target = QApplication.focusWidget()
        assert target is not None
        QTest.keyClicks(target, text)
        QApplication.processEvents()

    def focus_board(self) -> None:
        """Put the keyboard on the board."""
        self.board.setFocus()
        QApplication.processEvents()

    def wait_for_remedies(self) -> None:
        """Wait until the remedies of what is shown have been found."""
        self.qtbot.waitUntil(lambda: not self.window.session.looking, timeout=20_000)

    # what is seen

    def texts(self, prefix: str = "") -> list[str]:
        """Return the texts drawn on the board in groups whose key begins with `prefix`."""
        found: list[str] = []
        picture = self.board.picture
        for key in picture.shown_keys():
            group = picture.group(key)
            if group is not None and key.startswith(prefix):
                found.extend(p.text for p in group.primitives if hasattr(p, "text"))
        return found

    def titles(self) -> list[str]:
        """Return the titles of the blocked and tight findings."""
        return [finding.title for finding in self.window.session.balloons]


def counts_told(window: MainWindow) -> str:
    """Return the counts in the status line as they are shown."""
    return "  ".join(one.label.text() for one in window.statusBar().counts.values())


def layer_rows(window: MainWindow) -> list[LayerRow]:
    """Return the rows of layers that the stack panel shows."""
    return [row for row in window.stack.rows.findChildren(LayerRow) if not row.isHidden()]


def marked_findings(window: MainWindow) -> list[int]:
    """Return the places in the list of the findings that are marked: one, or none."""
    cards = enumerate(window.findings.cards)
    return [place for place, card in cards if card.property("current") == "true"]
