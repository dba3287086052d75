"""Parts look in each view as a draughtsman would draw them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

import pytest

from app.drawing.board import BoardFrame, BoardSettings, board_drawing
from app.drawing.drafting import Drafting
from app.drawing.hidden import covered_edges, hidden_edges, under_shapes
from app.drawing.labels import hurdles_before
from app.drawing.owners import Shown, owners_of
from app.drawing.primitives import (
    XY,
    Arc,
    Circle,
    Drawing,
    Group,
    Ink,
    LineType,
    Path,
    Primitive,
    Region,
    Text,
)
from app.drawing.rectangle_meetings import standing
from app.drawing.silhouettes import whole_rects
from app.drawing.views import far_to_near
from catalog.enclosure import Obstacle
from catalog.shapes import Box, Plug
from geometry.checks.runner import Checked
from geometry.layout import Item, Layer, Layout
from geometry.measures.prism import Outline, Rect, Round
from geometry.scene import Scene, build_scene

Room = Callable[..., Layout]
Check = Callable[[Layout], Checked]
SCREEN = Drafting.on_screen(0.5)


def thing(
    name: str, at: tuple[float, ...], size: tuple[float, ...], kind: str = "other"
) -> Obstacle:
    box = Box(at_mm=at, size_mm=size)  # type: ignore[arg-type]
    return Obstacle(id=name, name=name, kind=kind, shapes=(box,))  # type: ignore[arg-type]


def board(checked: Checked, mm_per_px: float = 0.5) -> Drawing:
    frame = BoardFrame.of(checked.scene.layout, BoardSettings(end_view=True))
    return board_drawing(checked, frame, mm_per_px)


def group(drawing: Drawing, key: str) -> tuple[Primitive, ...]:
    (found,) = [one.primitives for one in drawing.groups if one.key == key]
    return found


def keys(drawing: Drawing) -> list[str]:
    return [one.key for one in drawing.groups]


def shown(scene: Scene, owner: str) -> Shown:
    (found,) = [one for one in owners_of(scene) if one.owner == owner]
    return found


def corners(path: Primitive) -> tuple[XY, XY]:
    assert isinstance(path, Path)
    xs, ys = [p[0] for p in path.points], [p[1] for p in path.points]
    return (min(xs), min(ys)), (max(xs), max(ys))


def test_what_is_nearer_is_painted_later_in_every_view(room: Room) -> None:
    """a: x 0..50, y 0..50, z 0..50; b lies behind it seen from the access side and from below,
    and before it seen from the front: x 100..150, y 100..150, z 100..150."""
    a = thing("a", (0.0, 0.0, 0.0), (50.0, 50.0, 50.0))
    b = thing("b", (100.0, 100.0, 100.0), (50.0, 50.0, 50.0))
    layout = room(a, b, layers=())
    owners = owners_of(build_scene(layout))
    order = {
        view.name: [one.owner for one in far_to_near(owners, view)]
        for view in BoardFrame.of(layout, BoardSettings(end_view=True)).views
    }
    assert order == {"side": ["b", "a"], "bottom": ["b", "a"], "end": ["a", "b"]}


def test_walls_are_no_owners_and_are_drawn_once_as_cut(room: Room, check: Check) -> None:
    drawing = board(check(room(layers=())))
    assert not [key for key in keys(drawing) if key.startswith("solid:")]
    walls = [one for one in group(drawing, "wall:side") if isinstance(one, Region) and one.stroke]
    (wall,) = walls
    assert wall.fill is not None
    assert wall.fill.hatch == "diagonal"
    # Outer shape 404 x 184 round a cavity of 400 x 180 whose corner is the origin.
    shell, cavity = ({(round(x), round(y)) for x, y in ring} for ring in wall.rings)
    assert shell == {(-2, 2), (402, 2), (402, -182), (-2, -182)}
    assert cavity == {(0, 0), (400, 0), (400, -180), (0, -180)}


def test_a_fan_seen_face_on_has_ring_hub_four_holes_and_centre_lines(
    room: Room, check: Check
) -> None:
    """Hole pitch 105: holes at 52.5 either way of the middle, (160, 100) in the world."""
    layers = (Layer(id="L", items=(Item(id="F1", part="fan", cell="c1"),)),)
    layout = room(layers=layers)
    drawing = board(check(layout))
    seen = group(drawing, "solid:bottom:F1")
    centre = BoardFrame.of(layout).view("bottom").to_board((160.0, 100.0, 0.0))
    circles = [one for one in seen if isinstance(one, Circle)]
    holes = [one for one in circles if one.radius_mm == pytest.approx(4.3 / 2)]
    assert {
        (round(c.centre[0] - centre[0], 6), round(c.centre[1] - centre[1], 6)) for c in holes
    } == {(sx * 52.5, sy * 52.5) for sx in (-1, 1) for sy in (-1, 1)}
    assert [c.radius_mm for c in circles if c.radius_mm > 15] == [pytest.approx(57.0), 20.0]
    chains = [
        p for p in seen if isinstance(p, Path) and p.stroke and p.stroke.line_type is LineType.CHAIN
    ]
    assert len(chains) == 2


def test_small_details_are_left_out_when_zoomed_far_out(room: Room, check: Check) -> None:
    layers = (Layer(id="L", items=(Item(id="F1", part="fan", cell="c1"),)),)
    checked = check(room(layers=layers))
    near, far = board(checked, 0.5), board(checked, 20.0)
    assert len(group(far, "solid:bottom:F1")) == 1
    assert len(group(near, "solid:bottom:F1")) > 8


@pytest.mark.parametrize(("air", "up"), [("with", True), ("against", False)])
def test_arrows_show_which_way_a_fan_blows(room: Room, check: Check, air: str, up: bool) -> None:
    """The stack's air goes inward, so up from the floor; a fan set against it blows down."""
    item = Item(id="F1", part="fan", cell="c1", air=air)  # type: ignore[arg-type]
    drawing = board(check(room(layers=(Layer(id="L", items=(item,)),))))
    lines = [
        one.points
        for one in group(drawing, "solid:side:F1")
        if isinstance(one, Path)
        and one.stroke
        and one.stroke.ink is Ink.FAN
        and len(one.points) == 2
    ]
    assert len(lines) == 2
    assert {start[1] > tip[1] for start, tip in lines} == {up}


