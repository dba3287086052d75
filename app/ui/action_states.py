"""What commands say of the window: which can be given, which are ticked, what undo takes back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.ui.actions import dress_actions, with_keys

if TYPE_CHECKING:
    from app.ui.window import MainWindow


class ActionStates:
    """Keeps the actions of one window in step with its document, selection and settings."""

    def __init__(self, window: MainWindow) -> None:
        self._window, self._actions = window, window.actions_by_name

    def refresh(self) -> None:
        """Show everything as it is, as after an edit."""
        document, actions = self._window.session.document, self._actions
        undo, redo = actions["undo"], actions["redo"]
        undo.setEnabled(document.can_undo)
        undo.setText(f"&Undo {document.undo_name or ''}".strip())
        redo.setEnabled(document.can_redo)
        redo.setText(f"&Redo {document.redo_name or ''}".strip())
        dress_actions(actions, self._window.skin)
        if document.undo_name:
            undo.setToolTip(with_keys("undo", f"Undo {document.undo_name}"))
        if document.redo_name:
            redo.setToolTip(with_keys("redo", f"Redo {document.redo_name}"))
        self.show_possible()
        self.show_ticks()

    def show_possible(self) -> None:
        """Enable what can be done with what is selected."""
        window, lock = self._window, self._actions["lock"]
        for name, possible in window.part_commands.possible().items():
            self._actions[name].setEnabled(possible)
        placed = window.part_commands.placed
        locked = placed is not None and placed.use.locked
        lock.setText("Unloc&k" if locked else "Loc&k")
        lock.setIcon(window.skin.icon("unlock" if locked else "lock"))

    def show_ticks(self) -> None:
        """Tick what is on."""
        window, preferences = self._window, self._window.preferences
        settings = window.session.document.layout.settings
        ticked = {
            "end_view": preferences.end_view,
            "depth_profile": window.board.picture.shows_profile,
            "first_angle": settings.projection == "first-angle",
            "grid": preferences.grid,
            "snap": preferences.snap,
            "parts_panel": not window.parts.isHidden(),
            "side_panel": not window.right.isHidden(),
            "inches": preferences.unit.value == "in",
        }
        for name, on in ticked.items():
            self._actions[name].setChecked(on)

    def show_kept(self) -> None:
        """Enable what brings kept work back, if there is any."""
        self._actions["kept_work"].setEnabled(self._window.recovery.has_any)

    def dress(self) -> None:
        """Give all actions the icons of another theme."""
        dress_actions(self._actions, self._window.skin)
        self.show_possible()
