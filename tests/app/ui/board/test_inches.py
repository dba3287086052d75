"""Who works in inches reads the board in inches: every figure on it, and what is told of it."""

from __future__ import annotations

import re

import pytest

from app.drawing.board import BoardFrame, board_drawing
from app.drawing.board_making import Shows
from app.drawing.primitives import Text
from app.drawing.verdict_words import MM_PER_INCH
from app.shipped_demo import shipped_demo
from app.ui.board.hits import tip_at
from app.ui.units import Unit
from geometry.checks.runner import check_layout

FIGURE = re.compile(r"(?<![\w.])−?\d+(?:\.\d+)?(?= (?:clear|tight|overlap|deep|at)|$)")


def figures(groups) -> dict[str, list[str]]:
    """Return the figures of dimensions, notes and depths, by the key of their group."""
    told: dict[str, list[str]] = {}
    for group in groups:
        if group.key.partition(":")[0] in ("overall", "stack", "depth", "finding", "profile"):
            for text in (one.text for one in group.primitives if isinstance(one, Text)):
                found = FIGURE.findall(text)
                # The number of a balloon is no length.
                if found and not (group.key.startswith("finding") and text.isdigit()):
                    told.setdefault(group.key, []).extend(found)
    return told


def shown(window) -> dict[str, list[str]]:
    picture = window.board.picture
    return figures(picture.group(key) for key in picture.shown_keys())


def test_every_figure_on_the_board_is_in_the_unit_that_was_chosen(open_window) -> None:
    window = open_window(size=(1600, 1000))
    window.session.select("E2")
    in_mm = shown(window)
    assert {key.partition(":")[0] for key in in_mm} == {"overall", "stack", "depth", "finding"}
    window.actions_by_name["inches"].trigger()
    in_inches = shown(window)
    assert in_inches["overall:side"] == ["17.441", "15.866"]
    assert "0.236" in in_inches["finding:1"]
    # A longer figure may find no room where the shorter one had it: each is held by itself.
    both = in_mm.keys() & in_inches.keys()
    assert len(both) >= len(in_mm) - 1
    for key in both:
        known = [float(figure) / MM_PER_INCH for figure in in_mm[key]]
        for figure in in_inches[key]:
            assert re.fullmatch(r"−?\d+\.\d{3}", figure)
            assert any(abs(float(figure) - one) < 0.0025 for one in known), (key, figure)
    window.actions_by_name["inches"].trigger()
    assert shown(window) == in_mm


def test_a_depth_profile_is_in_inches_too(open_window) -> None:
    window = open_window(size=(1600, 1000))
    window.session.take_zone("front-zone")
    window.actions_by_name["depth_profile"].trigger()
    key = next(key for key in window.board.picture.shown_keys() if key.startswith("profile:"))
    before = shown(window)[key]
    assert "418.5" in before
    window.actions_by_name["inches"].trigger()
    assert "16.476" in shown(window)[key]
    assert all(re.fullmatch(r"\d+\.\d{3}|0", figure) for figure in shown(window)[key])


def test_tips_tell_depths_in_inches(open_window) -> None:
    window = open_window()
    picture, session = window.board.picture, window.session
    at = picture.rect("solid:side:F1").center()
    told = {unit: tip_at(picture.items, session.checked, at, ["F1"], unit=unit) for unit in Unit}
    assert "leftover depth 1.5 tight, in mm" in told[Unit.MM]
    assert "leftover depth 0.059 tight, in inches" in told[Unit.INCH]
    assert "Worst case −0.043 in" in told[Unit.INCH].replace("-", "−")
    assert not re.search(r"\d mm\b", told[Unit.INCH].partition("leftover")[2])


@pytest.mark.parametrize("inches", [False, True])
def test_a_drawing_is_in_inches_only_when_asked(inches: bool) -> None:
    checked = check_layout(shipped_demo())
    frame = BoardFrame.of(checked.scene.layout)
    drawing = board_drawing(checked, frame, 0.5, Shows(inches=inches))
    assert figures(drawing.groups)["overall:bottom"] == ["8.386" if inches else "213"]


def test_the_note_of_a_drag_is_in_inches_throughout(open_window, hand) -> None:
    window = open_window()
    window.actions_by_name["inches"].trigger()
    me = hand(window)
    # Into the front wall, so that a finding is told beside the slide and what is left.
    x, y, z = me.middle_of("E2")
    me.press(me.at((x, y, z)))
    for share in (0.2, 0.6, 1.0):
        me.move(me.at((x + 30.0 * share, y, z)))
    me.qtbot.waitUntil(lambda: not me.board.picture.older, timeout=20_000)
    said = " ".join(me.texts("note"))
    assert re.search(r"stack slides 1\.\d{3} in, 0\.000 in", said)
    assert "Exchanger 2 x 120, 30 mm (E2) runs into the front wall" in said
    # Names of parts keep their millimetres.
    names = re.escape("Exchanger 2 x 120, 30 mm")
    assert not re.search(r"\d mm\b", re.sub(names, "", said))