def test_an_exchanger_is_core_port_end_and_fitting_apart(room: Room, check: Check) -> None:
    """Core 120 + 12 return tank, port end 28 to the front of it, a fitting 20 across on it."""
    drawing = board(
        check(room(layers=(Layer(id="L", items=(Item(id="E1", part="ex", cell="c1"),)),)))
    )
    inks = {
        one.fill.ink: corners(one)
        for one in group(drawing, "solid:side:E1")
        if isinstance(one, Path) and one.closed and one.fill
    }
    assert inks[Ink.PORT_END] == ((220.0, -30.0), (248.0, 0.0))
    assert inks[Ink.FITTING] == ((224.0, -54.0), (244.0, -30.0))
    assert inks[Ink.EXCHANGER][0][0] in (88.0, 100.0)


def test_the_core_seen_face_on_has_fins_along_its_length(room: Room, check: Check) -> None:
    layers = (Layer(id="L", items=(Item(id="E1", part="ex", cell="c1"),)),)
    drawing = board(check(room(layers=layers)))
    hatches = [
        one.fill.hatch
        for one in group(drawing, "solid:bottom:E1")
        if isinstance(one, Path) and one.fill and one.fill.hatch != "none"
    ]
    assert hatches == ["level"]


def test_a_port_towards_the_viewer_shows_its_thread(room: Room, check: Check) -> None:
    """ISO 6410-1: minor circle in full, major circle three quarters of a turn and narrow.

    ISO 228-1, G1/4: minor diameter 11.445, major 13.157. Turned over, the ports face the floor.
    """
    item = Item(id="E1", part="ex", cell="c1", turned_over=True)
    drawing = board(check(room(layers=(Layer(id="L", items=(item,)),))))
    seen = group(drawing, "solid:bottom:E1")
    arcs = [one for one in seen if isinstance(one, Arc)]
    assert len(arcs) == 2
    for arc in arcs:
        assert arc.radius_mm == pytest.approx(13.157 / 2)
        assert 0.7 < arc.sweep_deg / 360 < 0.8
        assert arc.stroke.width_mm == Drafting.on_screen(0.5).narrow_mm
    full = [
        one
        for one in seen
        if isinstance(one, Circle) and one.radius_mm == pytest.approx(11.445 / 2)
    ]
    assert {one.centre for one in full} == {arc.centre for arc in arcs}
    assert not [one for one in group(drawing, "solid:side:E1") if isinstance(one, Arc)]


