"""Pictures print true to scale: size, resolution and lengths read back with another library."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest
from PIL import Image
from PySide6.QtGui import QGuiApplication

from app.drawing.primitives import Drawing, Fill, Group, Ink, Stroke, Text
from app.drawing.primitives import Path as Line
from app.drawing.theme import DARK, PRINT, Theme
from app.paint.png import dots_per_metre, png_bytes

A3 = (0.0, 0.0, 420.0, 297.0)
"""ISO 216."""


def square(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def bar(bounds: tuple[float, float, float, float] = A3) -> Drawing:
    """A black bar from (50, 100) to (150, 110)."""
    fill = Fill(Ink.OUTLINE, solid=True)
    shape = Line(square(50.0, 100.0, 150.0, 110.0), None, closed=True, fill=fill)
    return Drawing(bounds, (Group("bar", (shape,)),))


def write(drawing: Drawing, target: Path, dpi: float, theme: Theme) -> None:
    target.write_bytes(png_bytes(drawing, dpi, theme))


def chunks(png: bytes) -> list[tuple[str, bytes]]:
    """Return names and contents of a PNG's chunks (ISO/IEC 15948, 5.3)."""
    found, at = [], 8
    while at < len(png):
        (length,) = struct.unpack_from(">I", png, at)
        found.append((png[at + 4 : at + 8].decode("ascii"), png[at + 8 : at + 8 + length]))
        at += 12 + length
    return found


@pytest.mark.parametrize(
    ("dpi", "dots"),
    # One inch is 25.4 mm exactly; 254 dots per inch are 10 dots per mm.
    [(96, 3780), (150, 5906), (254, 10000), (300, 11811), (600, 23622)],
)
def test_resolution_is_stored_in_whole_dots_per_metre(dpi: int, dots: int) -> None:
    assert dots_per_metre(dpi) == dots


def test_an_a3_sheet_at_300_dpi_says_so(qapp: QGuiApplication, tmp_path: Path) -> None:
    """420 / 25.4 x 300 = 4960.6 dots, 297 / 25.4 x 300 = 3507.9."""
    target = tmp_path / "sheet.png"
    write(bar(), target, 300, PRINT)
    named = dict(chunks(target.read_bytes()))
    assert struct.unpack(">IIB", named["pHYs"]) == (11811, 11811, 1)
    with Image.open(target) as image:
        assert image.size == (4961, 3508)
        assert image.info["dpi"] == pytest.approx((299.9994, 299.9994))
    assert qapp is not None


def test_a_bar_of_100_mm_measures_100_mm(qapp: QGuiApplication, tmp_path: Path) -> None:
    target = tmp_path / "bar.png"
    write(bar(), target, 254, PRINT)
    with Image.open(target) as image:
        row = [sum(image.getpixel((x, 1050))) for x in range(image.width)]  # type: ignore[arg-type]
        dots_per_mm = image.info["dpi"][0] / 25.4
    ink = [x for x, light in enumerate(row) if light < 3 * 128]
    assert len(ink) / dots_per_mm == pytest.approx(100.0, abs=0.05)
    assert ink[0] / dots_per_mm == pytest.approx(50.0, abs=0.05)
    assert qapp is not None


def test_the_same_drawing_gives_the_same_bytes_without_time_or_program(
    qapp: QGuiApplication,
) -> None:
    text = Group("t", (Text((10.0, 20.0), "9.9 clear", 2.5),))
    drawing = Drawing((0.0, 0.0, 60.0, 40.0), (*bar().groups, text))
    one, other = (png_bytes(drawing, 150, PRINT) for _ in range(2))
    assert one == other
    assert {name for name, _ in chunks(one)} == {"IHDR", "pHYs", "IDAT", "IEND"}
    assert qapp is not None


def test_a_sheet_is_compressed(qapp: QGuiApplication) -> None:
    data = png_bytes(bar(), 150, PRINT)
    width, height = 420 / 25.4 * 150, 297 / 25.4 * 150
    assert len(data) < width * height * 3 / 50
    assert qapp is not None


def test_bounds_decide_what_is_in_the_picture(qapp: QGuiApplication, tmp_path: Path) -> None:
    target = tmp_path / "part.png"
    write(bar((100.0, 90.0, 200.0, 120.0)), target, 254, DARK)
    with Image.open(target) as image:
        assert image.size == (1000, 300)
        assert image.getpixel((250, 150)) == (0xEC, 0xEE, 0xED)
        assert image.getpixel((750, 150)) == (0x1B, 0x1E, 0x21)
    assert qapp is not None


def test_lines_are_as_wide_as_they_say(qapp: QGuiApplication, tmp_path: Path) -> None:
    """A line of 0.5 mm at 20 dots per mm is 10 dots wide."""
    line = Line(((5.0, 5.0), (15.0, 5.0)), Stroke(Ink.OUTLINE, width_mm=0.5))
    target = tmp_path / "line.png"
    write(Drawing((0, 0, 20, 10), (Group("l", (line,)),)), target, 508, PRINT)
    with Image.open(target) as image:
        column = [image.getpixel((200, y)) for y in range(image.height)]
    assert sum(sum(pixel) < 3 * 128 for pixel in column) == 10  # type: ignore[arg-type]
    assert qapp is not None
