"""What commands say of the window: which can be given, which are ticked, what undo takes back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.ui.actions import dress_actions, explain_actions, tip_of, with_keys

if TYPE_CHECKING:
    from app.ui.window import MainWindow


class ActionStates:
    """Keeps the actions of one window in step with its document, selection and settings."""

    def __init__(self, window: MainWindow) -> None:
        self._window, self._actions = window, window.actions_by_name

    def refresh(self) -> None:
        """Show everything as it is, as after an edit."""
        self._show_undo()
        dress_actions(self._actions, self._window.skin)
        self.show_possible()
        self.show_ticks()

    def explain(self) -> None:
        """Give all actions their tips; they are seen over what is on the screen already."""
        explain_actions(self._actions)
        self._show_undo()

    def _show_undo(self) -> None:
        """Name what undo and redo would do."""
        document = self._window.session.document
        for name, word, step, possible in (
            ("undo", "Undo", document.undo_name, document.can_undo),
            ("redo", "Redo", document.redo_name, document.can_redo),
        ):
            action = self._actions[name]
            action.setEnabled(possible)
            action.setText(f"&{word} {step or ''}".strip())
            action.setToolTip(with_keys(name, f"{word} {step}") if step else tip_of(name))

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
