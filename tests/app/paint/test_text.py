"""Text is as wide in a drawing's layout as it is painted."""

from __future__ import annotations

import pytest
from font_glyphs import missing_glyphs
from PySide6.QtCore import QByteArray
from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF, QGuiApplication, QRawFont

from app.drawing.fontmetrics import CAP_PER_EM, Face, face, fitted, font_bytes, text_width_mm
from app.drawing.primitives import Text
from app.paint.shapes import text_path

CHARACTERS = "".join(map(chr, range(32, 127))) + "äöüßéñ°±×·Øµ−–…→½√≤"


@pytest.fixture(params=[False, True], ids=["regular", "bold"])
def bold(request: pytest.FixtureRequest) -> bool:
    return bool(request.param)


def test_widths_agree_with_those_of_the_window_system(qapp: QGuiApplication, bold: bool) -> None:
    loaded = QFontDatabase.addApplicationFontFromData(QByteArray(font_bytes(bold=bold)))
    family = QFontDatabase.applicationFontFamilies(loaded)[0]
    font = QFont(family)
    font.setBold(bold)
    font.setKerning(False)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setPixelSize(2048)
    metrics = QFontMetricsF(font)
    own = {char: round(face(bold=bold).advance(char) * 2048) for char in CHARACTERS}
    assert own == {char: round(metrics.horizontalAdvance(char)) for char in CHARACTERS}
    assert qapp is not None


@pytest.mark.usefixtures("qapp")
def test_the_font_draws_every_character_that_drawings_use(bold: bool) -> None:
    assert missing_glyphs(CHARACTERS, bold=bold) == ""
    assert missing_glyphs("\ufdd0", bold=bold) == "\ufdd0"


def test_height_is_that_of_a_capital(qapp: QGuiApplication) -> None:
    raw = QRawFont(QByteArray(font_bytes()), 2048.0)
    assert raw.capHeight() / 2048 == pytest.approx(CAP_PER_EM, abs=1e-3)
    box = text_path(Text((0.0, 0.0), "H", 2.5)).boundingRect()
    assert box.height() == pytest.approx(2.5, abs=0.01)
    assert qapp is not None


@pytest.mark.parametrize(
    ("across", "left"), [("left", 10.0), ("middle", 10.0 - 1.0), ("right", 10.0 - 2.0)]
)
def test_text_stands_at_its_anchor(qapp: QGuiApplication, across: str, left: float) -> None:
    """A row of bars is even on both sides, so its middle is the middle of its width."""
    width = text_width_mm("||||", 2.0)
    text = Text((10.0, 5.0), "||||", 2.0, across=across)  # type: ignore[arg-type]
    box = text_path(text).boundingRect()
    expected = 10.0 + (left - 10.0) / 2.0 * width + width / 2
    assert box.center().x() == pytest.approx(expected, abs=0.02)
    assert qapp is not None


def test_a_quarter_turn_reads_from_the_right(qapp: QGuiApplication) -> None:
    """Turned counter-clockwise: the text runs up the page from its anchor."""
    text = Text((10.0, 5.0), "HHHH", 2.0, angle_deg=90.0)
    box = text_path(text).boundingRect()
    assert box.bottom() < 5.0
    assert box.right() == pytest.approx(10.0, abs=0.01)
    assert box.height() > 3 * box.width()
    assert qapp is not None


@pytest.mark.parametrize(("up", "middle"), [("top", 6.0), ("middle", 5.0), ("base", 4.0)])
def test_text_hangs_sits_or_stands_on_its_anchor(
    qapp: QGuiApplication, up: str, middle: float
) -> None:
    text = Text((0.0, 5.0), "H", 2.0, up=up)  # type: ignore[arg-type]
    assert text_path(text).boundingRect().center().y() == pytest.approx(middle, abs=0.01)
    assert qapp is not None


def test_text_without_room_is_cut_with_an_ellipsis() -> None:
    whole = "Exchanger 2 x 120"
    room = text_width_mm("Exchanger…", 2.5) + 0.01
    assert fitted(whole, 2.5, 100.0) == whole
    assert fitted(whole, 2.5, room) == "Exchanger…"
    assert fitted(whole, 2.5, 0.1) == ""


def test_a_file_that_is_no_unicode_font_is_refused() -> None:
    data = bytearray(font_bytes())
    count = int.from_bytes(data[4:6], "big")
    tables = {
        bytes(data[12 + 16 * k : 16 + 16 * k]): int.from_bytes(
            data[20 + 16 * k : 24 + 16 * k], "big"
        )
        for k in range(count)
    }
    cmap = tables[b"cmap"]
    data[cmap + 2 : cmap + 4] = b"\0\0"
    with pytest.raises(ValueError, match="no Unicode character map"):
        Face(bytes(data))
