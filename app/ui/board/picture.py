"""Keeps the picture on the board in step with the session: drawing, overlay, flash.

While a part follows the pointer, each move shows its outline, what is said of it and all of the
board as it is then. Where a frame has no time for all of the board (the largest layouts), the rest
follows in turns, and the note beside the pointer says so until it has.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPointF, QRectF, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QGraphicsScene

from app.drawing.board import (
    BoardFrame,
    BoardMemory,
    BoardSettings,
    board_drawing,
    board_steps,
)
from app.drawing.board_making import Shows
from app.drawing.drafting import Drafting
from app.drawing.extents import extent, part_rectangle
from app.drawing.frame import ViewFrame
from app.drawing.memory import Same
from app.drawing.overlay import Note, ghost_groups, note_group
from app.drawing.primitives import XY, Bounds, Drawing, Group
from app.drawing.silhouettes import inside
from app.ui.board.flash import Flash
from app.ui.board.gestures import Gesture, PartDrag
from app.ui.board.items import BoardItems
from app.ui.board.pointer_work import PointerWork
from app.ui.board.session_overlay import ProfileAtHand, note_lines, profiled, under_groups
from app.ui.board.still_board import StillBoard
from app.ui.board.strips import Looks
from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.units import Unit
from geometry.checks.runner import Checked

if TYPE_CHECKING:
    from geometry.zone_profile import ZoneProfile


class BoardPicture(QObject):
    """Draws the session's layout into a scene; `reframed` tells that views lie elsewhere."""

    reframed = Signal()

    def __init__(
        self,
        scene: QGraphicsScene,
        still: StillBoard,
        session: Session,
        skin: Skin,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._skin, self._still = session, skin, still
        self.follow = PointerWork(self._steps, self)
        self._looks: Looks | None = None
        self._on_show: tuple[object, ...] = ()
        self._of: Checked | None = None
        self._past: tuple[object, ...] = ()
        """What was shown before, which is freed once the paint of what replaced it is done."""
        self._making: tuple[object, ...] = ()
        """What the board that is under way in steps is drawn from."""
        self.items = BoardItems(scene)
        self._memory: BoardMemory = BoardMemory()
        self._mm_per_px = 1.0
        self._sheet: tuple[float, Bounds] | None = None
        """At which scale what part of the board is seen, where annotations keep to it."""
        self._end_view = False
        self._framed_for: tuple[object, ...] = ()
        self.frame = BoardFrame.of(session.layout, BoardSettings())
        self.drawing = Drawing(self.frame.bounds, ())
        self._last: tuple[tuple[object, ...], Drawing] | None = None
        self._tried: tuple[tuple[object, ...], Drawing] | None = None
        """The drawing that was laid out to find what it takes up."""
        self.laid_out = 0
        """How often the drawing has been laid out so far."""
        self.shows_profile = False
        """Whether the depth over the zone at hand is drawn."""
        self._profile = ProfileAtHand()
        self._lit: int | None = None
        self._gesture: Gesture | None = None
        self._holding = self._asked = False
        self._pointer: XY | None = None
        self.seen: Bounds = self.frame.bounds
        """The part of the board that the window shows; notes keep within it."""
        self._flash = Flash(scene, self)

    @property
    def remade(self) -> int:
        """How much of the drawing has been made anew so far: groups, and what they need."""
        return self._memory.remade

    # what is shown

    def set_scale(self, mm_per_px: float) -> None:
        """Lay the drawing out for another scale."""
        if mm_per_px != self._mm_per_px:
            self._mm_per_px = mm_per_px
            self.redraw()

    def set_end_view(self, on: bool) -> None:
        """Show or hide the end view."""
        self._end_view = on
        self.redraw()

    def set_profile(self, on: bool) -> None:
        """Draw the depth over the zone at hand, or no longer."""
        self.shows_profile = on
        self.redraw()

    def set_lit(self, index: int | None) -> None:
        """Light the parts of a finding (its place in the list); None lights none."""
        if index != self._lit:
            self._lit = index
            self.refresh()

    def set_gesture(self, gesture: Gesture | None, pointer: XY | None = None) -> None:
        """Show a running gesture: lit zones, ghost and note; None shows none."""
        fresh = gesture is not self._gesture
        self._gesture, self._pointer = gesture, pointer
        if isinstance(gesture, PartDrag):
            self._still.start()
        else:
            self._still.stop()
        if fresh:
            self.redraw()
        else:
            self.refresh()

    @contextmanager
    def at_once(self) -> Iterator[None]:
        """Draw once at the end, however often a refresh is asked for meanwhile."""
        held = self._holding
        self.hold()
        try:
            yield
        finally:
            if not held:
                self.release()

    def hold(self) -> None:
        """Draw nothing until `release`, as before there is a window to draw for."""
        if not self._holding:
            self._holding, self._asked = True, False

    def release(self) -> None:
        """Draw what was asked for meanwhile."""
        self._holding = False
        if self._asked:
            self.refresh()

    def bounds_at(self, mm_per_px: float) -> Bounds:
        """Return what the drawing takes up at a scale, its annotations among it; shows nothing."""
        self.reframe()
        key = self._key_at(mm_per_px, None, None)
        if self._tried is None or self._tried[0] != key:
            self._tried = (key, self._drawn(mm_per_px, None, None))
        return self._tried[1].bounds

    def keep_to(self, mm_per_px: float, sheet: Bounds) -> None:
        """Keep annotations within what is seen at a scale, until there is another scale."""
        self._sheet = (mm_per_px, sheet)
        key, drawing = self._tried or (None, self.drawing)
        # Where all of it is seen, keeping to what is seen changes nothing.
        if key == self._key_at(mm_per_px, None, None) and inside(drawing.bounds, sheet):
            self._last = (self._key_at(mm_per_px, None, sheet), drawing)

    @property
    def extent(self) -> Bounds:
        """The views with all parts, of which one may stand out of the enclosure (mm)."""
        return extent(self._session.checked.scene, self.frame)

    @property
    def behind(self) -> bool:
        """Whether the board under a part on its way is of an earlier layout or selection."""
        return self._still.on and self._on_show != self._key()

    @property
    def older(self) -> bool:
        """Whether any figure or mark painted may be of an earlier layout than the part's."""
        return self._session.stale or self.behind

    def refresh(self) -> None:
        """Draw what the session shows; while a part follows the pointer the board does so later."""
        if self._still.on and not self._holding:
            if not (self.behind and self.follow.ask(again=self._making != self._key())):
                self._show_over()
        else:
            self.redraw()

    def redraw(self) -> None:
        """Draw all that the session shows, at once."""
        if self._holding:
            self._asked = True
            return
        self.follow.drop()
        self.reframe()
        scale = self._mm_per_px
        self.drawing = self._drawn(scale, self._lit_shown, self.sheet)
        under = (*self._under(self._lit_shown), *self._profiled(self.profile))
        if self._still.on:
            self._show_board(self.drawing.groups + under, self._key(), self._session.checked)
        else:
            groups = self.drawing.groups + under + tuple(self._over_all())
            self.items.show(groups, self._skin.theme)
            self._let_go()

    def _show_board(
        self, groups: Sequence[Group], key: tuple[object, ...], checked: Checked
    ) -> None:
        """Show the board under a part on its way, drawn from `key`, and what is over it."""
        if self._looks is None or self._looks.theme is not self._skin.theme:
            self._looks = Looks(self._skin.theme)
        if not self._past:
            self.follow.errand(self._let_go)
        self._past = (self._on_show, self._of)
        self._still.show(groups, self._looks)
        self._on_show, self._of = key, checked
        self._show_over()

    def _steps(self) -> Iterator[None]:
        """Bring the board under a part on its way up to date, in steps."""
        self.reframe()
        key, lit, checked = self._key(), self._lit_shown, self._session.checked
        self._making, sheet = key, self.sheet
        # At once: a later turn may find another report, in which `lit` is another finding or none.
        under, profile = tuple(self._under(lit)), self.profile
        self.laid_out += 1
        drawing = yield from board_steps(
            checked,
            self.frame,
            self._mm_per_px,
            self._shows(lit),
            self._memory,
            sheet,
        )
        self.drawing, self._last = drawing, (key, drawing)
        self._show_board((*drawing.groups, *under, *self._profiled(profile)), key, checked)

    def _let_go(self) -> None:
        """Free what was shown before, which takes a while, now that there is time for it."""
        self._past = ()
        self._memory.let_go()
        self._still.let_go()

    def _show_over(self) -> None:
        if self._looks is not None:
            self._still.show_over(tuple(self._over_all()), self._looks)

    def group(self, key: str) -> Group | None:
        """Return a group that is shown; None when there is none by that key."""
        return self._still.group(key) if self._still.on else self.items.group(key)

    def rect(self, key: str) -> QRectF | None:
        """Return the rectangle round a group on the board; None when there is none by that key."""
        return self._still.rect(key) if self._still.on else self.items.rect(key)

    def shown_keys(self) -> tuple[str, ...]:
        """Return the keys of the groups shown, from the back to the front."""
        return self._still.shown_keys() if self._still.on else self.items.shown_keys()

    @property
    def _lit_shown(self) -> int | None:
        return (
            self._lit if self._lit is not None and self._lit < len(self._session.balloons) else None
        )

    def _shows(self, lit: int | None) -> Shows:
        selected = self._session.selected
        chosen = frozenset([selected]) if selected else frozenset()
        return Shows(chosen, None if lit is None else lit + 1, self._skin.unit is Unit.INCH)

    def _key(self) -> tuple[object, ...]:
        """Return what the board under the overlay is drawn from."""
        scale = self._mm_per_px
        return self._key_at(scale, self._lit_shown, self.sheet)

    def _key_at(self, scale: float, lit: int | None, sheet: Bounds | None) -> tuple[object, ...]:
        shows = self._shows(lit)
        return (Same(self._session.checked), Same(self.frame), scale, shows, sheet)

    @property
    def sheet(self) -> Bounds | None:
        """The part of the board to which annotations keep; None where they may stand anywhere."""
        return self._sheet_at(self._mm_per_px)

    def _sheet_at(self, mm_per_px: float) -> Bounds | None:
        return self._sheet[1] if self._sheet and self._sheet[0] == mm_per_px else None

    def _drawn(self, mm_per_px: float, lit: int | None, sheet: Bounds | None) -> Drawing:
        session, shows = self._session, self._shows(lit)
        key = self._key_at(mm_per_px, lit, sheet)
        if self._last is None or self._last[0] != key:
            self.laid_out += 1
            drawing = board_drawing(
                session.checked, self.frame, mm_per_px, shows, memory=self._memory, sheet=sheet
            )
            self._last = (key, drawing)
        return self._last[1]

    def reframe(self) -> None:
        """Lay the views where the layout's enclosure and settings want them."""
        layout = self._session.layout
        key = (Same(layout.enclosure), layout.settings.projection, self._end_view)
        if key == self._framed_for:
            return
        self._framed_for = key
        settings = BoardSettings(layout.settings.projection, self._end_view)
        self.frame = BoardFrame.of(layout, settings)
        self.reframed.emit()

    def _drafting(self) -> Drafting:
        return Drafting.on_screen(self._mm_per_px, inches=self._skin.unit is Unit.INCH)

    def _under(self, lit: int | None) -> Iterator[Group]:
        """Yield what lies over the drawing and stays while a part is on its way."""
        gesture = self._gesture
        zones = None if gesture is None else gesture.zones
        return under_groups(self._session, self.frame, self._drafting(), lit, zones, self._memory)

    def _over_all(self) -> Iterator[Group]:
        """Yield what belongs to the part on its way: its outline, and the note beside it."""
        gesture, drafting = self._gesture, self._drafting()
        if gesture is not None and gesture.part_id is not None:
            scene = self._session.checked.scene
            yield from ghost_groups(scene, self.frame, gesture.part_id, drafting)
        lines = note_lines(self._session, self._skin.unit, gesture, older=self.older)
        at = self._note_at(gesture)
        if lines and at is not None:
            yield note_group(Note(at, lines, self._on_its_way(gesture, at)), self.seen, drafting)

    def _on_its_way(self, gesture: Gesture | None, at: XY) -> Bounds | None:
        """Return the rectangle of a part that follows the pointer, in the view where that is."""
        view = self.frame.view_at(at)
        if not isinstance(gesture, PartDrag) or gesture.part_id is None or view is None:
            return None
        return part_rectangle(self._session.checked.scene, view, gesture.part_id)

    def _note_at(self, gesture: Gesture | None) -> XY | None:
        """Return where a note stands: at the pointer, beside the part, or in the corner."""
        if gesture is None:
            return self.seen[:2]
        if isinstance(gesture, PartDrag):
            return self._pointer
        rect = self.rect(f"solid:{self.frame.views[0].name}:{gesture.part_id}")
        return (rect.right(), rect.top()) if rect is not None else None

    @property
    def profile(self) -> ZoneProfile | None:
        """The depth over the zone at hand; None where it is not asked for."""
        return self._profile.of(self._session) if self.shows_profile else None

    def _profiled(self, profile: ZoneProfile | None) -> Iterator[Group]:
        """Yield a depth profile, its figures off those of the drawing."""
        return profiled(profile, self.drawing, self.sheet, self.frame, self._drafting())

    # places

    def place_of_finding(self, index: int) -> QPointF | None:
        """Return the middle of a finding's balloon and mark on the board, to go there."""
        if not 0 <= index < len(self._session.balloons):
            return None
        finding = self._session.balloons[index]
        rect = self.rect(f"finding:{index + 1}")
        view = self._view_of_balloon(rect)
        return QPointF(*view.to_board(finding.place))

    def _view_of_balloon(self, rect: QRectF | None) -> ViewFrame:
        if rect is not None:
            found = self.frame.view_at((rect.center().x(), rect.center().y()))
            if found is not None:
                return found
        return self.frame.views[0]

    def flash(self, place: QPointF) -> None:
        """Draw a ring that closes in on a place for half a second."""
        self._flash.start(place, QColor(self._skin.chrome.accent), self._mm_per_px)

    @property
    def flashing(self) -> bool:
        """Whether a ring is drawn at the moment."""
        return self._flash.running