def test_a_plugs_room_is_drawn_in_double_dotted_chain_lines(room: Room, check: Check) -> None:
    """ISO 128-2, 05.1. Plug at (100, 50, 50), 10 wide in y, 20 high in z, 15 + 25 long."""
    plug = Plug(
        id="p", name="plug", at_mm=(100.0, 50.0, 50.0), facing="+x", width_mm=10.0, height_mm=20.0,
        plug_mm=15.0, bend_mm=25.0,
    )  # fmt: skip
    board_like = thing("b", (50.0, 40.0, 20.0), (50.0, 60.0, 60.0)).but(plugs=(plug,))
    (room_shape,) = group(board(check(room(board_like, layers=()))), "keep-out:side:b")
    assert isinstance(room_shape, Path)
    assert room_shape.stroke is not None
    assert room_shape.stroke.line_type is LineType.DOUBLE_CHAIN
    assert room_shape.fill is None
    assert corners(room_shape) == ((100.0, -60.0), (140.0, -40.0))


def hidden(room: Room, *obstacles: Obstacle, owner: str) -> list[tuple[XY, ...]]:
    layout = room(*obstacles, layers=())
    scene = build_scene(layout)
    view = BoardFrame.of(layout).view("side")
    stands = standing(owners_of(scene), view)
    place = [one.owner for one in stands.ordered].index(owner)
    near = hurdles_before(stands.seen[place], stands.over[place])
    (found,) = hidden_edges(stands, [place], [near], [None], SCREEN)
    lines = found.primitives
    for line in lines:
        assert isinstance(line, Path)
        assert line.stroke is not None
        assert line.stroke.line_type is LineType.DASHED
        assert line.stroke.width_mm == SCREEN.narrow_mm
    return [line.points for line in lines if isinstance(line, Path)]


def test_the_edges_behind_something_are_dashed(room: Room) -> None:
    """far: x 100..200, z 50..100. near covers x 150..300, z 0..150 before it.

    Hidden: the right edge, and the right halves of the upper and lower edges, less the inset of
    1.5 px x 0.5 mm at the border of what hides them.
    """
    far = thing("back", (100.0, 100.0, 50.0), (100.0, 50.0, 50.0))
    near = thing("fore", (150.0, 0.0, 0.0), (150.0, 50.0, 150.0))
    found = {tuple(sorted(points)) for points in hidden(room, far, near, owner="back")}
    assert found == {
        ((200.0, -100.0), (200.0, -50.0)),
        ((150.75, -50.0), (200.0, -50.0)),
        ((150.75, -100.0), (200.0, -100.0)),
    }


def test_edges_that_coincide_with_a_visible_edge_are_not_drawn_twice(room: Room) -> None:
    far = thing("back", (100.0, 100.0, 50.0), (100.0, 50.0, 50.0))
    near = thing("fore", (100.0, 0.0, 50.0), (100.0, 50.0, 50.0))
    assert hidden(room, far, near, owner="back") == []


