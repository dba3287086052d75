"""Cutting an obstacle: what is left of it, what is never cut, how the enclosure is marked."""

from __future__ import annotations

import pytest
from small_rooms import IN_OR_OUT, block, layout, room, row, zone

from catalog.enclosure import Cut, Obstacle
from catalog.model import Dimension, Direction, FrozenMap
from catalog.shapes import Box, Cylinder, Extrusion, Plug
from geometry.edits import (
    CUT_MARK,
    EditError,
    cut_lines,
    cut_out_obstacle,
    trim_obstacle,
    why_not_cut,
)
from geometry.layout import Layout
from geometry.layout_file import layout_text, parse_layout
from geometry.measures.prism import box
from geometry.measures.volume import overlap_volume_mm3
from geometry.part_solids import shape_prism
from geometry.scene import build_scene


def with_obstacles(*obstacles: Obstacle, **more: object) -> Layout:
    return layout(room((300, 200, 300), [], obstacles, **more), [])


def duct(**more: object) -> Obstacle:
    """A duct of 20 x 30 x 200 mm whose least corner is at (100, 50, 40)."""
    return block("duct", (100, 50, 40), (120, 80, 240), kind="duct", **more)


def left(changed: Layout) -> Obstacle:
    (obstacle,) = changed.enclosure.obstacles
    return obstacle


def volume_mm3(obstacle: Obstacle) -> float:
    everywhere = box((-1000.0,) * 3, (1000.0,) * 3)
    return overlap_volume_mm3([shape_prism(s) for s in obstacle.shapes], [everywhere])


@pytest.mark.parametrize(
    ("end", "at", "size"),
    [
        ("-x", (104.0, 50.0, 40.0), (16.0, 30.0, 200.0)),
        ("+x", (100.0, 50.0, 40.0), (16.0, 30.0, 200.0)),
        ("+z", (100.0, 50.0, 40.0), (20.0, 30.0, 196.0)),
    ],
)
def test_a_block_is_cut_straight_across(
    end: Direction, at: tuple[float, ...], size: tuple[float, ...]
) -> None:
    changed = trim_obstacle(with_obstacles(duct()), "duct", end, 4.0)
    assert left(changed).shapes == (Box(at_mm=at, size_mm=size),)  # type: ignore[arg-type]
    assert left(changed).cuts == (Cut(end=end, off_mm=4.0),)
    assert changed.enclosure.name == f"Room{CUT_MARK}"


def test_cuts_at_one_end_add_up_and_the_file_tells_them() -> None:
    once = trim_obstacle(with_obstacles(duct()), "duct", "-x", 4.0)
    twice = trim_obstacle(trim_obstacle(once, "duct", "-x", 1.5), "duct", "+z", 10.0)
    told = ("duct: 5.5 mm cut off its rear end", "duct: 10.0 mm cut off its upper end")
    assert cut_lines(twice.enclosure) == told
    assert twice.enclosure.name == f"Room{CUT_MARK}"
    read = parse_layout(layout_text(twice).encode(), "cut.json")
    assert read == twice
    assert cut_lines(with_obstacles(duct()).enclosure) == ()


def test_what_is_cut_out_takes_up_no_room_and_has_no_way_back() -> None:
    base = with_obstacles(duct(states=IN_OR_OUT)).but(states=FrozenMap({"duct": "in-place"}))
    changed = cut_out_obstacle(base, "duct")
    assert [s.id for s in build_scene(changed).fixed if s.owner == "duct"] == []
    assert [state.out for state in left(changed).states] == [True]
    assert dict(changed.states) == {}
    assert cut_lines(changed.enclosure) == ("duct: cut out",)
    assert parse_layout(layout_text(changed).encode(), "cut.json") == changed


def test_an_extrusion_is_clipped_across_its_axis() -> None:
    # An L of 40 x 40 with legs 10 wide, 100 long: 700 mm2. Cut off 35 mm at the front, and of the
    # foot along x only its first 5 mm are left: the leg along z, 40 high, 5 wide.
    ell = Extrusion(
        axis="y", from_mm=0.0, to_mm=100.0,
        outline_mm=((0, 0), (40, 0), (40, 10), (10, 10), (10, 40), (0, 40)),
    )  # fmt: skip
    base = with_obstacles(Obstacle(id="rail", name="rail", kind="duct", shapes=(ell,)))
    changed = trim_obstacle(base, "rail", "+x", 35.0)
    assert volume_mm3(left(changed)) == pytest.approx(40.0 * 5.0 * 100.0)
    short = trim_obstacle(base, "rail", "-y", 30.0)
    assert volume_mm3(left(short)) == pytest.approx(700.0 * 70.0)


