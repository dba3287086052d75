"""The texts of the stack bar stay inside what is seen of their boxes, however narrow it is."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QRectF, QSettings
from PySide6.QtGui import QFontMetricsF

from app.shipped_demo import shipped_demo
from app.ui.panels import stack_bar
from app.ui.panels.bar_text import NOTHING, BoxText, box_text, largest_free
from app.ui.panels.stack_bar import StackBar
from app.ui.preferences import Preferences
from app.ui.skin import Skin
from app.ui.units import Unit
from catalog.store import load_library
from geometry.checks.runner import check_layout
from geometry.edits import insert_item


def layouts():
    demo, parts = shipped_demo(), load_library().parts
    core, fan = parts["exchanger-2x120-20"], parts["fan-120-25"]
    # One lies on a pump's plate beside its body; in the other what is left stands beside a fan.
    yield "demo", demo
    yield "on the pump", insert_item(demo, demo.stack("S1").zone, "inner", 5, core, "1")[0]
    yield "beside a fan", insert_item(demo, demo.stack("S2").zone, "inner", 3, fan, "1")[0]


LAYOUTS = dict(layouts())


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("name", LAYOUTS)
def test_no_text_of_the_bar_leaves_its_box_or_meets_another(
    qtbot, monkeypatch, tmp_path: Path, name: str, unit: Unit
) -> None:
    # Settings of its own: those of the program are kept from test to test.
    own = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    preferences = Preferences(own)
    preferences.unit = unit
    checked = check_layout(LAYOUTS[name])
    written: list[QRectF] = []

    def note(painter, box: QRectF, word: str, figure: str) -> None:
        metrics = QFontMetricsF(painter.font(), painter.device())
        text = box_text(word, figure, box.width(), box.height(), metrics)
        if text == NOTHING:
            return
        across = max(map(metrics.horizontalAdvance, text.lines))
        size = across, len(text.lines) * metrics.height()
        wide, high = size[::-1] if text.turned else size
        place = QRectF(0, 0, wide, high)
        place.moveCenter(box.center())
        assert box.contains(place)
        written.append(place)

    monkeypatch.setattr(stack_bar, "write_into", note)
    for depth in checked.report.depths:
        for width in range(120, 400, 20):
            bar = StackBar(Skin(preferences))
            qtbot.addWidget(bar)
            bar.resize(width, 58)
            bar.show_depth(depth, checked.scene, None)
            written.clear()
            bar.grab()
            assert written
            for k, one in enumerate(written):
                assert not any(one.intersects(other) for other in written[k + 1 :])


def test_a_box_holds_the_word_over_the_figure_and_in_less_room_less_of_it(qapp) -> None:
    metrics = QFontMetricsF(qapp.font())
    line = metrics.height()
    both = metrics.horizontalAdvance("exch. 27.0")
    figure = metrics.horizontalAdvance("27.0")
    cases = [
        (both + 4, 2 * line, BoxText(("exch.", "27.0"))),
        (both + 4, line, BoxText(("exch. 27.0",))),
        (both + 3, line, BoxText(("27.0",))),
        (line, both + 4, BoxText(("exch. 27.0",), turned=True)),
        (line, both + 3, BoxText(("27.0",), turned=True)),
        (figure + 3, line, NOTHING),
        (line - 1, both + 4, NOTHING),
    ]
    for wide, high, wanted in cases:
        assert box_text("exch.", "27.0", wide, high, metrics) == wanted, (wide, high)


def test_of_a_box_partly_covered_the_largest_part_is_written_into() -> None:
    box = QRectF(0, 0, 100, 50)
    assert largest_free(box, []) == box
    # A lane over its lower half from 80 on leaves 80 x 50; from 20 on the upper half, 100 x 25.
    assert largest_free(box, [QRectF(80, 25, 90, 25)]) == QRectF(0, 0, 80, 50)
    assert largest_free(box, [QRectF(20, 25, 150, 25)]) == QRectF(0, 0, 100, 25)
    assert largest_free(box, [QRectF(100, 0, 50, 50)]) == box


def test_what_has_no_room_in_the_bar_is_told_of_its_place(open_window) -> None:
    window = open_window()
    window.session.select("E2")
    bar = window.stack.bar
    assert bar.tip_at(bar._rest.center()).startswith("Left 35.0 mm over ")
    window.session.take_zone(window.session.layout.stack("S3").zone)
    assert bar.tip_at(bar._rest.center()) == "Leftover 50.0 mm"
    assert bar.tip_at(bar._rect(bar._spans[0]).center()) == "Fan 92 x 25, 25.0 mm"
