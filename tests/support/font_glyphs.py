"""Which characters the font of the drawings has, as the window system reads the font."""

from __future__ import annotations

from PySide6.QtCore import QByteArray
from PySide6.QtGui import QFont, QRawFont

from app.drawing.fontmetrics import font_bytes


def missing_glyphs(characters: str, *, bold: bool) -> str:
    """Return those that the font does not draw; a QGuiApplication must exist."""
    none = QFont.HintingPreference.PreferNoHinting
    font = QRawFont(QByteArray(font_bytes(bold=bold)), 100.0, none)
    assert font.isValid()
    return "".join(char for char in characters if not font.supportsCharacter(ord(char)))