def test_a_round_bar_is_cut_to_length_only() -> None:
    bar = Cylinder(axis="x", at_mm=(50.0, 50.0, 50.0), diameter_mm=8.0, length_mm=40.0)
    base = with_obstacles(Obstacle(id="peg", name="peg", kind="peg", shapes=(bar,)))
    (cut,) = left(trim_obstacle(base, "peg", "-x", 12.0)).shapes
    assert cut == Cylinder(axis="x", at_mm=(62.0, 50.0, 50.0), diameter_mm=8.0, length_mm=28.0)
    with pytest.raises(EditError, match="cannot be trimmed at its"):
        trim_obstacle(base, "peg", "+z", 2.0)
    with pytest.raises(EditError, match="cut it out instead"):
        trim_obstacle(base, "peg", "-x", 40.0)


def test_given_dimensions_go_with_the_shapes_that_are_left() -> None:
    # Two blocks one behind the other; the first is cut off whole, the second keeps its dimension.
    shapes = (
        Box(at_mm=(0, 0, 0), size_mm=(10, 10, 10)),
        Box(at_mm=(10, 0, 0), size_mm=(30, 10, 10)),
    )
    given = {
        f"obstacles[0].shapes[{k}].size_mm[1]": Dimension(minus_mm=m, plus_mm=m, origin="measured")
        for k, m in ((0, 0.3), (1, 0.1))
    }
    base = with_obstacles(
        Obstacle(id="duct", name="duct", kind="duct", shapes=shapes), dimensions=FrozenMap(given)
    )
    changed = trim_obstacle(base, "duct", "-x", 15.0)
    assert left(changed).shapes == (Box(at_mm=(15, 0, 0), size_mm=(25, 10, 10)),)
    assert dict(changed.enclosure.dimensions) == {
        "obstacles[0].shapes[0].size_mm[1]": given["obstacles[0].shapes[1].size_mm[1]"]
    }
    assert parse_layout(layout_text(changed).encode(), "cut.json") == changed


def test_a_tolerance_ends_where_a_cut_leaves_no_more_than_it_of_a_size() -> None:
    beam = Box(at_mm=(0, 0, 0), size_mm=(30, 10, 10))
    off = Dimension(minus_mm=2.0, plus_mm=2.0, origin="measured")
    path = "obstacles[0].shapes[0].size_mm[0]"
    base = with_obstacles(
        Obstacle(id="beam", name="beam", kind="duct", shapes=(beam,)),
        dimensions=FrozenMap({path: off}),
    )
    assert trim_obstacle(base, "beam", "-x", 27.9).enclosure.dimensions == {path: off}
    short = trim_obstacle(base, "beam", "-x", 28.0)
    assert short.enclosure.dimensions == {}
    assert parse_layout(layout_text(short).encode(), "cut.json") == short


def test_what_may_carry_mains_or_a_load_is_never_cut() -> None:
    plug = Plug(
        id="p", name="plug", at_mm=(0, 0, 0), facing="+x", width_mm=5, height_mm=5, plug_mm=10
    )
    supply = block("supply", (0, 0, 0), (50, 50, 50), kind="supply")
    live = block("box", (60, 0, 0), (90, 50, 50), kind="other", plugs=(plug,))
    cage = block("cage", (100, 0, 0), (150, 50, 50), kind="cage")
    bearer = block("rail", (0, 0, 100), (200, 200, 102), kind="other")
    peg = block("peg", (10, 10, 102), (20, 20, 120), kind="peg", owner="rail")
    on_peg = zone("shelf", "duct", (0, 0, 200), "+x", "+y", row(1))
    base = layout(room((300, 200, 300), [on_peg], [supply, live, cage, bearer, peg, duct()]), [])
    enclosure = base.enclosure
    assert [why_not_cut(enclosure, one) for one in enclosure.obstacles] == [
        "supply may carry mains or live parts",
        "box may carry mains or live parts",
        "cage carries a load",
        "rail carries peg",
        "",
        "duct carries shelf",
    ]
    for one in ("supply", "box", "cage", "rail", "duct"):
        with pytest.raises(EditError, match="must not be cut"):
            trim_obstacle(base, one, "-x", 1.0)
        with pytest.raises(EditError, match="must not be cut"):
            cut_out_obstacle(base, one)
    with pytest.raises(EditError, match="has no obstacle door"):
        cut_out_obstacle(base, "door")
    with pytest.raises(EditError, match="give more than 0"):
        trim_obstacle(base, "peg", "-x", 0.0)


def test_what_is_cut_out_is_not_cut_again() -> None:
    gone = cut_out_obstacle(with_obstacles(duct()), "duct")
    assert why_not_cut(gone.enclosure, left(gone)) == "duct is cut out already"
    with pytest.raises(EditError, match="cut out already"):
        trim_obstacle(gone, "duct", "+z", 5.0)
