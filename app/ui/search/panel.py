"""What fits: set up a search, run it behind the user, look at its rows and apply one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.ui.actions import key_of
from app.ui.board.in_sight import keep_in_sight
from app.ui.board.view import BoardView
from app.ui.notice import NoticeBar
from app.ui.search.apply import Ground, change_name, filled, row_name, with_change
from app.ui.search.changed_bar import ChangedBar
from app.ui.search.folding_split import FoldingSplit
from app.ui.search.found_so_far import Found
from app.ui.search.job import SearchJob
from app.ui.search.panel_words import loss_text, progress_text
from app.ui.search.preview import Offer, RowPreview
from app.ui.search.progress import Progress
from app.ui.search.results import SearchResults
from app.ui.search.row_output import RowOutput
from app.ui.search.setup import SearchSetup
from app.ui.search.steady_button import SteadyButton
from app.ui.search.worker import Told
from app.ui.session import Session, sentence
from app.ui.skin import Skin
from catalog.store import Library
from geometry.layout import Layout, Side
from geometry.search.near.summary import LetIn, NearSummary
from geometry.search.summary import RowSummary
from geometry.zone_names import zone_names

if TYPE_CHECKING:
    from app.sheet.fits_content import Fits

SHOW_MS = 250
"""Rows that come in quick succession are shown together."""

SEARCH, SEARCH_AGAIN, BEGIN_ANEW = "&Search", "&Search again", "Begin ane&w"
HOW = "nothing is changed yet. Enter or a double click applies it; leaving it restores the board."


class SearchPanel(QWidget):
    """Keeps the rows of one search and the order that they answer, until another has some.

    `sheet_wanted`: the answer shall go on the clearance sheet.
    """

    sheet_wanted = Signal()

    def __init__(
        self,
        session: Session,
        library: Library,
        skin: Skin,
        notice: NoticeBar,
        board: BoardView,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._notice, self._board = session, notice, board
        self._found: Found | None = None
        self._coming: Found | None = None
        """A search that has nothing to show yet, while what the last one found is shown."""
        self.job = SearchJob(self)
        self.keeping = RowOutput(session, notice, self)
        self.setup = SearchSetup(library, lambda: session.document.layout)
        self.results = SearchResults(skin)
        self.preview = RowPreview(session, board, self)
        self.start = SteadyButton(SEARCH, SEARCH_AGAIN, BEGIN_ANEW)
        self.start.setDefault(True)
        self.start.setToolTip("Start the search; a running search starts over")
        self.stop = QPushButton("S&top")
        self.stop.setToolTip("Stop, and keep what was found so far")
        self.setup_button = QPushButton("Set &up")
        self.setup_button.setCheckable(True)
        self.setup_button.setChecked(True)
        self.setup_button.setToolTip("Show or hide what is searched")
        self._going = Progress(self)
        self.progress = self._going.line
        self.changed = ChangedBar()
        self._missing = ""
        self._refused = ""
        """Why the last search could not begin; empty where it did."""
        self._show_timer = QTimer(self, singleShot=True, interval=SHOW_MS)
        self._show_timer.timeout.connect(self._show)
        self.bar = QWidget()
        """The buttons; who holds the panel puts them over it."""
        self._build()
        self._connect()
        self._refresh()

    def _build(self) -> None:
        line = QHBoxLayout(self.bar)
        line.setContentsMargins(12, 3, 6, 3)
        line.setSpacing(6)
        for button in (self.setup_button, self.start, self.stop):
            line.addWidget(button)
        line.addStretch(1)
        line.addWidget(self.results.buttons)
        found = QWidget()
        below = QVBoxLayout(found)
        below.setContentsMargins(0, 0, 0, 0)
        below.setSpacing(0)
        below.addWidget(self.results, 1)
        self.split = FoldingSplit(self.setup, found, (290, 900))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.changed)
        column.addWidget(self.split, 1)
        # At the foot, so that nothing that one may be pointing at moves as it comes and goes.
        self._going.follow(self.split, below, column)

    def _connect(self) -> None:
        self.start.clicked.connect(self.search)
        self.stop.clicked.connect(self.job.stop)
        self.setup_button.toggled.connect(self.split.show_first)
        self.split.folded.connect(self._on_folded)
        self.setup.changed.connect(self._refresh)
        self.job.told.connect(self._on_told)
        self.job.refused.connect(self._on_refused)
        self.job.broken.connect(self._on_broken)
        self.job.finished.connect(self._on_finished)
        self.results.looked_at.connect(self._look_at)
        near = self.results.near.tree
        near.looked_at.connect(self._look_at_near)
        near.apply_wanted.connect(self.apply_change)
        near.left.connect(self.preview.end)
        self.results.apply_wanted.connect(self.apply)
        self.results.layout_wanted.connect(self.keeping.write_row)
        self.results.csv_wanted.connect(self.keeping.export_csv)
        self.results.sheet_wanted.connect(self.sheet_wanted)
        self.results.copy_wanted.connect(self._copy_rows)
        self.results.left.connect(self.preview.end)
        self.preview.changed.connect(self._mark_shown)
        self.changed.again.clicked.connect(self.search)
        self.changed.anyway.clicked.connect(self._apply_asked)
        self.setup.near.toggled.connect(self._on_near_ticked)
        self._session.document_changed.connect(self._on_document)
        self._session.document_replaced.connect(self.forget)

    # running

    def search(self) -> None:
        """Begin to search with what is set up; a running search starts over."""
        if self.setup.missing:
            self._notice.hint(self.setup.missing)
            return
        self.preview.end()
        order = self.setup.order()
        if self._refused and self._notice.text == self._refused:
            self._notice.dismiss()
        self._refused = ""
        self._coming = Found.nothing_yet(order)
        if self._found is None or not self._found.worth_keeping:
            self._take_over()
        if not self.split.beside:
            self.setup_button.setChecked(False)
        self._going.begin("Starting")
        self.job.start(order)
        self._show()

    def forget(self) -> None:
        """Drop what was found, as when another document is opened; say so where one searches."""
        if self.job.running:
            self._notice.hint("The running search was stopped: it was for the previous layout.")
        self.job.drop()
        self._going.end()
        self.preview.end()
        self._found, self._coming = None, None
        self._refused = ""
        self._going.say("")
        self.setup.refresh()
        self._show()

    def close_job(self) -> None:
        """End what runs, before the window closes."""
        self.preview.end()
        self.job.close()

    @property
    def rows(self) -> tuple[RowSummary, ...]:
        """What has been found so far, or by the last search while there is nothing new."""
        return self._found.rows if self._found is not None else ()

    def fits(self) -> Fits | None:
        """Return what was found as it goes on a sheet; None before there is an answer."""
        return self._found.fits() if self._found is not None else None

    def _on_told(self, told: Told) -> None:
        self._going.tell_stage(progress_text(told, self._zone_names()))
        if self._coming is not None:
            self._coming = self._coming.with_told(told)
            if self._coming.worth_keeping:
                self._take_over()
                self._show()
        elif self._found is not None:
            self._found = self._found.with_told(told)
        done = told.answer is not None and told.answer.done
        if (told.rows or told.near is not None or done) and not self._show_timer.isActive():
            self._show_timer.start()

    def _take_over(self) -> None:
        """Put what a new search finds in the place of what the last one found."""
        self.preview.end()
        self.results.unmark()
        self.changed.row = None
        self._found, self._coming = self._coming, None

    def _zone_names(self) -> Mapping[str, str]:
        found = self._coming or self._found
        return {} if found is None else zone_names(found.order.layout.enclosure)

    def _on_finished(self) -> None:
        self._going.end()
        found = self._found
        if self._refused:
            kept = "the last search is kept" if self._coming is not None else "nothing was searched"
            self._going.say(f"Refused; {kept}.")
        elif self._coming is not None:
            self._going.say("Stopped before it had found anything; the last search is kept.")
        elif found is None or not found.answered:
            # Without rows, what stands in their place says so.
            self._going.say("Stopped; what was found so far is kept." if self.rows else "")
        elif found.near_missing:
            self._going.say("Stopped during the near misses; everything before them is complete.")
        else:
            self._going.say("")
        self._show()

    def _on_refused(self, reason: str) -> None:
        self._refused = sentence(reason)
        self._notice.error(self._refused)

    def _on_broken(self) -> None:
        self._notice.error(
            "The search ended early, perhaps out of memory. What it had found is "
            "kept; try fewer parts or zones."
        )

    # showing

    def _show(self) -> None:
        self._show_timer.stop()
        of_last = self._coming is not None
        running = self.job.running and not of_last
        ticked = self.setup.near.isChecked()
        self.results.show_found(self._found, running=running, of_last=of_last, near_ticked=ticked)
        self.results.show_refused(self._refused)
        self._refresh()

    def _on_folded(self) -> None:
        """Keep what was found in sight rather than what is chosen."""
        if self._found is not None:
            self.setup_button.setChecked(False)

    def _on_near_ticked(self) -> None:
        """Say whether a search looks for near misses, before there has been one."""
        if self._found is None:
            self._show()

    def _refresh(self) -> None:
        running = self.job.running
        again = SEARCH_AGAIN if self._found is not None else SEARCH
        self.start.setText(BEGIN_ANEW if running else again)
        missing = self.setup.missing
        self.start.setEnabled(not missing)
        if self.stop.hasFocus() and not running:
            # Left to Qt it goes from a button that can be pressed no more to any that comes next.
            next_one = self.setup_button if missing else self.start
            next_one.setFocus(Qt.FocusReason.OtherFocusReason)
        self.stop.setEnabled(running)
        if missing:
            self._going.say(missing)
        elif self._missing:
            self._going.say("")
        self._missing = missing
        self._show_changed()

    def _on_document(self) -> None:
        self.setup.refresh()
        self._refresh()

    def _show_changed(self) -> None:
        self.changed.show_state(changed=self._is_changed(), moved=self._is_elsewhere())

    @property
    def _ground(self) -> Ground | None:
        return self._found.ground if self._found is not None else None

    def _is_changed(self) -> bool:
        ground = self._ground
        return ground is not None and ground.is_other(self._session.document.layout)

    def _is_elsewhere(self) -> bool:
        """Say whether the enclosure is another one, so that rows cannot be applied at all."""
        ground = self._ground
        return ground is not None and ground.is_elsewhere(self._session.document.layout)

    def _look_at(self, row: RowSummary | None) -> None:
        ground = self._ground
        if row is None or ground is None or self._is_elsewhere():
            self.preview.end()
            return
        self._offer(row, f"Row {row.number} of what fits", lambda now: ground.with_row(now, row))

    def _look_at_near(self, miss: NearSummary | None, change: LetIn | None) -> None:
        if miss is None or self._is_changed():
            self.preview.end()
        elif change is not None:
            text = change_name(miss, change)
            self._offer(change, text, lambda now: with_change(now, change.layout))
        else:
            text = f"This is refused: {'; '.join(miss.refused_for)}"
            self._offer(
                miss, text, lambda now: with_change(now, miss.layout), how="nothing is changed."
            )

    def _offer(
        self, key: object, text: str, edit: Callable[[Layout], Layout], how: str = HOW
    ) -> None:
        """Show what an edit makes, and say what it takes out of the layout as it is now."""
        now = self._session.document.layout
        self.preview.want(Offer(key, f"{text}; {loss_text(now, edit(now))}{how}", edit))

    def _mark_shown(self) -> None:
        """Mark in the lists what is on the board."""
        shown = self.preview.shown
        self.results.table.set_shown(shown if isinstance(shown, RowSummary) else None)
        self.results.near.tree.set_shown(shown)

    # doing

    def apply(self, row: RowSummary) -> None:
        """Put what a row holds into the layout, as one edit; ask where the layout was changed."""
        self.preview.end()
        elsewhere = self._is_elsewhere()
        if elsewhere or (self._is_changed() and not self.changed.asks_for(row)):
            self.changed.ask(row, possible=not elsewhere)
            return
        self._apply(row)

    def _apply_asked(self) -> None:
        row = self.changed.row
        if row is not None and not self._is_elsewhere():
            self._apply(row)

    def _apply(self, row: RowSummary) -> None:
        ground = self._ground
        if ground is not None:
            self._do(row_name(row), lambda now: ground.with_row(now, row))

    def apply_change(self, miss: NearSummary, change: LetIn) -> None:
        """Make the layout that a near miss becomes by one change, as one edit."""
        self.preview.end()
        if self._is_changed():
            self.changed.ask(None, possible=False)
            return
        self._do(change_name(miss, change), lambda now: with_change(now, change.layout))

    def _do(self, name: str, edit: Callable[[Layout], Layout]) -> None:
        before, scene = self._session.document.layout, self._session.checked.scene
        if self._session.apply(name, edit):
            now = self._session.document.layout
            keep_in_sight(self._board, scene, self._session.checked.scene)
            lost = loss_text(before, now)
            self._notice.brief(f"{name}: done; {lost}{key_of('undo')} undoes it.")
            self._bring_to_hand(filled(before, now))

    def _bring_to_hand(self, sides: Sequence[tuple[str, Side]]) -> None:
        """Bring a zone to hand on which something was stacked, unless one of them is already."""
        at_hand = self._session.at_hand
        if sides and at_hand is not None and (at_hand.zone, at_hand.side) not in sides:
            self._session.take_zone(*sides[0])

    def _copy_rows(self, rows: Sequence[RowSummary]) -> None:
        self.keeping.copy_rows(rows, self.results.model.unit)

    # the panel itself

    @property
    def first(self) -> QWidget:
        """Where one goes on: the rows, or the button that searches."""
        return self.results.table if self.results.table.isVisible() else self.start

    def hideEvent(self, event: QEvent) -> None:
        """Put the board back when the panel is hidden."""
        self.preview.end()
        super().hideEvent(event)  # type: ignore[arg-type]
