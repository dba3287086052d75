"""What a tip on the board says: a figure as drawn, in the worst case, and statistically."""

from __future__ import annotations

import re
from time import process_time

import pytest
from PySide6.QtCore import QPointF

from app.demo import demo_layout
from app.drawing.verdict_words import figure_text
from app.ui.board.hits import tip_at, tip_for
from app.ui.panels.finding_card import figure_words
from app.ui.units import Unit
from app.ui.units import figure_text as inch_text
from app.ui.window import MainWindow
from catalog.store import Library
from geometry.checks.finding_figures import stack_figure
from geometry.layout import Layout
from geometry.scene import build_scene

LIMITS = re.compile(r"Worst case ([−\d.]+) mm.*, statistical ([−\d.]+) to ([−\d.]+) mm\.")


@pytest.fixture
def window(open_window, qtbot) -> MainWindow:
    opened: MainWindow = open_window(size=(1280, 800))
    qtbot.waitUntil(lambda: not opened.session.looking, timeout=20_000)
    return opened


def tip(window: MainWindow, key: str, owners: list[str]) -> str:
    picture = window.board.picture
    rect = picture.items.rect(key)
    at = QPointF(rect.center())
    return tip_at(picture.items, window.session.checked, at, owners, picture.profile)


def limits(text: str) -> tuple[float, float, float]:
    """Return worst case, statistical least and most that a tip tells (mm)."""
    found = LIMITS.search(text)
    assert found is not None, text
    worst, least, most = (float(one.replace("−", "-")) for one in found.groups())
    return worst, least, most


def test_a_stacked_part_tells_what_its_stack_leaves_over_at_worst(window) -> None:
    report = window.session.checked.report
    (depth,) = [d for d in report.depths if d.side == "inner" and d.stack == "S1"]
    told = tip(window, "solid:side:F1", ["F1"])
    assert f"leftover depth {figure_text(depth.least.mm)}" in told
    worst, least, most = limits(told)
    assert worst <= least <= depth.least.mm + 0.05 <= most + 0.1
    assert worst == pytest.approx(stack_figure(report, depth).worst.worst_mm, abs=0.051)
    assert worst < depth.least.mm


def test_a_balloon_tells_the_limits_of_its_finding(window) -> None:
    told = 0
    for number, finding in enumerate(window.session.balloons, start=1):
        if finding.tolerance is not None and f"finding:{number}" in set(
            window.board.picture.items.shown_keys()
        ):
            picture = window.board.picture
            rect = picture.items.rect(f"finding:{number}")
            spots = [
                rect.topLeft() + QPointF(rect.width() * x / 20, rect.height() * y / 20)
                for x in range(21)
                for y in range(21)
            ]
            tips = {tip_at(picture.items, window.session.checked, at, []) for at in spots}
            (own,) = [text for text in tips if text.startswith(f"{number}: {finding.title}\n")]
            assert limits(own)[0] == pytest.approx(finding.tolerance.worst.worst_mm, abs=0.051)
            told += 1
    assert told >= 1


def test_a_finding_is_told_in_inches_where_they_are_chosen(window) -> None:
    items, checked = window.board.picture.items, window.session.checked
    shown, told = set(items.shown_keys()), 0
    for number, finding in enumerate(window.session.balloons, start=1):
        if finding.tolerance is None or f"finding:{number}" not in shown:
            continue
        rect = items.rect(f"finding:{number}")
        spots = [
            rect.topLeft() + QPointF(rect.width() * x / 20, rect.height() * y / 20)
            for x in range(21)
            for y in range(21)
        ]
        tips = {tip_at(items, checked, at, [], unit=Unit.INCH) for at in spots}
        (own,) = [text for text in tips if text.startswith(f"{number}: ")]
        assert figure_words(finding, Unit.INCH) in own
        worst = f"Worst case {inch_text(finding.tolerance.worst.worst_mm, Unit.INCH)} in"
        assert worst in own
        _, _, said = own.partition("\n")
        assert " mm" not in said
        told += 1
    assert told >= 1


def test_a_depth_profile_tells_its_least_depth_at_worst(window) -> None:
    picture = window.board.picture
    picture.set_profile(True)
    (key,) = [k for k in picture.items.shown_keys() if k.startswith("profile:")][:1]
    assert picture.profile is not None
    started = process_time()
    told = tip(window, key, [])
    print(f"{(process_time() - started) * 1000:.1f} ms")
    least_mm = picture.profile.profile.least_mm
    assert f"least {figure_text(least_mm)}, in mm" in told
    assert limits(told)[0] < least_mm
    # Elsewhere on the board nothing is said of it, nor where it is not drawn.
    away = QPointF(-1e6, -1e6)
    assert tip_at(picture.items, window.session.checked, away, [], picture.profile) == ""
    picture.set_profile(False)
    assert picture.profile is None


def test_zones_of_one_name_are_told_apart_in_tips_and_beside_a_part_on_its_way(open_window) -> None:
    box = demo_layout(Library()).enclosure
    zones = tuple(one.but(name="wall") for one in box.zones)
    twins = Layout(name="Twins", enclosure=box.but(zones=zones))
    scene = build_scene(twins)
    assert [tip_for(scene, one.id) for one in zones] == [
        f"mount zone wall ({one.id})" for one in zones
    ]
    window = open_window(twins)
    window.board.place_by_keys(Library().part("fan-120-25"))
    note = window.board.gesture.note
    assert any(note.startswith(f"wall ({one.id}), ") for one in zones)