def test_what_stands_in_front_has_no_hidden_edges(room: Room) -> None:
    far = thing("back", (100.0, 100.0, 50.0), (100.0, 50.0, 50.0))
    near = thing("fore", (150.0, 0.0, 0.0), (150.0, 50.0, 150.0))
    assert hidden(room, far, near, owner="fore") == []


def test_a_bracket_hides_nothing(room: Room) -> None:
    far = thing("back", (100.0, 100.0, 50.0), (100.0, 50.0, 50.0))
    near = thing("fore", (50.0, 0.0, 0.0), (300.0, 2.0, 150.0), kind="bracket")
    assert hidden(room, far, near, owner="back") == []


def test_hidden_edges_run_on_over_the_seam_between_two_covers(room: Room) -> None:
    """Two covers meet at x = 150: the edge behind both is one line."""
    far = thing("back", (120.0, 100.0, 60.0), (60.0, 50.0, 20.0))
    left = thing("left", (100.0, 0.0, 50.0), (50.0, 50.0, 50.0))
    right = thing("right", (150.0, 0.0, 50.0), (50.0, 50.0, 50.0))
    found = hidden(room, far, left, right, owner="back")
    assert sorted(abs(a[0] - b[0]) + abs(a[1] - b[1]) for a, b in found) == [20.0, 20.0, 60.0, 60.0]


def test_boxes_and_any_shapes_are_hidden_alike(room: Room) -> None:
    """The way for boxes and the way for any outline are compared on the same covers."""
    far = thing("back", (100.0, 100.0, 100.0), (500.0, 50.0, 300.0))
    near = thing("fore", (300.0, 0.0, 0.0), (500.0, 50.0, 250.0))
    corner = thing("foot", (0.0, 0.0, 350.0), (200.0, 50.0, 450.0))
    quick = {tuple(sorted(points)) for points in hidden(room, far, near, corner, owner="back")}
    # On the board y runs down; edges within 1.5 px x 0.5 mm of a cover's border coincide with it.
    own = [Rect(100.0, -400.0, 600.0, -100.0)]
    covers = [Rect(300.0, -250.0, 800.0, 0.0), Rect(0.0, -800.0, 200.0, -350.0)]
    pieces = set()
    for points, _ in under_shapes(own, covers, 0.75):
        pieces |= {tuple(sorted(pair)) for pair in pairwise(points)}
    assert {tuple((round(x, 6), round(y, 6)) for x, y in one) for one in quick} == {
        tuple((round(x, 6), round(y, 6)) for x, y in one) for one in pieces
    }


TANK = Rect(240.0, 0.0, 270.0, 120.0)
EXCHANGER = (
    Rect(0.0, 0.0, 240.0, 120.0), Rect(-15.0, 0.0, 0.0, 120.0), TANK,
    Round(255.0, 60.0, 255.0, 60.0, 10.0),
)  # fmt: skip
"""A core between its tanks, one of which has a port end: all of it fills one rectangle."""

BESIDE = Rect(272.0, 20.0, 300.0, 200.0)


def in_lines(lines: Iterable[tuple[tuple[XY, ...], float]]) -> list[tuple[object, ...]]:
    """Return lines with their lengths, to a hair, in an order of their own."""
    return sorted(
        (tuple((round(x, 7), round(y, 7)) for x, y in points), round(length, 6))
        for points, length in lines
        if length > 1e-9
    )


