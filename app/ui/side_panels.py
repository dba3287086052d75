"""The right side of the window: tabs of panels above, the list of findings below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QTabWidget, QWidget

from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.widgets import follow_in_tab_order, set_property

if TYPE_CHECKING:
    from app.ui.panels.enclosure_panel import EnclosurePanel
    from app.ui.panels.findings_panel import FindingsPanel
    from app.ui.panels.history_panel import HistoryPanel
    from app.ui.panels.part_panel import PartPanel
    from app.ui.panels.stack_panel import StackPanel
    from catalog.parts import Part

LEAST_WIDTH_PX = 250
TOGETHER_PX = 330
"""In a lower side, as where what fits takes the most of a low window, findings are a tab."""

OPENED_PX = 180
"""In a side that is as high that tab is opened, and what was seen before is seen again later."""

UNLIMITED_PX = (1 << 24) - 1
"""What Qt takes for no greatest height (QWIDGETSIZE_MAX)."""

TABS: tuple[tuple[str, str], ...] = (
    ("Stack", "The stack on the selected zone"),
    ("Part", "The numbers of the selected part"),
    ("Enclosure", "Name, margins and obstacles"),
    ("History", "All edits, to go back to"),
)
FINDINGS_TAB = ("Findings", "What is blocked or tight, and what clears it")


class SidePanels(QSplitter):
    """Has its tabs and its shape from the start; `fill` and `fill_tabs` put the panels in."""

    stack: StackPanel
    part: PartPanel
    enclosure: EnclosurePanel
    history: HistoryPanel
    findings: FindingsPanel

    def __init__(self) -> None:
        super().__init__(Qt.Orientation.Vertical)
        self.tabs = QTabWidget()
        self.tabs.tabBar().setExpanding(False)
        self._pages = [QWidget() for _ in TABS]
        self._findings_tab = QWidget()
        """Stands among the tabs for the list below them, which then has all the room."""
        self._seen_before: QWidget | None = None
        for number, page in enumerate(self._pages):
            self._put_tab(number, page, number)
        self.addWidget(self.tabs)
        self._below: QWidget = QWidget()
        self.addWidget(self._below)
        self.setStretchFactor(0, 1)
        self.setStretchFactor(1, 1)
        self.setChildrenCollapsible(False)
        self.setSizes([560, 360])
        self.setMinimumWidth(LEAST_WIDTH_PX)
        self.tabs.currentChanged.connect(self._share)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Make a tab of the list below where both together would be cut to their titles."""
        low = event.size().height() < TOGETHER_PX
        if low != self._is_low:
            self._crowd_tabs(crowded=low)
            if low:
                self._open_tab(event.size().height())
            else:
                self._close_tab()
            self._share()
        super().resizeEvent(event)

    @property
    def _is_low(self) -> bool:
        return self.tabs.indexOf(self._findings_tab) >= 0

    def _crowd_tabs(self, *, crowded: bool) -> None:
        """Let one more tab in: closer together, and cut where the side is at its narrowest."""
        bar = self.tabs.tabBar()
        set_property(bar, "crowded", "true" if crowded else "false")
        bar.setUsesScrollButtons(not crowded)
        mode = Qt.TextElideMode.ElideRight if crowded else Qt.TextElideMode.ElideNone
        bar.setElideMode(mode)

    def _open_tab(self, height: int) -> None:
        name, tip = FINDINGS_TAB
        number = self.tabs.insertTab(0, self._findings_tab, name)
        self.tabs.setTabToolTip(number, tip)
        if height >= OPENED_PX:
            self._seen_before = self.tabs.currentWidget()
            self.tabs.setCurrentIndex(number)

    def _close_tab(self) -> None:
        seen, before = self.tabs.currentWidget(), self._seen_before
        self.tabs.removeTab(self.tabs.indexOf(self._findings_tab))
        if before is not None and seen is self._findings_tab:
            self.tabs.setCurrentWidget(before)
        self._seen_before = None

    def _share(self) -> None:
        """Show tabs and list together, or either where there is room for one."""
        listed = self._is_low and self.tabs.currentWidget() is self._findings_tab
        self._below.setVisible(listed or not self._is_low)
        bar = self.tabs.tabBar().sizeHint().height()
        self.tabs.setMaximumHeight(bar if listed else UNLIMITED_PX)

    def show_findings(self) -> None:
        """Bring the list of findings forward where it is behind a tab."""
        if self._is_low:
            self.tabs.setCurrentWidget(self._findings_tab)

    def fill(self, session: Session, skin: Skin) -> None:
        """Load and build what is seen at first."""
        from app.ui.panels.findings_panel import FindingsPanel
        from app.ui.panels.stack_panel import StackPanel

        self.stack = StackPanel(session, skin, ())
        self._replace_tab(0, self.stack)
        self.findings = FindingsPanel(skin)
        self._below.deleteLater()
        self.replaceWidget(1, self.findings)
        self._below = self.findings
        self._share()
        self.setStretchFactor(1, 1)

    def fill_tabs(self, session: Session, skin: Skin, parts: Sequence[Part]) -> None:
        """Load and build what is behind the other tabs."""
        from app.ui.panels.enclosure_panel import EnclosurePanel
        from app.ui.panels.history_panel import HistoryPanel
        from app.ui.panels.part_panel import PartPanel

        self.part = PartPanel(session, skin, parts)
        self.enclosure = EnclosurePanel(session, skin)
        self.history = HistoryPanel(session)
        for number, panel in enumerate((self.part, self.enclosure, self.history), 1):
            self._replace_tab(number, panel)

    def _replace_tab(self, number: int, panel: QWidget) -> None:
        page = self._pages[number]
        at, place = self.tabs.currentIndex(), self.tabs.indexOf(page)
        self.tabs.removeTab(place)
        if self._seen_before is page:
            self._seen_before = panel
        page.deleteLater()
        self._put_tab(number, panel, place)
        follow_in_tab_order(self.tabs.tabBar(), panel)
        self.tabs.setCurrentIndex(at)

    def _put_tab(self, number: int, panel: QWidget, place: int) -> None:
        text, tip = TABS[number]
        self.tabs.insertTab(place, panel, text)
        self.tabs.setTabToolTip(place, tip)
