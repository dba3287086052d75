"""The note of a drag stands off the part that it is about, where there is room."""

from __future__ import annotations

from app.drawing.drafting import Drafting
from app.drawing.overlay import Note, note_group
from app.drawing.primitives import Bounds, Ink, Path
from app.drawing.silhouettes import inside, overlaps

SEEN: Bounds = (0.0, 0.0, 800.0, 600.0)


def box_of(note: Note) -> Bounds:
    drawn = note_group(note, SEEN, Drafting.on_screen(1.0))
    (box,) = [one for one in drawn.primitives if isinstance(one, Path)]
    xs, ys = zip(*box.points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


LINES = (("2 tight", Ink.TIGHT, True), ("free in the room", Ink.TEXT, False))


def test_beside_the_part_and_not_on_it() -> None:
    part = (300.0, 200.0, 420.0, 320.0)
    assert overlaps(box_of(Note((330.0, 230.0), LINES)), part)
    note = box_of(Note((330.0, 230.0), LINES, part))
    assert not overlaps(note, part)
    assert inside(note, SEEN)


def test_below_a_long_part_where_that_is_nearer_to_the_pointer() -> None:
    part = (100.0, 200.0, 700.0, 260.0)
    note = box_of(Note((330.0, 230.0), LINES, part))
    assert note[1] > part[3]
    assert note[0] < 400.0


def test_on_the_other_side_where_the_window_ends() -> None:
    part = (650.0, 10.0, 790.0, 590.0)
    note = box_of(Note((660.0, 230.0), LINES, part))
    assert note[2] < part[0]


def test_at_the_pointer_where_the_part_leaves_no_room() -> None:
    part = (5.0, 5.0, 795.0, 595.0)
    assert box_of(Note((330.0, 230.0), LINES, part)) == box_of(Note((330.0, 230.0), LINES))


def test_in_the_window_it_stands_off_the_part_that_is_dragged(open_window, hand) -> None:
    window = open_window()
    me = hand(window)
    x, y, z = me.middle_of("F7")
    me.press(me.at((x, y, z)))
    for share in (0.5, 1.0):
        me.move(me.at((x + 60 * share, y, z - 40 * share)))
    picture = window.board.picture
    note, ghost = picture.rect("note"), picture.rect("ghost:side")
    assert note is not None
    assert ghost is not None
    assert not note.intersects(ghost)
