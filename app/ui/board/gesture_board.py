"""The drawing board while something is placed or moved on it: gestures, and parts carried to it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPoint, QPointF, Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDragMoveEvent, QDropEvent
from PySide6.QtWidgets import QToolTip, QWidget

from app.drawing.frame import ViewFrame
from app.drawing.primitives import XY
from app.ui.board.canvas import BoardCanvas
from app.ui.board.drag_keys import DragKeys
from app.ui.board.gestures import Gesture, KeyPlacing, PartDrag
from app.ui.board.picture import BoardPicture
from app.ui.panels.part_texts import carried_part
from app.ui.session import Session
from app.ui.skin import Skin
from catalog.parts import Part

OFF_KEYS = Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.ControlModifier
"""Either of these held while dragging snaps to nothing."""

LOOK_MS = 8.0
"""How long zones are looked at when a drag begins; in a large room the rest follows behind."""


class GestureBoard(BoardCanvas):
    """Shows the session's layout, begins and ends gestures on it, and takes drops from the panel.

    `hinted` carries a text for the user while placing with the keys (empty: over).
    """

    hinted = Signal(str)
    active_view_changed = Signal()

    def __init__(
        self,
        session: Session,
        skin: Skin,
        part_of: Callable[[str], Part | None],
        snapping: Callable[[], bool],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._part_of, self._snapping = part_of, snapping
        self.picture = BoardPicture(self.scene(), self.still, session, skin, self)
        self.painted.connect(self.picture.follow.painted)
        self.gesture: Gesture | None = None
        self._gesture_began_on = session.document.layout
        self._active_view = "side"
        self._drag_keys = DragKeys(self.turn_gesture, self)
        self.setAcceptDrops(True)
        self.scale_changed.connect(lambda: self.picture.set_scale(self.mm_per_px))
        self.window_changed.connect(self._on_window)
        session.shown_changed.connect(self.picture.refresh)
        session.document_changed.connect(self._on_document)
        session.document_leaving.connect(self.cancel_gesture)

    # views

    @property
    def active_view(self) -> ViewFrame:
        """The view in which the arrow keys move parts."""
        for view in self.picture.frame.views:
            if view.name == self._active_view:
                return view
        return self.picture.frame.views[0]

    def next_view(self) -> None:
        """Let the arrow keys move parts in the next view."""
        names = [view.name for view in self.picture.frame.views]
        self.set_active(names[(names.index(self.active_view.name) + 1) % len(names)])

    def set_active(self, name: str) -> None:
        """Let the arrow keys move parts in a view."""
        if name != self._active_view:
            self._active_view = name
            self.active_view_changed.emit()

    def view_at(self, place: QPointF) -> ViewFrame | None:
        """Return the view under a place on the board."""
        return self.picture.frame.view_at((place.x(), place.y()))

    def _on_document(self) -> None:
        """Cancel a gesture under which the layout was changed, by an undo for example."""
        if self._session.document.layout is not self._gesture_began_on:
            self.cancel_gesture()

    def _on_window(self) -> None:
        seen = self.seen
        self.picture.seen = (seen.left(), seen.top(), seen.right(), seen.bottom())

    # gestures

    def begin_gesture(self, gesture: Gesture) -> None:
        """Start a gesture; one that runs is cancelled."""
        QToolTip.hideText()
        self.cancel_gesture()
        self.gesture = gesture
        self._gesture_began_on = self._session.document.layout
        if isinstance(gesture, PartDrag):
            gesture.look_on(LOOK_MS)
            self._look_on(gesture)
        self.picture.set_gesture(gesture)

    def _look_on(self, drag: PartDrag) -> None:
        """Look which further zones can take a part, one in each turn, and light them all."""

        def look() -> None:
            if self.gesture is not drag:
                return
            if drag.look_on():
                self._look_on(drag)
            else:
                self.picture.follow.ask()

        self.picture.follow.errand(look)

    def finish_gesture(self) -> bool:
        """End the running gesture and keep what it did."""
        gesture, self.gesture = self.gesture, None
        QToolTip.hideText()
        self.hinted.emit("")
        done = gesture.finish() if gesture is not None else False
        self.picture.set_gesture(None)
        return done

    def cancel_gesture(self) -> None:
        """End the running gesture without a trace."""
        gesture, self.gesture = self.gesture, None
        if gesture is not None:
            self.hinted.emit("")
            gesture.cancel()
            self.picture.set_gesture(None)

    def _carried_to(self, at: QPoint, modifiers: Qt.KeyboardModifier) -> None:
        """Follow a part that is carried over from its panel: no move of the mouse tells of it."""
        self.pointer_moved.emit(self.mapToScene(at))
        self.follow_pointer(at, modifiers)

    def follow_pointer(self, at: QPoint, modifiers: Qt.KeyboardModifier) -> None:
        """Show what is dragged where the pointer is."""
        gesture = self.gesture
        place = self.mapToScene(at)
        xy: XY = (place.x(), place.y())
        view = self.view_at(place)
        if not isinstance(gesture, PartDrag) or view is None:
            return
        self.picture.follow.begin()
        self.set_active(view.name)
        snapping = self._snapping() and not modifiers & OFF_KEYS
        with self.picture.at_once():
            gesture.update(view, xy, self.mm_per_px, snapping)
            self.picture.set_gesture(gesture, xy)

    def turn_gesture(self) -> None:
        """Turn what is placed or dragged."""
        if isinstance(self.gesture, PartDrag | KeyPlacing):
            with self.picture.at_once():
                self.gesture.turn()
                self.picture.refresh()

    # drops from the parts panel

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take hold of a part that comes from the panel."""
        part = self._dragged_part(event)
        if part is None:
            event.ignore()
            return
        self.begin_gesture(PartDrag(self._session, part))
        self._drag_keys.watch()
        event.acceptProposedAction()

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        """Show where the part would go."""
        if not isinstance(self.gesture, PartDrag):
            event.ignore()
            return
        self._carried_to(event.position().toPoint(), event.modifiers())
        event.acceptProposedAction()

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """Let the part go again without a trace."""
        self._drag_keys.release()
        self.cancel_gesture()
        event.accept()

    def dropEvent(self, event: QDropEvent) -> None:
        """Drop the part."""
        self._drag_keys.release()
        if not isinstance(self.gesture, PartDrag):
            event.ignore()
            return
        self._carried_to(event.position().toPoint(), event.modifiers())
        if self.finish_gesture():
            event.acceptProposedAction()
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _dragged_part(self, event: QDropEvent) -> Part | None:
        part_id = carried_part(event.mimeData())
        return self._part_of(part_id) if part_id is not None else None
