"""Labels within a view cover nothing that tells the way of the air, and no line covers them."""

from __future__ import annotations

from datetime import date

import pytest

from app.demo import demo_layout
from app.drawing.board import BoardFrame, BoardSettings
from app.drawing.labels import crosses
from app.drawing.primitives import Text
from app.drawing.silhouettes import overlaps
from app.sheet.compose import compose_sheets
from app.sheet.item_labels import ViewLabels
from app.sheet.item_references import solid_references
from app.sheet.paper_view import PaperView
from app.sheet.scaled import text_box
from catalog.parts import Fan
from catalog.store import Library
from geometry.checks.runner import Checked, check_layout

SCALE = 0.2


@pytest.fixture(scope="module")
def demo() -> Checked:
    return check_layout(demo_layout(Library()), remedies=False)


def test_references_stand_off_the_hubs_of_fans_and_leaders_end_off_them(demo: Checked) -> None:
    references = solid_references(demo.scene)
    frame = BoardFrame.of(demo.scene.layout, BoardSettings())
    looked_at = 0
    for shown in frame.views:
        view = PaperView(shown, SCALE)
        labels = ViewLabels.of(demo, view, references)
        put = labels.put_references(references)
        boxes = [text_box(text) for text in labels.texts]
        for one in demo.scene.placed.values():
            if not isinstance(one.part, Fan) or one.pose.z.axis != shown.toward.axis:
                continue
            x, y = view.at(one.pose.point((0.0, 0.0, 0.0)))
            r = one.part.hub_mm / 2 * SCALE
            hub = (x - r, y - r, x + r, y + r)
            assert not [box for box in boxes if overlaps(box, hub)]
            spot = labels.visible_spot(one.id) or labels.hidden_spot(one.id)
            assert not overlaps((*spot, *spot), hub)
            looked_at += one.id in put
    assert looked_at == 2


def test_names_stand_off_leaders_where_there_is_room(demo: Checked) -> None:
    frame = BoardFrame.of(demo.scene.layout, BoardSettings())
    view = PaperView(frame.views[0], SCALE)
    labels = ViewLabels.of(demo, view, {})
    plain = labels.with_names(())
    stands_off = set()
    for k, name in enumerate(plain):
        leader = ((0.0, name.at[1]), (view.size[0], name.at[1]))
        beside = labels.with_names([leader])
        assert [one.text for one in beside] == [one.text for one in plain]
        if not crosses(leader, text_box(beside[k])):
            stands_off.add(name.text)
    assert {"power supply", "board microATX 244 x 244"} <= stands_off
    assert labels.texts == []


def test_labels_lie_over_the_leaders_that_pass_under_them(demo: Checked) -> None:
    sheet, *_ = compose_sheets(demo, date=date(2026, 11, 27))
    keys = [group.key for group in sheet.groups]
    for name in ("side", "bottom"):
        assert keys.index(f"leaders:{name}") < keys.index(f"labels:{name}")
        (labels,) = (group for group in sheet.groups if group.key == f"labels:{name}")
        assert labels.primitives
        assert all(isinstance(one, Text) and one.halo for one in labels.primitives)
