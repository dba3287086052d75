"""The look at the moment: light or dark, unit, icons. Widgets are given it and listen to it."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QGuiApplication, QIcon
from PySide6.QtWidgets import QApplication

from app.drawing.theme import DARK as DARK_THEME
from app.drawing.theme import LIGHT as LIGHT_THEME
from app.drawing.theme import Theme
from app.ui.icons import icon
from app.ui.preferences import Preferences
from app.ui.style import DARK, LIGHT, Chrome, palette, style_sheet
from app.ui.units import Unit
from geometry.finding import Verdict


class Skin(QObject):
    """Follows the preferences and the system; `changed` tells that colours or unit are others."""

    changed = Signal()

    def __init__(self, preferences: Preferences, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._preferences = preferences
        self._icons: dict[str, QIcon] = {}
        preferences.changed.connect(self._on_preference)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._on_system)
        self._chrome = self._wanted_chrome()

    @property
    def chrome(self) -> Chrome:
        """Colours of the window's own surfaces."""
        return self._chrome

    @property
    def theme(self) -> Theme:
        """Colours of the drawing."""
        return DARK_THEME if self._chrome is DARK else LIGHT_THEME

    @property
    def unit(self) -> Unit:
        """The unit in which lengths are shown and typed."""
        return self._preferences.unit

    def verdict_colour(self, verdict: Verdict) -> QColor:
        """Return the colour of a verdict's word and ring."""
        chrome = self._chrome
        by_verdict = {
            Verdict.BLOCKED: chrome.blocked,
            Verdict.TIGHT: chrome.tight,
            Verdict.CLEAR: chrome.clear,
        }
        return QColor(by_verdict[verdict])

    def icon(self, name: str) -> QIcon:
        """Return one of our icons in the colours of the moment."""
        if name not in self._icons:
            self._icons[name] = icon(name, QColor(self._chrome.text), QColor(self._chrome.faint))
        return self._icons[name]

    def dress(self, app: QApplication) -> None:
        """Give the whole program these colours."""
        app.setPalette(palette(self._chrome))
        app.setStyleSheet(style_sheet(self._chrome))

    def _wanted_chrome(self) -> Chrome:
        name = self._preferences.theme
        if name == "system":
            scheme = QGuiApplication.styleHints().colorScheme()
            return DARK if scheme is Qt.ColorScheme.Dark else LIGHT
        return DARK if name == "dark" else LIGHT

    def _on_system(self) -> None:
        if self._preferences.theme == "system":
            self._renew()

    def _on_preference(self, key: str) -> None:
        if key in ("theme", "unit"):
            self._renew()

    def _renew(self) -> None:
        self._chrome = self._wanted_chrome()
        self._icons.clear()
        app = QApplication.instance()
        if isinstance(app, QApplication):
            self.dress(app)
        self.changed.emit()
