"""Gestures that place and move parts. Mouse, drag and drop, keys and tests drive them alike.

A gesture shows a tentative layout while it runs; `finish` makes one edit of it, `cancel` leaves
no trace.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from time import thread_time
from typing import TYPE_CHECKING, Protocol

from app.drawing.frame import HalfVec, ViewFrame
from app.drawing.primitives import XY
from app.ui.session import Session
from catalog.model import Direction
from catalog.parts import Part
from geometry.edits import EditError, rotate
from geometry.layout import Layout
from geometry.measures.pose import Vec
from geometry.scene import Scene
from geometry.zone_names import zone_names

if TYPE_CHECKING:
    from geometry.drop import Drop, DropTarget

SNAP_PX = 8.0
"""How near in pixels something has to be to be snapped to."""

SNAP_MOST_MM = 10.0
GRID_MM = 1.0


class Gesture(Protocol):
    """What the board needs to know of a running gesture."""

    @property
    def part_id(self) -> str | None:
        """The id of the part under way; None before its first place."""

    @property
    def zones(self) -> tuple[str, ...]:
        """The zones that can take it, to be lit."""

    @property
    def note(self) -> str:
        """What stands beside the part: where it would go, and why not if it cannot."""

    def finish(self) -> bool:
        """Keep what is shown as one edit; False when there is nothing to keep."""

    def cancel(self) -> None:
        """Leave everything as it was before."""


class _Placing:
    """What dragging and placing with the keys share: trying a drop out, keeping it, leaving it."""

    def __init__(self, session: Session, part: Part, moving: str | None) -> None:
        self._session = session
        self._part, self._moving = part, moving
        self._base: Scene = session.settled.scene
        # Where parts can go is loaded with the first gesture: a window is painted before.
        from geometry.drop import DropPlaces

        self._places = DropPlaces(self._base, part, moving)
        self._selected_before = session.selected
        self._part_id = moving
        self._drop: Drop | None = None
        self._tried: tuple[object, ...] = ()
        """What the layout on show was made from."""
        self._refusal = ""
        self._quarters = 0
        self._about: Direction = "-y"

    @property
    def part_id(self) -> str | None:
        """The id of the part under way; None before its first place."""
        return self._part_id

    @property
    def zones(self) -> tuple[str, ...]:
        """The zones that can take it, to be lit, of those that were looked at."""
        return self._places.zones

    @property
    def drop(self) -> Drop | None:
        """What letting go would do."""
        return self._drop

    def _try(self, drop: Drop) -> None:
        """Show what a drop would give; one that leads to the same place as before costs nothing."""
        self._drop = self._turned(drop)
        tried = (replace(self._drop, reasons=()), self._quarters, self._about)
        if tried == self._tried and self._session.trying:
            return
        self._tried = ()
        try:
            layout, self._part_id = self._edited(self._drop, self._base.layout)
        except EditError as error:
            self._refusal = str(error)
            self._drop = None
            self._session.end_trial()
            return
        self._refusal, self._tried = "", tried
        self._session.try_layout(layout, self._part_id)

    def _turned(self, drop: Drop) -> Drop:
        if drop.target is not None and drop.target.turns:
            turns = drop.target.turns
            at = self._quarters % len(turns)
            return replace(drop, target=replace(drop.target, turns=turns[at:] + turns[:at]))
        return drop

    def _edited(self, drop: Drop, layout: Layout) -> tuple[Layout, str]:
        """Do a drop; a free part is turned on the page of the view in which it is dragged."""
        layout, part_id = drop.edit(layout)
        if drop.at_mm is not None and self._quarters % 4:
            layout = rotate(layout, part_id, self._quarters % 4, self._about)
        return layout, part_id

    def _target_words(self, target: DropTarget) -> str:
        zones = zone_names(self._base.layout.enclosure)
        layer = f"layer {target.layer_index + 1}"
        return f"{zones[target.zone]}, {target.side} side, cell {target.cell}, {layer}"

    def _changes(self) -> Iterator[str]:
        """Yield what the move changes in the order of the stack that the part stood in."""
        if self._moving is not None:
            from geometry.layer_change import change_lines

            yield from change_lines(self._base.layout, self._session.layout, self._moving)

    def finish(self) -> bool:
        """Keep what is shown as one edit; False when there is nothing to keep."""
        drop, wanted = self._drop, self._part_id
        self._session.end_trial()
        if drop is None:
            self._session.select(self._selected_before)
            if self._refusal:
                self._session.refused.emit(self._refusal)
            return False

        def edit(layout: Layout) -> Layout:
            return self._edited(drop, layout)[0]

        done = self._session.apply(drop.name, edit)
        self._session.select(wanted if done else self._selected_before)
        return done

    def cancel(self) -> None:
        """Leave everything as it was before."""
        self._session.end_trial()
        self._session.select(self._selected_before)


class PartDrag(_Placing):
    """A part follows the pointer: a new one from the parts panel, or a placed one.

    `grab` is where a placed part was taken hold of, in the view in which it was.
    """

    def __init__(
        self, session: Session, part: Part, moving: str | None = None, grab: HalfVec | None = None
    ) -> None:
        super().__init__(session, part, moving)
        self._grab = grab
        self._at: tuple[ViewFrame, XY, float, bool] | None = None

    @property
    def note(self) -> str:
        """What stands beside the part: what it snapped to, or why it cannot go there."""
        if self._refusal:
            return self._refusal
        if self._drop is None:
            return ""
        if self._drop.slide_mm is not None:
            u, v = self._drop.slide_mm
            return f"stack slides {u:.1f} mm, {v:.1f} mm".replace("-", "−")
        if self._drop.target is not None:
            return "\n".join((self._target_words(self._drop.target), *self._changes()))
        return "\n".join(("free in the room", *self._changes(), *self._drop.reasons))

    def update(self, view: ViewFrame, at: XY, mm_per_px: float, snapping: bool = True) -> None:
        """Follow the pointer to a place on the board."""
        from geometry.drop import Aim, Carried, best_drop
        from geometry.snap import Snapping

        self._at = (view, at, mm_per_px, snapping)
        self._about = view.toward.name
        drop = best_drop(
            self._base,
            Carried(self._part, self._moving, self._grab),
            Aim(view.toward.axis, view.to_world(at)),
            targets=self._places,
            snapping=Snapping(min(SNAP_PX * mm_per_px, SNAP_MOST_MM), GRID_MM, snapping),
        )
        self._try(drop)

    def look_on(self, lasts_ms: float = 0.0) -> bool:
        """Look at one more zone or several for places of the part; False when all were looked at.

        It stops at the next zone after so long, in the time of the thread.
        """
        end = thread_time() + lasts_ms / 1000
        more = self._places.look_on()
        while more and thread_time() < end:
            more = self._places.look_on()
        return more

    def turn(self) -> None:
        """Turn the part under way: the next way in which it fits a zone, or a quarter turn."""
        self._quarters += 1
        if self._at is not None:
            self.update(*self._at)


class KeyPlacing(_Placing):
    """A part is placed with the keys: the places that can take it, one after the other.

    The last of them is free in the room, where `move` moves it. `told` is called with
    where it stands in words.
    """

    def __init__(
        self,
        session: Session,
        part: Part,
        moving: str | None = None,
        told: Callable[[str], None] | None = None,
    ) -> None:
        from geometry.drop import Drop
        from geometry.free_spot import free_drop

        super().__init__(session, part, moving)
        self._told = told
        self._options: list[Drop] = [
            Drop(part, moving, target=target) for target in self._places.every() if target.fits
        ]
        self._options.append(free_drop(self._base, part, self._base.placed.get(moving or "")))
        self._index = 0
        self.show()

    @property
    def note(self) -> str:
        """Which place is shown, in words."""
        return self._refusal or "\n".join((self._words(), *self._changes()))

    def step(self, by: int) -> None:
        """Show the next place, or the one before."""
        self._index = (self._index + by) % len(self._options)
        self.show()

    def move(self, by_mm: Vec) -> bool:
        """Move a part that is free in the room; False where it stands in a zone."""
        at = self._options[self._index].at_mm
        if at is None:
            return False
        moved = (at[0] + by_mm[0], at[1] + by_mm[1], at[2] + by_mm[2])
        self._options[self._index] = replace(self._options[self._index], at_mm=moved)
        self.show()
        return True

    def turn(self) -> None:
        """Show the next way in which it fits there."""
        self._quarters += 1
        self.show()

    def show(self) -> None:
        """Show the place that is chosen."""
        self._try(self._options[self._index])
        if self._told is not None:
            count = len(self._options)
            place = f"place {self._index + 1} of {count}, " if count > 1 else ""
            keys = "Arrow keys choose"
            if self._options[self._index].at_mm is not None:
                keys = "Arrow keys move it (Shift 10 mm, Ctrl 0.1 mm)"
                keys += ", Tab chooses another place" if count > 1 else ""
            self._told(
                f"{self._part.name}: {place}{self._words()}. "
                f"{keys}, R turns, Enter drops, Esc cancels."
            )

    def _words(self) -> str:
        target = self._options[self._index].target
        return "free in the room" if target is None else self._target_words(target)
