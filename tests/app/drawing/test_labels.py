"""Names stand on what is seen of their part, and nowhere else."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import given
from hypothesis import strategies as st

from app.drawing.board import BoardFrame, board_drawing
from app.drawing.drafting import Drafting
from app.drawing.labels import (
    crosses,
    first_free,
    hurdles_before,
    label_box,
    label_settings,
    label_spots,
)
from app.drawing.owners import owners_of
from app.drawing.primitives import Bounds, Text
from app.drawing.silhouettes import overlaps
from app.drawing.views import far_to_near
from catalog.enclosure import Enclosure, Obstacle
from catalog.shapes import Box
from geometry.checks.runner import Checked
from geometry.finding import Report
from geometry.layout import Layout
from geometry.scene import build_scene

Room = Callable[..., Layout]
Check = Callable[[Layout], Checked]
SCREEN = Drafting.on_screen(0.5)


def thing(
    name: str, at: tuple[float, ...], size: tuple[float, ...], kind: str = "other"
) -> Obstacle:
    box = Box(at_mm=at, size_mm=size)  # type: ignore[arg-type]
    return Obstacle(id=name.replace(" ", "-").replace(",", ""), name=name, kind=kind, shapes=(box,))  # type: ignore[arg-type]


def label(
    layout: Layout, owner: str, taken: tuple[Bounds, ...] = (), unit: Drafting = SCREEN
) -> Text | None:
    view = BoardFrame.of(layout).view("side")
    ordered = far_to_near(owners_of(build_scene(layout)), view)
    place = [one.owner for one in ordered].index(owner)
    shown = ordered[place]
    nearer = [one.seen(view) for one in ordered[place + 1 :]]
    hurdles = hurdles_before(shown.seen(view), [one for one in nearer if one.covers])
    settings = label_settings(shown, view, unit)
    found = first_free(label_spots(shown, settings, hurdles, view, unit), taken, ())
    if found is None:
        return None
    assert found.box == label_box(found.text)
    return found.text


def test_a_name_stands_in_the_middle_of_its_part(room: Room) -> None:
    found = label(room(thing("duct", (100.0, 50.0, 20.0), (80.0, 50.0, 60.0)), layers=()), "duct")
    assert found is not None
    assert (found.text, found.at, found.angle_deg) == ("duct", (140.0, -50.0), 0.0)


def test_a_name_is_turned_in_a_tall_narrow_part(room: Room) -> None:
    found = label(
        room(thing("long duct", (100.0, 50.0, 20.0), (10.0, 50.0, 100.0)), layers=()), "long-duct"
    )
    assert found is not None
    assert (found.text, found.angle_deg) == ("long duct", 90.0)


def test_a_name_is_shortened_where_the_whole_does_not_fit(room: Room) -> None:
    """At 0.5 mm per pixel the whole name is about 60 mm wide, its kind about 20."""
    wide = thing("supply, 150 x 86 x 140", (100.0, 50.0, 20.0), (30.0, 50.0, 12.0), kind="supply")
    found = label(room(wide, layers=()), "supply-150-x-86-x-140")
    assert found is not None
    assert found.text == "supply"


def test_a_name_without_room_is_left_out(room: Room) -> None:
    assert (
        label(room(thing("peg", (100.0, 50.0, 20.0), (4.0, 50.0, 4.0)), layers=()), "peg") is None
    )


def test_a_name_keeps_clear_of_what_stands_before_its_part(room: Room) -> None:
    """The left two thirds of the far part, x 100..200, are covered: the name moves right."""
    far = thing("back", (100.0, 100.0, 50.0), (150.0, 50.0, 50.0))
    near = thing("fore", (80.0, 0.0, 40.0), (120.0, 50.0, 80.0))
    found = label(room(far, near, layers=()), "back")
    assert found is not None
    assert label_box(found)[0] >= 200.0


def test_a_name_keeps_clear_of_annotation(room: Room) -> None:
    layout = room(thing("back", (100.0, 100.0, 50.0), (150.0, 50.0, 50.0)), layers=())
    figure = (150.0, -85.0, 200.0, -65.0)
    free, moved = label(layout, "back"), label(layout, "back", (figure,))
    assert free is not None
    assert moved is not None
    assert overlaps(label_box(free), figure)
    assert not overlaps(label_box(moved), figure)


def test_a_name_keeps_off_the_steps_of_its_own_part(room: Room) -> None:
    """A plate x 100..200, z 20..120 with a block on it, x 120..180, z 50..90, nearer to us."""
    stepped = thing("stepped plate", (100.0, 100.0, 20.0), (100.0, 2.0, 100.0))
    block = Box(at_mm=(120.0, 60.0, 50.0), size_mm=(60.0, 40.0, 40.0))
    found = label(room(stepped.but(shapes=(*stepped.shapes, block)), layers=()), "stepped-plate")
    assert found is not None
    assert found.angle_deg == 0.0
    assert not overlaps(label_box(found), (120.0, -90.0, 180.0, -50.0))


def test_short_names_are_telling(room: Room) -> None:
    names = {
        "card, two slots": ("card", "card"),
        "cover over the power supply": ("other", "cover"),
        "link capacitors": ("other", "capacitors"),
        "board microATX 244 x 244": ("board", "board"),
        "Duct 40 x 40": ("duct", "Duct"),
    }
    things = [
        thing(name, (10.0 * k, 0.0, 0.0), (5.0, 5.0, 5.0), kind)
        for k, (name, (kind, _)) in enumerate(names.items())
    ]
    shown = owners_of(build_scene(room(*things, layers=())))
    assert {one.label: one.short_label for one in shown} == {
        name: short for name, (_, short) in names.items()
    }


def test_a_line_crosses_a_rectangle_or_passes_it() -> None:
    box = (10.0, 10.0, 20.0, 20.0)
    assert crosses(((0.0, 15.0), (30.0, 15.0)), box)
    assert crosses(((12.0, 12.0), (13.0, 14.0)), box)
    assert crosses(((0.0, 0.0), (30.0, 30.0)), box)
    assert not crosses(((0.0, 9.0), (30.0, 9.0)), box)
    assert not crosses(((0.0, 25.0), (12.0, 40.0)), box)
    assert not crosses(((0.0, 15.0), (9.0, 15.0)), box)


@st.composite
def crowds(draw: st.DrawFn) -> Layout:
    """Up to twelve boxes anywhere in a cavity of 400 x 200 x 180."""
    things = []
    for k in range(draw(st.integers(1, 12))):
        at = tuple(float(draw(st.integers(0, 300))) for _ in range(3))
        size = tuple(float(draw(st.integers(5, 100))) for _ in range(3))
        things.append(thing(f"thing number {k}", at, size))
    room = Box(at_mm=(0.0, 0.0, 0.0), size_mm=(400.0, 200.0, 180.0))
    enclosure = Enclosure(id="e", name="e", cavity=(room,), outer=(room,), obstacles=tuple(things))
    return Layout(name="crowd", enclosure=enclosure)


@given(crowds())
def test_labels_of_a_view_never_meet_and_stay_on_their_parts(layout: Layout) -> None:
    scene = build_scene(layout)
    checked = Checked(scene, Report((), (), (), 0))
    frame = BoardFrame.of(layout)
    drawing = board_drawing(checked, frame, 0.6)
    for view in frame.views:
        shown = {one.owner: one for one in owners_of(scene)}
        boxes = {}
        for group in drawing.groups:
            if group.key.startswith(f"label:{view.name}:"):
                _, text = group.primitives
                assert isinstance(text, Text)
                boxes[group.key.split(":")[2]] = label_box(text)
        for owner, box in boxes.items():
            face = view.box(shown[owner].bounds)
            assert (min(face[0], box[0]), min(face[1], box[1])) == face[:2]
            assert (max(face[2], box[2]), max(face[3], box[3])) == face[2:]
            assert not [o for o, other in boxes.items() if o != owner and overlaps(box, other)]
