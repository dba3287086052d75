"""The drawing board one works on: select, drag, nudge, drop parts from the panel."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDragMoveEvent,
    QDropEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
)
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from app.drawing.frame import ViewFrame
from app.drawing.primitives import XY
from app.ui.actions import key_of
from app.ui.board.canvas import BoardCanvas
from app.ui.board.drag_keys import DragKeys
from app.ui.board.gestures import Gesture, KeyPlacing, PartDrag
from app.ui.board.hits import balloon_at, owners_at, tip_at, tip_for
from app.ui.board.keys import ARROWS, arrow_vector_mm, next_thing, nudge_selected, nudge_step_mm
from app.ui.board.picture import BoardPicture
from app.ui.panels.part_texts import carried_part
from app.ui.session import Session
from app.ui.skin import Skin
from catalog.parts import Part

OFF_KEYS = Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.ControlModifier
"""Either of these held while dragging snaps to nothing."""

PAN_PX = 60

LOOK_MS = 8.0
"""How long zones are looked at when a drag begins; in a large room the rest follows behind."""


class BoardView(BoardCanvas):
    """Turns mouse, keys and drops on the board into selection and gestures.

    `finding_chosen` carries the place in the list of a balloon that was clicked; `menu_wanted`
    where on the screen a context menu shall open; `details_wanted` that numbers shall be typed;
    `hinted` a text for the user while placing with the keys (empty: over); `whispered` why a key
    did nothing.
    """

    finding_chosen = Signal(int)
    menu_wanted = Signal(QPoint)
    details_wanted = Signal()
    hinted = Signal(str)
    whispered = Signal(str)
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
        self._session, self._skin = session, skin
        self._part_of, self._snapping = part_of, snapping
        self.picture = BoardPicture(self.scene(), self.still, session, skin, self)
        self.painted.connect(self.picture.follow.painted)
        self.gesture: Gesture | None = None
        self._gesture_began_on = session.document.layout
        self._pressed: tuple[QPoint, str | None, bool] | None = None
        self._active_view = "side"
        self._drag_keys = DragKeys(self._turn, self)
        self.setAcceptDrops(True)
        self.scale_changed.connect(lambda: self.picture.set_scale(self.mm_per_px))
        self.window_changed.connect(self._on_window)
        session.shown_changed.connect(self.picture.refresh)
        session.selection_changed.connect(self._on_selection)
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
        self._set_active(names[(names.index(self.active_view.name) + 1) % len(names)])

    def _set_active(self, name: str) -> None:
        if name != self._active_view:
            self._active_view = name
            self.active_view_changed.emit()

    def view_at(self, place: QPointF) -> ViewFrame | None:
        """Return the view under a place on the board."""
        return self.picture.frame.view_at((place.x(), place.y()))

    def _on_selection(self) -> None:
        selected = self._session.selected
        told = (
            tip_for(self._session.checked.scene, selected).replace("\n", ", ")
            if selected
            else "nothing selected"
        )
        self.setAccessibleDescription(told)
        self.picture.refresh()

    def _on_document(self) -> None:
        """Cancel a gesture under which the layout was changed, by an undo for example."""
        if self._session.document.layout is not self._gesture_began_on:
            self.cancel_gesture()

    def _on_window(self) -> None:
        seen = self.seen
        self.picture.seen = (seen.left(), seen.top(), seen.right(), seen.bottom())

    # what is under the pointer

    def owners_at(self, place: QPointF) -> list[str]:
        """Return the parts, obstacles and zones under a place, those in front first."""
        return owners_at(self.picture.items, self._session.checked.scene, place)

    # mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Select what is under the pointer and get ready to drag it."""
        super().mousePressEvent(event)
        if event.isAccepted() or event.button() is not Qt.MouseButton.LeftButton:
            return
        event.accept()
        self._end_key_placing()
        at = event.position().toPoint()
        place = self.mapToScene(at)
        balloon = balloon_at(self.picture.items, place)
        if balloon is not None:
            self.finding_chosen.emit(balloon)
            return
        owners = self.owners_at(place)
        view = self.view_at(place)
        if view is not None:
            self._set_active(view.name)
        selected = self._session.selected
        again = selected is not None and selected in owners
        self._pressed = (at, selected if again else (owners[0] if owners else None), again)
        self._session.select(self._pressed[1])

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag what was pressed; otherwise pan and tell where the pointer is."""
        super().mouseMoveEvent(event)
        if self.panning or not event.buttons() & Qt.MouseButton.LeftButton:
            return
        if self.gesture is None and self._pressed is not None:
            start, owner, _ = self._pressed
            away = (event.position().toPoint() - start).manhattanLength()
            if away >= QApplication.startDragDistance():
                self._pressed = None
                self._start_drag(start, owner)
        if isinstance(self.gesture, PartDrag):
            self._follow(event.position().toPoint(), event.modifiers())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go: one edit. A second click without moving selects what lies behind."""
        super().mouseReleaseEvent(event)
        if event.button() is not Qt.MouseButton.LeftButton:
            return
        if isinstance(self.gesture, PartDrag):
            self.finish_gesture()
        elif self._pressed is not None and self._pressed[2]:
            self._select_behind(self.mapToScene(self._pressed[0]))
        self._pressed = None

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Open the numbers of the part under the pointer."""
        if event.button() is Qt.MouseButton.LeftButton and self._session.selected_part:
            self._pressed = None
            self.details_wanted.emit()

    def _select_behind(self, place: QPointF) -> None:
        owners = self.owners_at(place)
        selected = self._session.selected
        if selected in owners and len(owners) > 1:
            self._session.select(owners[(owners.index(selected) + 1) % len(owners)])

    def _start_drag(self, start: QPoint, owner: str | None) -> None:
        placed = self._session.checked.scene.placed.get(owner or "")
        if placed is None or owner is None:
            self.start_pan(start)
            return
        if self._session.layout.is_locked(owner):
            self._session.refused.emit(
                f"{placed.part.name} ({owner}) is locked; unlock it first ({key_of('lock')})."
            )
            return
        place = self.mapToScene(start)
        view = self.view_at(place)
        if view is not None:
            grab = view.to_world((place.x(), place.y()))
            self.begin_gesture(PartDrag(self._session, placed.part, owner, grab))

    def _carried_to(self, at: QPoint, modifiers: Qt.KeyboardModifier) -> None:
        """Follow a part that is carried over from its panel: no move of the mouse tells of it."""
        self.pointer_moved.emit(self.mapToScene(at))
        self._follow(at, modifiers)

    def _follow(self, at: QPoint, modifiers: Qt.KeyboardModifier) -> None:
        gesture = self.gesture
        place = self.mapToScene(at)
        xy: XY = (place.x(), place.y())
        view = self.view_at(place)
        if not isinstance(gesture, PartDrag) or view is None:
            return
        self.picture.follow.begin()
        self._set_active(view.name)
        snapping = self._snapping() and not modifiers & OFF_KEYS
        with self.picture.at_once():
            gesture.update(view, xy, self.mm_per_px, snapping)
            self.picture.set_gesture(gesture, xy)

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

    def place_by_keys(self, part: Part, moving: str | None = None) -> None:
        """Start to place a part with the keys."""
        self.cancel_gesture()
        self.begin_gesture(KeyPlacing(self._session, part, moving, self.hinted.emit))
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _end_key_placing(self) -> None:
        if isinstance(self.gesture, KeyPlacing):
            self.cancel_gesture()

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

    # keys

    def _turn(self) -> None:
        if isinstance(self.gesture, PartDrag | KeyPlacing):
            with self.picture.at_once():
                self.gesture.turn()
                self.picture.refresh()

    def event(self, event: QEvent) -> bool:
        """Take plain keys for the gesture before they are shortcuts."""
        if (
            event.type() is QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and self.gesture is not None
            and event.key() in (Qt.Key.Key_R, Qt.Key.Key_Return, Qt.Key.Key_Enter)
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc cancels, arrows move, Enter opens the numbers; of a gesture R turns, Enter drops."""
        if event.key() == Qt.Key.Key_Escape:
            if self.gesture is not None:
                self.cancel_gesture()
            else:
                self._session.select(None)
        elif self.gesture is not None:
            self._gesture_key(event)
        elif event.key() in ARROWS:
            self._arrow(event)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._session.selected_part:
            self.details_wanted.emit()
        else:
            super().keyPressEvent(event)

    def _gesture_key(self, event: QKeyEvent) -> None:
        gesture, key = self.gesture, event.key()
        if key == Qt.Key.Key_R:
            self._turn()
        elif isinstance(gesture, KeyPlacing):
            if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
                self.finish_gesture()
            elif key in ARROWS:
                arrow = ARROWS[Qt.Key(key)]
                step_mm = nudge_step_mm(event.modifiers())
                if not gesture.move(arrow_vector_mm(self.active_view, arrow, step_mm)):
                    gesture.step(sum(arrow))
            self.picture.refresh()
        event.accept()

    def _arrow(self, event: QKeyEvent) -> None:
        arrow = ARROWS[Qt.Key(event.key())]
        if self._session.selected_part is None:
            self.pan_by(-arrow[0] * PAN_PX, -arrow[1] * PAN_PX)
            return
        step_mm = nudge_step_mm(event.modifiers())
        refusal = nudge_selected(self._session, self.active_view, arrow, step_mm)
        if refusal:
            self.whispered.emit(refusal)

    def focusNextPrevChild(self, forwards: bool) -> bool:
        """Go through parts and zones with Tab; past the last one, on to the next panel."""
        if isinstance(self.gesture, KeyPlacing):
            self.gesture.step(1 if forwards else -1)
            self.picture.refresh()
            return True
        wanted = next_thing(self._session, forwards)
        if wanted is None:
            self._session.select(None)
            return super().focusNextPrevChild(forwards)
        self._session.select(wanted)
        return True

    # menus and tips

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Open the menu of what is under the pointer, or of what is selected when by key."""
        if event.reason() is QContextMenuEvent.Reason.Mouse:
            owners = self.owners_at(self.mapToScene(event.pos()))
            if self._session.selected not in owners:
                self._session.select(owners[0] if owners else None)
        self.menu_wanted.emit(event.globalPos())
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:
        """Tell what is under the pointer."""
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            place, text = self.mapToScene(event.pos()), ""
            if self.gesture is None:
                owners = self.owners_at(place)
                picture, checked = self.picture, self._session.checked
                text = tip_at(
                    picture.items, checked, place, owners, picture.profile, self._skin.unit
                )
            QToolTip.showText(event.globalPos(), text, self)
            return True
        return super().viewportEvent(event)
