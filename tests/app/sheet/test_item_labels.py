"""Labels within a view cover nothing that tells the way of the air."""

from __future__ import annotations

import pytest

from app.demo import demo_layout
from app.drawing.board import BoardFrame, BoardSettings
from app.drawing.silhouettes import overlaps
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
