"""Widths of text in the shipped font, read from the font file itself, so layout needs no Qt.

TrueType tables "head", "hhea", "hmtx" and "cmap" (format 4) as ISO/IEC 14496-22 lays them out.
Text is set glyph by glyph without kerning; painters do the same, so widths agree everywhere.
"""

from __future__ import annotations

import struct
from functools import cache, lru_cache
from importlib.resources import files
from typing import NamedTuple

CAP_PER_EM = 1493 / 2048
"""Height of a capital H of the shipped font, as a share of the em."""

DESCENT_PER_CAP = 0.30
"""How far letters like g and p reach below the base line, as a share of the capital height."""

REGULAR_FILE = "DejaVuSans.ttf"
BOLD_FILE = "DejaVuSans-Bold.ttf"


@cache
def font_bytes(*, bold: bool = False) -> bytes:
    """Return the shipped font file."""
    return files("assets.fonts").joinpath(BOLD_FILE if bold else REGULAR_FILE).read_bytes()


class _Segment(NamedTuple):
    """One run of character codes of a format 4 table."""

    first: int
    last: int
    delta: int
    glyphs_at: int


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
        self._segments = tuple(self._read_segments(tables[b"cmap"]))
        self._known: dict[str, float] = {}

    def _read_segments(self, cmap: int) -> list[_Segment]:
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
        lasts = struct.unpack_from(f">{n}H", data, start + 14)
        firsts = struct.unpack_from(f">{n}H", data, start + 16 + 2 * n)
        deltas = struct.unpack_from(f">{n}H", data, start + 16 + 4 * n)
        ranges_at = start + 16 + 6 * n
        ranges = struct.unpack_from(f">{n}H", data, ranges_at)
        segments = []
        for i in range(n):
            glyphs_at = ranges_at + 2 * i + ranges[i] if ranges[i] else 0
            segments.append(_Segment(firsts[i], lasts[i], deltas[i], glyphs_at))
        return segments

    def _glyph(self, code: int) -> int:
        for segment in self._segments:
            if segment.first <= code <= segment.last:
                if not segment.glyphs_at:
                    return (code + segment.delta) & 0xFFFF
                at = segment.glyphs_at + 2 * (code - segment.first)
                found: int = struct.unpack_from(">H", self._data, at)[0]
                return (found + segment.delta) & 0xFFFF if found else 0
        return 0

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
