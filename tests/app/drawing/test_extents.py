"""What parts take up in the views, one that stands out of the enclosure among them."""

from __future__ import annotations

from collections.abc import Callable

from app.drawing.extents import extent, part_rectangle
from app.drawing.frame import BoardFrame, BoardSettings
from geometry.checks.runner import Checked
from geometry.edits import add_free
from geometry.layout import Layout

Room = Callable[..., Layout]
Check = Callable[[Layout], Checked]


def test_an_empty_enclosure_takes_up_its_views(room: Room, check: Check) -> None:
    scene = check(room(layers=())).scene
    frame = BoardFrame.of(scene.layout, BoardSettings())
    assert extent(scene, frame) == frame.bounds
    assert part_rectangle(scene, frame.views[0], "F1") is None


def test_a_part_that_stands_out_widens_what_is_taken_up(room: Room, check: Check) -> None:
    layout = room()
    fan = layout.part("fan")
    out, one = add_free(layout, fan, (-100.0, 100.0, 100.0))
    scene = check(out).scene
    frame = BoardFrame.of(out, BoardSettings())
    boxes = [part_rectangle(scene, view, one) for view in frame.views]
    whole = extent(scene, frame)
    assert whole[0] == min(box[0] for box in boxes if box) < frame.bounds[0]
    assert whole[1:] == frame.bounds[1:]
