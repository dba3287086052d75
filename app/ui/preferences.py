"""What the user prefers for the window, kept between sessions by QSettings."""

from __future__ import annotations

from PySide6.QtCore import QByteArray, QObject, QSettings, Signal

from app.ui.units import Unit

THEMES = ("system", "light", "dark")
SCALES = ("system", "100", "125", "150", "175", "200")

_UNITS = {unit.value: unit for unit in Unit}


class Preferences(QObject):
    """Reads and writes the user's settings; `changed` names the one that changed."""

    changed = Signal(str)

    def __init__(self, settings: QSettings | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._settings = settings or QSettings("gapwright", "gapwright")
        self._read: dict[str, str] = {}
        """What was read or written so far: widgets ask for the unit with every figure."""

    def _value(self, key: str, default: str) -> str:
        if key not in self._read:
            self._read[key] = str(self._settings.value(key, default))
        return self._read[key]

    def _text(self, key: str, default: str, allowed: tuple[str, ...]) -> str:
        value = self._value(key, default)
        return value if value in allowed else default

    def _flag(self, key: str, default: bool) -> bool:
        return self._value(key, str(default)).lower() in ("true", "1")

    def _put(self, key: str, value: object) -> None:
        self._settings.setValue(key, value)
        self._read[key] = str(value)
        self.changed.emit(key)

    @property
    def theme(self) -> str:
        """One of THEMES."""
        return self._text("theme", "system", THEMES)

    @theme.setter
    def theme(self, name: str) -> None:
        self._put("theme", name)

    @property
    def scale(self) -> str:
        """One of SCALES, in percent; it takes effect when the program starts."""
        return self._text("scale", "system", SCALES)

    @scale.setter
    def scale(self, percent: str) -> None:
        self._put("scale", percent)

    @property
    def unit(self) -> Unit:
        """The unit of rulers and typed lengths."""
        return _UNITS.get(self._value("unit", "mm"), Unit.MM)

    @unit.setter
    def unit(self, unit: Unit) -> None:
        self._put("unit", unit.value)

    @property
    def snap(self) -> bool:
        """Whether dragged parts snap to holes, slots, faces and the grid."""
        return self._flag("snap", True)

    @snap.setter
    def snap(self, on: bool) -> None:
        self._put("snap", on)

    @property
    def grid(self) -> bool:
        """Whether the grid shows."""
        return self._flag("grid", True)

    @grid.setter
    def grid(self, on: bool) -> None:
        self._put("grid", on)

    @property
    def end_view(self) -> bool:
        """Whether the board shows the end view as well."""
        return self._flag("end_view", False)

    @end_view.setter
    def end_view(self, on: bool) -> None:
        self._put("end_view", on)

    @property
    def panel_widths(self) -> str:
        """How wide the panels were made by hand, and in how wide a window; empty when never."""
        return self._value("panel_widths", "")

    @panel_widths.setter
    def panel_widths(self, text: str) -> None:
        self._put("panel_widths", text)

    def keep(self) -> None:
        """Write what was set to where it is kept, now rather than when Qt finds the time."""
        self._settings.sync()

    def blob(self, key: str) -> QByteArray | None:
        """Return saved geometry (of the window, of a splitter), or None."""
        value = self._settings.value(key)
        return value if isinstance(value, QByteArray) and not value.isEmpty() else None

    def set_blob(self, key: str, value: QByteArray) -> None:
        """Save geometry under `key`."""
        self._settings.setValue(key, value)