@pytest.mark.parametrize(
    ("own", "covers", "count"),
    [
        pytest.param(EXCHANGER, [Rect(0.0, 0.0, 120.0, 120.0), Rect(120.0, 0.0, 240.0, 120.0)], 0,
                     id="an exchanger behind its fans"),
        pytest.param(EXCHANGER, [Rect(100.0, -50.0, 300.0, 200.0)], 1, id="an exchanger's end"),
        pytest.param([Rect(-30.0, 50.0, 20.0, 80.0)], EXCHANGER, 1, id="out of an exchanger"),
        pytest.param([Rect(-30.0, -30.0, 20.0, 150.0)], EXCHANGER, 1, id="over a corner of it"),
        pytest.param([Rect(50.0, 50.0, 60.0, 80.0)], EXCHANGER, 1, id="all round"),
        pytest.param([Rect(200.0, -20.0, 290.0, 90.0)], (*EXCHANGER, BESIDE), 2, id="two apart"),
        pytest.param([Rect(90.0, 20.0, 130.0, 90.0)],
                     [Rect(0.0, 0.0, 100.0, 100.0), Rect(100.0, 30.0, 200.0, 130.0)], 1,
                     id="covers that meet but fill no rectangle"),
        pytest.param([Rect(90.0, 20.0, 130.0, 90.0)], [Round(100.0, 20.0, 100.0, 80.0, 15.0)], 1,
                     id="a cover that is round"),
    ],
)  # fmt: skip
def test_edges_are_covered_by_numbers_as_by_shapes(
    own: Sequence[Outline], covers: Sequence[Outline], count: int
) -> None:
    """Lines are the same, with the ends from which their dashes run."""
    found = in_lines(covered_edges(own, covers, 0.75))
    assert found == in_lines(under_shapes(own, covers, 0.75))
    assert len(found) == count


def test_an_exchanger_behind_its_fans_asks_for_no_shape(monkeypatch: pytest.MonkeyPatch) -> None:
    def asked(*_: object) -> None:
        raise AssertionError("a shape was asked for")

    monkeypatch.setattr("app.drawing.hidden.under_shapes", asked)
    fans = [Rect(0.0, 0.0, 120.0, 120.0), Rect(120.0, 0.0, 240.0, 120.0)]
    assert list(covered_edges(EXCHANGER, fans, 0.75)) == []
    assert list(covered_edges([Rect(-30.0, 50.0, 20.0, 80.0)], EXCHANGER, 0.75))


def test_rectangles_that_meet_in_a_step_are_not_one() -> None:
    assert whole_rects([Rect(0.0, 0.0, 10.0, 10.0), Rect(10.0, 5.0, 20.0, 15.0)]) is None
    assert whole_rects([Rect(0.0, 0.0, 10.0, 10.0), Round(10.0, 5.0, 10.0, 5.0, 2.0)]) is None
    assert whole_rects([*EXCHANGER, BESIDE]) == ((-15.0, 0.0, 270.0, 120.0), BESIDE.bounds())


def test_an_empty_zone_shows_border_centre_mark_and_name_and_a_taken_one_does_not(
    room: Room, check: Check
) -> None:
    """The end of the zone's depth is seen in the bottom view, from behind: the floor is cut."""
    empty, taken = board(check(room(layers=()))), board(check(room()))
    border = group(empty, "zone:bottom:floor-zone")[0]
    assert isinstance(border, Path)
    assert border.stroke is not None
    assert border.stroke.line_type is LineType.DOUBLE_CHAIN
    (name,) = group(empty, "zone-name:bottom:floor-zone")
    assert isinstance(name, Text)
    assert name.text == "Floor zone"
    assert "zone-name:bottom:floor-zone" not in keys(taken)
    assert "zone:bottom:floor-zone" in keys(taken)


def test_groups_come_in_the_order_of_their_levels_within_each_view(
    room: Room, check: Check
) -> None:
    drawing = board(check(room(thing("a", (0.0, 0.0, 0.0), (50.0, 50.0, 50.0)))))
    for view in ("side", "bottom", "end"):
        mine = [one.level for one in drawing.groups if f":{view}:" in f"{one.key}:"]
        solids = [one.level for one in drawing.groups if one.key.startswith(f"solid:{view}:")]
        assert solids == sorted(solids)
        assert mine
    assert len(set(keys(drawing))) == len(drawing.groups)
    assert all(isinstance(one, Group) and one.primitives for one in drawing.groups)
