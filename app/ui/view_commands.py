"""The commands that look and lead: zoom, views, findings, panes, help, placing."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from app.drawing.frame import Projection
from app.ui.actions import key_of, with_keys
from app.ui.board.canvas import ZOOM_STEP
from app.ui.units import Unit
from geometry.edits import set_projection

if TYPE_CHECKING:
    from app.ui.window import MainWindow

GO_PX_PER_MM = 1.6
"""Going to a finding comes at least this close."""


class ViewCommands:
    """Runs on one window; keeps which finding is the current one."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self.finding: int | None = None
        """The place in the list of the finding that was gone to last."""
        self.handlers: dict[str, Callable[[], object]] = {
            "quit": window.close,
            "undo": window.session.undo,
            "redo": window.session.redo,
            "drop": self._drop,
            "move_stack": self._choose_zone,
            "details": self.show_details,
            "place": self._place,
            "search": window.parts.focus_search,
            "push": lambda: window.stack.set_plan("push"),
            "pull": lambda: window.stack.set_plan("pull"),
            "push_pull": lambda: window.stack.set_plan("push-pull"),
            "no_fans": lambda: window.stack.set_plan("none"),
            "zoom_in": lambda: window.board.zoom_by(ZOOM_STEP),
            "zoom_out": lambda: window.board.zoom_by(1 / ZOOM_STEP),
            "zoom_fit": window.pane.fit,
            "end_view": self._end_view,
            "depth_profile": self._depth_profile,
            "first_angle": self._first_angle,
            "grid": lambda: self._switch("grid"),
            "snap": lambda: self._switch("snap"),
            "inches": self._inches,
            "parts_panel": lambda: window.show_panel(window.parts),
            "side_panel": lambda: window.show_panel(window.right),
            "next_view": window.board.next_view,
            "next_finding": lambda: self._step_finding(1),
            "previous_finding": lambda: self._step_finding(-1),
            "remedy": self._first_remedy,
            "mend": lambda: self._mend(everything=False),
            "mend_all": lambda: self._mend(everything=True),
            "check_help": lambda: self._help("What the checks look at"),
            "keys_help": lambda: self._help("Keys and mouse"),
            "about": lambda: self._help("About Gapwright"),
            "next_pane": lambda: self._step_pane(1),
            "previous_pane": lambda: self._step_pane(-1),
        }
        window.board.picture.set_end_view(window.preferences.end_view)

    # findings

    def go_to_finding(self, index: int) -> None:
        """Bring a finding to the middle of the board, flash its place, and mark its card."""
        window = self._window
        place = window.board.picture.place_of_finding(index)
        if place is None:
            return
        self.finding = index
        window.right.show_findings()
        window.findings.set_current(index)
        finding = window.session.balloons[index]
        placed = [one for one in finding.ids if one in window.session.checked.scene.placed]
        if placed:
            window.session.select(placed[0])
        window.board.go_to(place, min(GO_PX_PER_MM, window.board.px_per_mm * 4))
        window.board.picture.flash(place)

    def _step_finding(self, step: int) -> None:
        count = len(self._window.session.balloons)
        if not count:
            self._window.notice.hint("There is no finding: nothing is blocked or tight.")
            return
        at = self.finding
        first = 0 if step > 0 else count - 1
        self.go_to_finding(first if at is None or at >= count else (at + step) % count)

    def _first_remedy(self) -> None:
        window, at = self._window, self.finding or 0
        cards = window.findings.cards
        if at < len(cards) and cards[at].mends.buttons:
            window.mends.apply(cards[at].mends.buttons[0].offer)
        else:
            window.notice.hint(
                "No change is known yet that clears the current finding; read its advice, or "
                f"find the smallest change ({key_of('mend')})."
            )

    def _mend(self, *, everything: bool) -> None:
        window, at = self._window, self.finding or 0
        cards = window.findings.cards
        if at >= len(cards):
            window.notice.hint("There is no finding: nothing is blocked or tight.")
        elif window.session.trying and not window.session.previewing:
            window.notice.hint("Drop the part being moved first.")
        elif window.session.looking:
            window.notice.hint("Still looking for quick changes; try again in a moment.")
        else:
            window.mends.search(None if everything else cards[at].goal)

    # views

    def _end_view(self) -> None:
        window = self._window
        window.preferences.end_view = not window.preferences.end_view
        window.board.picture.set_end_view(window.preferences.end_view)
        window.pane.fit()

    def _depth_profile(self) -> None:
        window = self._window
        picture = window.board.picture
        picture.set_profile(not picture.shows_profile)
        zone = window.session.at_hand
        if picture.shows_profile and zone is None:
            window.notice.hint("This enclosure has no zone over which a depth could be drawn.")

    def _first_angle(self) -> None:
        window = self._window
        now = window.session.document.layout.settings.projection
        wanted: Projection = "third-angle" if now == "first-angle" else "first-angle"
        window.session.apply(f"Projection: {wanted}", lambda layout: set_projection(layout, wanted))
        window.pane.fit()

    def _switch(self, key: str) -> None:
        preferences = self._window.preferences
        setattr(preferences, key, not getattr(preferences, key))

    def _inches(self) -> None:
        preferences = self._window.preferences
        preferences.unit = Unit.MM if preferences.unit is Unit.INCH else Unit.INCH

    # placing

    def _place(self) -> None:
        part = self._window.parts.list.chosen
        if part is None:
            self._window.notice.hint(with_keys("search", "Choose a part in the list first") + ".")
        else:
            self._window.board.place_by_keys(part)

    def _drop(self) -> None:
        window = self._window
        one = window.part_commands.placed
        if one is not None:
            window.board.place_by_keys(one.part, one.id)

    def _choose_zone(self) -> None:
        """Open the menu of zones over the board, its first possible one chosen.

        Where no zone takes the stack, it is told why.
        """
        window = self._window
        menu = window.zone_menu
        nowhere = menu.why_nowhere
        if nowhere:
            window.notice.hint(nowhere)
            return
        port = window.board.viewport()
        menu.popup(port.mapToGlobal(port.rect().center()))
        first = next((one for one in menu.actions() if one.isEnabled()), None)
        if first is not None:
            menu.setActiveAction(first)

    def show_details(self) -> None:
        """Open the Part tab with the keyboard in its first field."""
        window = self._window
        window.tabs.setCurrentWidget(window.part)
        window.part.focus_first()

    # panes and help

    def _step_pane(self, step: int) -> None:
        window = self._window
        every: list[tuple[QWidget, QWidget]] = [
            (window.parts, window.parts.search),
            (window.board, window.board),
            (window.tabs, window.tabs.tabBar()),
            (window.findings, self._first_card()),
            *window.fits.panes,
        ]
        panes = [(pane, first) for pane, first in every if not pane.isHidden()]
        focus = QApplication.focusWidget()
        at = next(
            (k for k, (pane, _) in enumerate(panes) if _holds(pane, focus)),
            -1 if step > 0 else 0,
        )
        panes[(at + step) % len(panes)][1].setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _first_card(self) -> QWidget:
        cards = self._window.findings.cards
        return cards[0] if cards else self._window.findings

    def _help(self, title: str) -> None:
        # Loaded when it is first wanted: the window is there sooner.
        from app.ui.help_dialog import HelpDialog
        from app.ui.help_text import PAGES

        dialog = HelpDialog(title, PAGES[title](), self._window)
        dialog.show()


def _holds(pane: QWidget, widget: QWidget | None) -> bool:
    return widget is not None and (pane is widget or pane.isAncestorOf(widget))
