"""The window: menus, tool bar, parts on the left, board in the middle, stack and findings right."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QSize, Qt, QTimer
from PySide6.QtGui import QAction, QCloseEvent, QShowEvent
from PySide6.QtWidgets import (
    QMainWindow,
    QMenu,
    QSplitter,
    QWidget,
)

from app.document.document import Document
from app.ui.action_states import ActionStates
from app.ui.actions import (
    CONTEXT_MENU,
    NOTHING_MENU,
    add_board_keys,
    fill_menu,
    make_actions,
)
from app.ui.board.pane import BoardPane
from app.ui.board.panel_pace import PanelPace
from app.ui.board.view import BoardView
from app.ui.board_area import BoardArea
from app.ui.export.strip import ExportStrip
from app.ui.file_commands import FileCommands
from app.ui.first_paint import FirstPaint
from app.ui.library_parts import LibraryParts
from app.ui.menus import RecentMenu, add_menus, add_tool_bar, fill_menus
from app.ui.notice import NoticeBar
from app.ui.panel_widths import PanelWidths, usual_widths
from app.ui.panels.parts_panel import PartsPanel
from app.ui.part_commands import PartCommands
from app.ui.pending_typing import take_typed
from app.ui.preferences import Preferences
from app.ui.search.commands import SearchCommands
from app.ui.session import Session
from app.ui.side_panels import SidePanels
from app.ui.skin import Skin
from app.ui.status import StatusLine
from app.ui.view_commands import ViewCommands
from app.ui.widgets import room_on_screen
from catalog.store import Library

if TYPE_CHECKING:
    from app.ui.recovery import Recovery

LEAST_SIZE = QSize(1024, 640)
USUAL_SIZE = QSize(1480, 920)
LEAST_MIDDLE_PX = 84
"""Of board and panels, where what fits takes the rest of a low window."""


class MainWindow(QMainWindow):
    """One window on one document."""

    def __init__(self, document: Document, library: Library, preferences: Preferences) -> None:
        super().__init__()
        self.library, self.preferences = library, preferences
        self.skin = Skin(preferences, self)
        self.session = Session(document, self, waiting=True)
        parts = self._shelf = LibraryParts(library)
        self.middle = BoardArea()
        self.board = BoardView(self.session, self.skin, parts.part, lambda: preferences.snap)
        self.board.picture.hold()
        self.pane = BoardPane(self.board, preferences, self.skin)
        self.middle.hold(self.pane)
        self.strip = ExportStrip(self.middle)
        self.notice = NoticeBar(self.middle, over=self.strip)
        self.parts = PartsPanel(library, self.skin)
        self.right = SidePanels()
        self.tabs = self.right.tabs
        self.files = FileCommands(self.session, library, self.skin, self.notice, self.strip, self)
        self.part_commands = PartCommands(
            self.session, parts, lambda: self.board.active_view.toward.name
        )
        self.views = ViewCommands(self)
        self.fits = SearchCommands(self)
        self.files.fits = self.fits.fits
        self.files.searching = self._searching
        self._fitted = self._widths_set = self._ended = self._closed = False
        self._searches: list[Callable[[], bool]] = [lambda: self.fits.searching]
        self._endings = [self.files.close, self.fits.close, self.session.close]
        self._first_paint = FirstPaint(self.board)
        self._build()
        self._make_actions()
        self._waiting: list[Callable[[], object]] = [
            self._fill_side, self._fill_menus, self._fill_parts, self._fill_tabs,
            self.session.begin, self._states.explain, self._watch_fields,
        ]  # fmt: skip
        """What is done once the board is on the screen, in this order."""
        self._connect()
        self._refresh()
        self._restore()
        self._keep_on_screen()

    @cached_property
    def recovery(self) -> Recovery:
        """What keeps and brings back work that is not saved."""
        from app.ui.recovery import Recovery

        return Recovery(self)

    # building

    def _build(self) -> None:
        self._splitter = QSplitter(Qt.Orientation.Horizontal)
        for widget in (self.parts, self.middle, self.right):
            self._splitter.addWidget(widget)
        self._splitter.setStretchFactor(1, 1)
        self._splitter.setMinimumHeight(LEAST_MIDDLE_PX)
        self._splitter.splitterMoved.connect(self._on_splitter)
        self._splitter.setChildrenCollapsible(False)
        self.setCentralWidget(self._splitter)
        self.setStatusBar(StatusLine(self.session, self.board, self.preferences, self.skin))

    def _make_actions(self) -> None:
        self.actions_by_name: dict[str, QAction] = make_actions(self)
        self._states = ActionStates(self)
        self._menus = add_menus(self)
        add_tool_bar(self, self.actions_by_name)
        add_board_keys(self.board, self.actions_by_name)
        window_keys = [a for a in self.actions_by_name.values() if a.shortcuts()]
        self.addActions(
            [a for a in window_keys if a.shortcutContext() is Qt.ShortcutContext.WindowShortcut]
        )

    def _connect(self) -> None:
        handlers = {
            **self.files.handlers,
            **self.part_commands.handlers,
            **self.views.handlers,
            **self.fits.handlers,
            "kept_work": self._offer_kept,
        }
        for name, action in self.actions_by_name.items():
            action.triggered.connect(lambda _=False, run=handlers[name]: self._run(run))
        for menu in self._menus.values():
            menu.aboutToShow.connect(self.settle)
        self._menus["&File"].aboutToShow.connect(self._bring_up_to_date)
        self._first_paint.done.connect(self._settle_on)
        self.session.document_changed.connect(self._refresh)
        self.session.document_changed.connect(self.notice.pass_by)
        self.session.document_replaced.connect(self._on_replaced)
        self.session.selection_changed.connect(self._states.show_possible)
        self.session.refused.connect(self.notice.error)
        self.session.told.connect(self.notice.brief)
        self.board.finding_chosen.connect(self._go_to_finding)
        self.board.menu_wanted.connect(self._open_context_menu)
        self.board.details_wanted.connect(lambda: self._run(self.views.show_details))
        self.board.hinted.connect(self._on_hint)
        self.parts.place_wanted.connect(self.board.place_by_keys)
        self.files.enclosure_changed.connect(self.pane.fit)
        self.skin.changed.connect(self._states.dress)
        self.preferences.changed.connect(lambda _: self._states.show_ticks())

    def _run(self, command: Callable[[], object]) -> None:
        """Run a command, which may be wanted before all is there that it needs."""
        self.settle()
        take_typed(self)
        command()

    # keeping up

    def _go_to_finding(self, index: int) -> None:
        self._run(lambda: self.views.go_to_finding(index))

    def _on_replaced(self) -> None:
        self.views.finding = None
        self.pane.fit()

    def _on_shown(self) -> None:
        if self.session.trying and not self.session.previewing:
            self.findings.tell_stale()
            self.stack.tell_stale()
            self._pace.ask()
        else:
            self._pace.now()

    def _show_findings(self, moving: bool = False) -> None:
        session = self.session
        checked = session.edited
        stale = (session.stale or moving) and not session.previewing
        self.findings.show_report(
            checked.report,
            len(checked.scene.placed),
            self.mends.found_for(checked),
            stale=stale,
            looking=session.looking,
            previewing=session.previewing,
        )

    def _refresh(self) -> None:
        document = self.session.document
        place = f" ({document.path.parent.absolute()})" if document.path is not None else ""
        self.setWindowTitle(f"{document.name}[*]{place}")
        self.setWindowModified(document.dirty)
        self._states.refresh()

    def _bring_up_to_date(self) -> None:
        """Let the menu of files tell what there is now."""
        self._states.show_kept()
        self._recent.fill()

    def _offer_kept(self) -> None:
        self.recovery.offer_again()

    def show_panel(self, panel: QWidget) -> None:
        """Show a panel that is hidden, hide one that is shown."""
        panel.setVisible(panel.isHidden())
        self._states.show_ticks()

    def _on_splitter(self) -> None:
        self._widths_set = True

    def _on_hint(self, text: str) -> None:
        if text:
            self.notice.hint(text, stays=True)
        else:
            self.notice.dismiss()

    def _open_context_menu(self, at: QPoint) -> None:
        self.settle()
        menu = QMenu(self)
        menu.setToolTipsVisible(True)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        if self.session.selected_part is not None:
            fill_menu(menu, CONTEXT_MENU, self.actions_by_name)
        else:
            from app.ui.obstacle_menu import add_states

            add_states(menu, self.session)
            fill_menu(menu, NOTHING_MENU, self.actions_by_name)
        menu.popup(at)

    # the window itself

    def open_path(self, path: Path) -> bool:
        """Open a file; False when it cannot be used, which the notice then says."""
        return self.files.open_path(path)

    def showEvent(self, event: QShowEvent) -> None:
        """Fit the board when the window is first shown."""
        super().showEvent(event)
        if not self._fitted:
            self._fitted = True
            self._share_width()
            self.pane.fit()
            self.board.picture.release()

    @property
    def settled_in(self) -> bool:
        """Whether what could wait until the board was on the screen has been done."""
        return not self._waiting

    def do_later(self, task: Callable[[], object], *, first: bool = False) -> None:
        """Do something once the board is on the screen, after (or before) all else that waits."""
        if self.settled_in:
            task()
        else:
            self._waiting.insert(0 if first else len(self._waiting), task)

    def settle(self) -> None:
        """Do what has waited until now; a window that has been closed needs it no more."""
        while self._waiting and not self._closed:
            self._waiting.pop(0)()

    def _settle_on(self) -> None:
        """Do the next of what waits; what it brought is painted before the one after it."""
        if self._waiting and not self._closed:
            try:
                self._waiting.pop(0)()
            finally:
                # Where it fails, all else is done the same.
                QTimer.singleShot(0, self, self._settle_on)

    def _watch_fields(self) -> None:
        """Let fields of text leave their keys to the commands that have them."""
        from app.ui.window_keys import WindowKeys

        self._window_keys = WindowKeys(self, self.actions_by_name.values())

    def _fill_side(self) -> None:
        """Put in the panels on the right that are seen at first; they follow the session."""
        from app.ui.mending.commands import MendCommands

        self.right.fill(self.session, self.skin)
        self.stack, self.findings = self.right.stack, self.right.findings
        self.mends = MendCommands(self.session, self._shelf, self.findings, self.board, self)
        self.findings.chosen.connect(self.views.go_to_finding)
        self.findings.hovered.connect(self.board.picture.set_lit)
        for widget in (self.findings, self.stack.rows):
            add_board_keys(widget, self.actions_by_name)
        self._pace = PanelPace(
            (
                (self.stack, self.stack.refresh),
                (self.findings, self._show_findings),
            ),
            self.board.picture.follow,
            self,
        )
        self.session.shown_changed.connect(self._on_shown)
        self.session.document_replaced.connect(lambda: self.findings.set_current(None))
        for changed in (self.session.document_changed, self.skin.changed, self.mends.changed):
            changed.connect(self._show_findings)
        self._endings.insert(0, self.mends.close)
        self._searches.append(lambda: self.mends.searching)
        self._show_findings()

    def _fill_menus(self) -> None:
        """Put the commands into the menus."""
        from app.ui.choice_menu import scale_menu, theme_menu
        from app.ui.zone_menu import ZoneMenu

        self.zone_menu = ZoneMenu(self.session, lambda: self.part_commands.stack, self)
        self.actions_by_name["move_stack"].setMenu(self.zone_menu)
        self._recent = RecentMenu(self.files)
        submenus = {
            "@recent": self._recent,
            "@theme": theme_menu(self, self.preferences),
            "@scale": scale_menu(self, self.preferences),
        }
        fill_menus(self._menus, self.actions_by_name, submenus)

    def _fill_tabs(self) -> None:
        """Put in the panels behind the other tabs."""
        self.right.fill_tabs(self.session, self.skin, self._shelf)
        self.part, self.enclosure = self.right.part, self.right.enclosure
        self.history = self.right.history
        self._pace.add(self.part, lambda _: self.part.refresh())

    def _fill_parts(self) -> None:
        """Show the library."""
        self.parts.fill()
        self.stack.set_parts(self._shelf)
        if self.library.problems:
            self.notice.error_too(
                "Left out of the library: " + "; ".join(str(p) for p in self.library.problems)
            )

    def _share_width(self) -> None:
        """Begin with panels as wide as they were left, and half of the window for the board.

        A window so small that no list of parts has room beside that begins without it.
        """
        handles = (self._splitter.count() - 1) * self._splitter.handleWidth()
        wanted = PanelWidths.read(self.preferences.panel_widths) or usual_widths(self.width())
        widths = wanted.fitted(self.width(), handles)
        if not widths.parts:
            self.show_panel(self.parts)
        board = self.width() - widths.parts - widths.right
        self._splitter.setSizes([widths.parts, board, widths.right])

    def _keep_widths(self) -> None:
        """Remember panels that were made wider or narrower by hand."""
        if self._widths_set and not (self.parts.isHidden() or self.right.isHidden()):
            parts, _, right = self._splitter.sizes()
            self.preferences.panel_widths = PanelWidths(parts, right, self.width()).text

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about what would be lost, then keep the window's geometry."""
        self.board.cancel_gesture()
        take_typed(self)
        unasked = self._ended or self.recovery.may_close_unasked
        may = unasked or self.files.may_close()
        # It may have been ended from outside while it was asking.
        if not (may or self._ended):
            event.ignore()
            return
        if not (unasked or self._ended):
            self.recovery.closed()
        self._closed = True
        for end in self._endings:
            end()
        self.preferences.set_blob("geometry", self.saveGeometry())
        self._keep_widths()
        self.preferences.set_blob("right", self.right.saveState())
        event.accept()

    def end(self) -> None:
        """Close without asking; what is not saved is kept for the next start."""
        if not self._ended:
            self._ended = True
            try:
                self.board.cancel_gesture()
                take_typed(self)
                self.recovery.keep()
            finally:
                self.close()

    def _searching(self) -> bool:
        """Whether what fits, or the smallest change, is searched for."""
        return any(search() for search in self._searches)

    def _keep_on_screen(self) -> None:
        """Be no larger than the screen has room for."""
        room = room_on_screen(self)
        self.setMinimumSize(LEAST_SIZE.boundedTo(room))
        if self.width() > room.width() or self.height() > room.height():
            self.resize(self.size().boundedTo(room))
            self.move(self.screen().availableGeometry().topLeft())

    def _restore(self) -> None:
        self.resize(USUAL_SIZE)
        for key, restore in (
            ("geometry", self.restoreGeometry),
            ("right", self.right.restoreState),
        ):
            blob = self.preferences.blob(key)
            if blob is not None:
                restore(blob)
