"""The right side of the window: tabs of panels above, the list of findings below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QTabWidget, QWidget

from app.ui.session import Session
from app.ui.skin import Skin
from app.ui.widgets import follow_in_tab_order

if TYPE_CHECKING:
    from app.ui.panels.enclosure_panel import EnclosurePanel
    from app.ui.panels.findings_panel import FindingsPanel
    from app.ui.panels.history_panel import HistoryPanel
    from app.ui.panels.part_panel import PartPanel
    from app.ui.panels.stack_panel import StackPanel
    from catalog.parts import Part

LEAST_WIDTH_PX = 250
BOTH_PX = 180
"""So high the side holds tabs and findings, as where what fits takes the most of a low window."""

TABS: tuple[tuple[str, str], ...] = (
    ("Stack", "The stack on the selected zone"),
    ("Part", "The numbers of the selected part"),
    ("Enclosure", "Name, margins and obstacles"),
    ("History", "All edits, to go back to"),
)


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
        for number, page in enumerate(self._pages):
            self._put_tab(number, page)
        self.addWidget(self.tabs)
        self._below: QWidget = QWidget()
        self.addWidget(self._below)
        self.setStretchFactor(0, 1)
        self.setStretchFactor(1, 1)
        self.setChildrenCollapsible(False)
        self.setSizes([500, 420])
        self.setMinimumWidth(LEAST_WIDTH_PX)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the tabs alone where the list below them would be cut to its title."""
        self._below.setVisible(event.size().height() >= BOTH_PX)
        super().resizeEvent(event)

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
        self._below.setVisible(self.height() >= BOTH_PX)
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
        at = self.tabs.currentIndex()
        self._pages[number].deleteLater()
        self.tabs.removeTab(number)
        self._put_tab(number, panel)
        follow_in_tab_order(self.tabs.tabBar(), panel)
        self.tabs.setCurrentIndex(at)

    def _put_tab(self, number: int, panel: QWidget) -> None:
        text, tip = TABS[number]
        self.tabs.insertTab(number, panel, text)
        self.tabs.setTabToolTip(number, tip)
