"""The drawing board one works on with mouse and keys: select, drag, nudge, open menus."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
)
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from app.ui.actions import key_of
from app.ui.board.gesture_board import GestureBoard
from app.ui.board.gestures import KeyPlacing, PartDrag
from app.ui.board.hits import balloon_at, owners_at, tip_at, tip_for
from app.ui.board.keys import ARROWS, arrow_vector_mm, next_thing, nudge_selected, nudge_step_mm
from app.ui.session import Session
from app.ui.skin import Skin
from catalog.parts import Part

PAN_PX = 60


class BoardView(GestureBoard):
    """Turns mouse and keys on the board into selection and gestures.

    `finding_chosen` carries the place in the list of a balloon that was clicked; `menu_wanted`
    where on the screen a context menu shall open; `details_wanted` that numbers shall be typed;
    `whispered` why a key did nothing; `all_wanted` that all of the board shall be shown.
    """

    finding_chosen = Signal(int)
    menu_wanted = Signal(QPoint)
    details_wanted = Signal()
    whispered = Signal(str)
    all_wanted = Signal()

    def __init__(
        self,
        session: Session,
        skin: Skin,
        part_of: Callable[[str], Part | None],
        snapping: Callable[[], bool],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(session, skin, part_of, snapping, parent)
        self._skin = skin
        self._pressed: tuple[QPoint, str | None, bool] | None = None
        session.selection_changed.connect(self._on_selection)

    def _on_selection(self) -> None:
        selected = self._session.selected
        told = (
            tip_for(self._session.checked.scene, selected, self._skin.unit).replace("\n", ", ")
            if selected
            else "nothing selected"
        )
        self.setAccessibleDescription(told)
        self.picture.refresh()

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
            self.set_active(view.name)
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
            self.follow_pointer(event.position().toPoint(), event.modifiers())

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

    # keys

    def place_by_keys(self, part: Part, moving: str | None = None) -> None:
        """Start to place a part with the keys."""
        self.cancel_gesture()
        self.begin_gesture(KeyPlacing(self._session, part, moving, self.hinted.emit))
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _end_key_placing(self) -> None:
        if isinstance(self.gesture, KeyPlacing):
            self.cancel_gesture()

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
            elif self._session.selected is not None:
                self._session.select(None)
            elif not self.fitted:
                self.all_wanted.emit()
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
            self.turn_gesture()
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
