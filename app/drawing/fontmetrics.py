"""Widths of text in the shipped font, read from the font file itself, so layout needs no Qt.

TrueType tables "head", "hhea", "hmtx" and "cmap" (format 4) as ISO/IEC 14496-22 lays them out.
Text is set glyph by glyph without kerning; painters do the same, so widths agree everywhere.
"""

from __future__ import annotations

import struct
from bisect import bisect_left
from functools import cache, lru_cache
from pathlib import Path

CAP_PER_EM = 1493 / 2048
"""Height of a capital H of the shipped font, as a share of the em."""

DESCENT_PER_CAP = 0.30
"""How far letters like g and p reach below the base line, as a share of the capital height."""

FONTS = Path(__file__).parents[2] / "assets" / "fonts"
REGULAR = FONTS / "DejaVuSans.ttf"
BOLD = FONTS / "DejaVuSans-Bold.ttf"


@cache
def font_bytes(*, bold: bool = False) -> bytes:
    """Return the shipped font file."""
    return (BOLD if bold else REGULAR).read_bytes()


class Face:
    """The advance widths of one font file."""

    def __init__(self, data: bytes) -> None:
        count = struct.unpack_from(">H", data, 4)[0]
        tables = {}
        for i in range(count):
            tag, _, offset, _ = struct.unpack_from(">4sLLL", data, 12 + 16 * i)
            tables[tag] = offset
        self._data = data
        self._em: int = struct.unpack_from(">H", data, tables[b"head"] + 18)[0]
        self._long_count: int = struct.unpack_from(">H", data, tables[b"hhea"] + 34)[0]
        self._hmtx = tables[b"hmtx"]
        self._read_map(tables[b"cmap"])
        self._known: dict[str, float] = {}

    def _read_map(self, cmap: int) -> None:
        """Read the runs of character codes: first and last code, delta, where its glyphs stand."""
        data = self._data
        start = None
        for i in range(struct.unpack_from(">H", data, cmap + 2)[0]):
            platform, encoding, offset = struct.unpack_from(">HHL", data, cmap + 4 + 8 * i)
            table_format = struct.unpack_from(">H", data, cmap + offset)[0]
            if (platform, encoding, table_format) == (3, 1, 4):
                start = cmap + offset
        if start is None:
            raise ValueError("the font has no Unicode character map of format 4")
        n = struct.unpack_from(">H", data, start + 6)[0] // 2
        self._lasts: tuple[int, ...] = struct.unpack_from(f">{n}H", data, start + 14)
        self._firsts: tuple[int, ...] = struct.unpack_from(f">{n}H", data, start + 16 + 2 * n)
        self._deltas: tuple[int, ...] = struct.unpack_from(f">{n}H", data, start + 16 + 4 * n)
        self._ranges_at = start + 16 + 6 * n
        self._ranges: tuple[int, ...] = struct.unpack_from(f">{n}H", data, self._ranges_at)

    def _glyph(self, code: int) -> int:
        """Return the number of a character's glyph, 0 where there is none.

        Runs stand in ascending order, and the last one ends at the last code that there is.
        """
        run = bisect_left(self._lasts, code)
        if run == len(self._lasts) or code < self._firsts[run]:
            return 0
        if not self._ranges[run]:
            return (code + self._deltas[run]) & 0xFFFF
        at = self._ranges_at + 2 * run + self._ranges[run] + 2 * (code - self._firsts[run])
        found: int = struct.unpack_from(">H", self._data, at)[0]
        return (found + self._deltas[run]) & 0xFFFF if found else 0

    def advance(self, char: str) -> float:
        """Return a character's advance width, as a share of the em."""
        if char not in self._known:
            index = min(self._glyph(ord(char)), self._long_count - 1)
            width = struct.unpack_from(">H", self._data, self._hmtx + 4 * index)[0]
            self._known[char] = width / self._em
        return self._known[char]


@cache
def face(*, bold: bool = False) -> Face:
    """Return the shipped face, regular or bold."""
    return Face(font_bytes(bold=bold))


def text_width_mm(text: str, height_mm: float, *, bold: bool = False) -> float:
    """Return how wide a line of text is when its capitals are `height_mm` high (mm)."""
    return _width_in_caps(text, bold) * height_mm


@lru_cache(maxsize=8192)
def _width_in_caps(text: str, bold: bool) -> float:
    chosen = face(bold=bold)
    return sum(chosen.advance(char) for char in text) / CAP_PER_EM


def fitted(text: str, height_mm: float, room_mm: float, *, bold: bool = False) -> str:
    """Return `text`, cut with an ellipsis where it is wider than `room_mm`."""
    if text_width_mm(text, height_mm, bold=bold) <= room_mm:
        return text
    for end in range(len(text) - 1, 0, -1):
        cut = text[:end].rstrip() + "…"
        if text_width_mm(cut, height_mm, bold=bold) <= room_mm:
            return cut
    return ""
