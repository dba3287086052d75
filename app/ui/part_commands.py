"""The commands on a placed part: what each does, and when it can be used."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Literal

from app.ui.session import Session
from catalog.model import Direction
from catalog.parts import Adapter, Exchanger, Fan, Gasket, Part
from geometry.checks.words import called
from geometry.edits import (
    duplicate,
    flip_port_end,
    lift_out,
    next_thickness,
    remove,
    rotate,
    set_locked,
    toggle_air,
    turn_over,
)
from geometry.layout import Layout, Stack
from geometry.placement import Placed
from geometry.zone_names import zone_names

THICK_KINDS = (Exchanger, Fan, Gasket, Adapter)


class PartCommands:
    """Runs commands on the selected part; `facing` tells the direction towards the viewer."""

    def __init__(
        self, session: Session, parts: Sequence[Part], facing: Callable[[], Direction]
    ) -> None:
        self._session, self._facing = session, facing
        self._parts = parts
        self.handlers: Mapping[str, Callable[[], object]] = {
            "rotate": lambda: self._edit("Rotate {}", self._rotated),
            "flip": lambda: self._edit("Flip port end of {}", flip_port_end),
            "turn_over": lambda: self._edit("Turn port face of {}", turn_over),
            "air": lambda: self._edit("Change the air direction of {}", toggle_air),
            "thicker": lambda: self._edit("Swap {} for the next thicker one", self._other(1)),
            "thinner": lambda: self._edit("Swap {} for the next thinner one", self._other(-1)),
            "duplicate": self._duplicate,
            "delete": self._delete,
            "lock": self._lock,
            "lift": lambda: self._edit("Lift {} out of the stack", lift_out),
            "remove_stack": self._remove_stack,
        }

    @property
    def placed(self) -> Placed | None:
        """The selected part."""
        return self._session.edited.scene.placed.get(self._session.selected_part or "")

    @property
    def stack(self) -> Stack | None:
        """The stack of the selected part; the stack at hand where no part is selected."""
        one = self.placed
        return one.stack if one is not None else self._session.stack_at_hand

    def possible(self) -> dict[str, bool]:
        """Return which commands can be used on what is selected."""
        one = self.placed
        layout = self._session.edited.scene.layout
        ready = one is not None and not layout.is_locked(one.id)
        fan = one is not None and isinstance(one.part, Fan)
        thick = one is not None and isinstance(one.part, THICK_KINDS)
        stack = self.stack
        return {
            "rotate": ready,
            "flip": ready,
            "turn_over": ready,
            "air": ready and fan,
            "thicker": ready and thick,
            "thinner": ready and thick,
            "duplicate": one is not None,
            "delete": ready,
            "lock": one is not None,
            "lift": ready and one is not None and not one.free,
            "drop": ready,
            "move_stack": stack is not None and not stack.is_fixed,
            "remove_stack": stack is not None and not stack.is_fixed,
            "details": one is not None,
        }

    def _rotated(self, layout: Layout, part_id: str) -> Layout:
        """Turn a stacked part on its zone, a free one on the page of the view in use."""
        free = part_id in (one.id for one in layout.free)
        about = self._facing() if free else None
        return rotate(layout, part_id, 1, about)

    def _other(self, step: Literal[1, -1]) -> Callable[[Layout, str], Layout]:
        """Return the edit that swaps a part for the next thicker one (1) or thinner one (-1)."""
        return lambda layout, one: next_thickness(layout, one, tuple(self._parts), step)

    def _edit(self, name: str, edit: Callable[[Layout, str], Layout]) -> None:
        """Make an edit of the selected part, which stands for the braces in its name."""
        one = self._session.selected_part
        if one is None:
            self._session.refused.emit("Select a part on the board first.")
            return
        name = name.format(called(self._session.edited.scene, one))
        self._session.apply(name, lambda layout: edit(layout, one))

    def _duplicate(self) -> None:
        one, made = self._session.selected_part, ""

        def edit(layout: Layout) -> Layout:
            nonlocal made
            assert one is not None
            layout, made = duplicate(layout, one)
            return layout

        if one is None:
            self._session.refused.emit("Select a part on the board first.")
        elif self._session.apply(f"Duplicate {called(self._session.edited.scene, one)}", edit):
            self._session.select(made)

    def _delete(self) -> None:
        one = self.placed
        if one is not None:
            self._session.apply(f"Delete {one.part.name}", lambda la: remove(la, one.id))

    def _remove_stack(self) -> None:
        if self.stack is not None:
            take_out_stack(self._session, self.stack)

    def _lock(self) -> None:
        one = self.placed
        if one is None:
            return
        wanted = not one.use.locked
        name = f"{'Lock' if wanted else 'Unlock'} {one.part.name}"
        self._session.apply(name, lambda la: set_locked(la, one.id, wanted))


def take_out_stack(session: Session, stack: Stack) -> None:
    """Take a whole stack out of the layout as one step; its zone stays at hand."""
    zone = stack.zone
    name = zone_names(session.document.layout.enclosure)[zone]
    if session.apply(f"Take out the stack on {name}", lambda la: remove(la, stack.id)):
        session.take_zone(zone)
