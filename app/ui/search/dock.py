"""The panel of what fits: at the lower edge of the window, or in a window of its own."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QMargins, QObject, QPoint, QRect, QSize, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QCheckBox, QDockWidget, QHBoxLayout, QToolButton

from app.ui.actions import key_of
from app.ui.search.panel import SearchPanel
from app.ui.widgets import heading, room_on_screen

if TYPE_CHECKING:
    from app.ui.window import MainWindow

TITLE = "What fits"
SHARE = 0.42
"""Of the window's height, when it is first opened."""

MOST_SHARE = 0.45
"""What it keeps of the window's height at most where that has become lower."""

LEAST_PX = 290
"""What a first row of patterns with five rows needs, where the window is low."""

LEAST_WINDOW, USUAL_WINDOW = QSize(520, 340), QSize(1180, 720)
"""Of the window of its own: never smaller, and how large it is at first."""

LOW_SHARE = 0.45
"""Of the height of the screen, where the board is on it too."""

FRAME = QMargins(6, 30, 6, 8)
"""What the frame of a window of its own takes at most on each side."""


class SearchDock(QDockWidget):
    """Can be drawn larger, put into a window of its own and back, and closed; it keeps its rows."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(TITLE, window)
        self._window, self._board = window, window.board
        self.setObjectName("fits")
        self.setAllowedAreas(
            Qt.DockWidgetArea.BottomDockWidgetArea | Qt.DockWidgetArea.TopDockWidgetArea
        )
        self.panel = SearchPanel(
            window.session, window.library, window.skin, window.notice, window.board, self
        )
        self.setWidget(self.panel)
        self._heading = heading(TITLE)
        self._out = _sign("❐")
        self._close = _sign("✕")
        self._complete_bar()
        _as_one(window.findings.no_cutting, self.panel.setup.no_cutting)
        # Its keys are those of the window, wherever the panel is.
        self.addActions(window.actions())
        self._out.clicked.connect(lambda: self.setFloating(not self.isFloating()))
        self._close.clicked.connect(self.leave)
        self.topLevelChanged.connect(self._on_floating)
        window.addDockWidget(Qt.DockWidgetArea.BottomDockWidgetArea, self)
        blob = window.preferences.blob("fits")
        self._had_window = True  # what is restored has its place already
        if blob is None or not window.restoreState(blob):
            self._take_height(SHARE)
        self._had_window = self.isFloating()
        window.installEventFilter(self)
        QTimer.singleShot(0, self, self._leave_board_room)
        self._dress()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Give the board its part back where the window has become lower."""
        if isinstance(event, QResizeEvent) and event.size().height() < event.oldSize().height():
            QTimer.singleShot(0, self, self._leave_board_room)
        return super().eventFilter(watched, event)

    def _leave_board_room(self) -> None:
        most = max(LEAST_PX, round(self._window.height() * MOST_SHARE))
        if self.isVisible() and not self.isFloating() and self.height() > most:
            self._take_height(MOST_SHARE)

    def _take_height(self, share: float) -> None:
        high = max(LEAST_PX, round(self._window.height() * share))
        self._window.resizeDocks([self], [high], Qt.Orientation.Vertical)

    def _complete_bar(self) -> None:
        """Put title and signs into the panel's bar, so that both take one line together."""
        line = self.panel.bar.layout()
        assert isinstance(line, QHBoxLayout)
        line.insertWidget(0, self._heading)
        for button in (self._out, self._close):
            line.addWidget(button)
        self.setTitleBarWidget(self.panel.bar)

    def _dress(self) -> None:
        floats = self.isFloating()
        self._heading.setVisible(not floats)
        self._close.setVisible(not floats)
        _name(self._close, f"Close the panel; its rows stay ({key_of('what_fits')} in it)")
        _name(
            self._out,
            "Put the panel back to the lower edge of the window"
            if floats
            else "Put the panel into a window of its own (a second screen has room for it)",
        )

    def _on_floating(self, floats: bool) -> None:
        """Make what floats a window like others: with a frame, a title, and a least size."""
        self._dress()
        for sign in (self._out, self._close):
            # The pointer stays where it was: Qt tells a sign that goes away from it nothing.
            sign.setAttribute(Qt.WidgetAttribute.WA_UnderMouse, on=False)
        self.setWindowTitle(TITLE)
        room = room_on_screen(self._window)
        self.panel.setMinimumSize(LEAST_WINDOW.boundedTo(room) if floats else QSize(0, 0))
        if not floats:
            return
        kind = Qt.WindowType
        self.setWindowFlags(
            kind.Window | kind.WindowTitleHint | kind.WindowSystemMenuHint
            | kind.WindowMinMaxButtonsHint | kind.WindowCloseButtonHint
        )  # fmt: skip
        if not self._had_window:
            self._had_window = True
            screen = self._window.screen()
            others = [
                one.availableGeometry() for one in screen.virtualSiblings() if one is not screen
            ]
            self.setGeometry(first_place(screen.availableGeometry(), others))
        self._keep_on_screen()
        self.show()
        # Qt has still to finish what it does to a panel that is put out.
        QTimer.singleShot(0, self, self._keep_on_screen)
        QTimer.singleShot(0, self, self._take_keyboard)

    def _keep_on_screen(self) -> None:
        if self.isFloating():
            self.setGeometry(on_screen(self.geometry(), self.screen().availableGeometry()))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Closed as a window it goes back to its place."""
        if self.isFloating():
            event.ignore()
            self.setFloating(False)
            QTimer.singleShot(0, self, self._take_keyboard)
        else:
            super().closeEvent(event)

    def open(self) -> None:
        """Show it with the keyboard in it; where that is in it already, go back to the board.

        In its place in the window it is hidden then.
        """
        if self.isVisible() and self.isAncestorOf(QApplication.focusWidget() or self._board):
            if self.isFloating():
                self._window.activateWindow()
                self._board.setFocus(Qt.FocusReason.ShortcutFocusReason)
            else:
                self.leave()
            return
        self.show()
        self._take_keyboard()

    def _take_keyboard(self) -> None:
        self.raise_()
        if self.isFloating():
            self.activateWindow()
        # Not for a shortcut: the row that was left is not previewed before one comes to it.
        self.panel.first.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        """Hide it, and go back to the board."""
        self.hide()
        self._board.setFocus(Qt.FocusReason.OtherFocusReason)


def first_place(own: QRect, others: Sequence[QRect]) -> QRect:
    """Return where a window of its own is put first: on another screen, else low on the board's.

    There it leaves the upper part free, where the views begin.
    """
    if others:
        place = QRect(QPoint(0, 0), USUAL_WINDOW.boundedTo(others[0].size()))
        room = others[0].size() - place.size()
        place.moveTopLeft(others[0].topLeft() + QPoint(room.width() // 2, room.height() // 2))
        return place
    high = max(LEAST_WINDOW.height(), round(LOW_SHARE * own.height()))
    place = QRect(QPoint(0, 0), QSize(USUAL_WINDOW.width(), high).boundedTo(own.size()))
    place.moveBottomRight(own.bottomRight())
    return place


def on_screen(place: QRect, screen: QRect) -> QRect:
    """Return a place of a window, without its frame, so that all of it is on the screen."""
    room = screen.marginsRemoved(FRAME)
    inside = QRect(place.topLeft(), place.size().boundedTo(room.size()))
    inside.moveLeft(max(room.left(), min(inside.left(), room.right() + 1 - inside.width())))
    inside.moveTop(max(room.top(), min(inside.top(), room.bottom() + 1 - inside.height())))
    return inside


def _sign(sign: str) -> QToolButton:
    button = QToolButton()
    button.setText(sign)
    return button


def _name(button: QToolButton, tip: str) -> None:
    button.setToolTip(tip)
    button.setAccessibleName(tip)


def _as_one(first: QCheckBox, second: QCheckBox) -> None:
    """Make two boxes one setting; the second takes over what the first says now."""
    second.setChecked(first.isChecked())
    first.toggled.connect(second.setChecked)
    second.toggled.connect(first.setChecked)
