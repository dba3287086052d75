"""The scene: solids in place, what may touch what, and what is shared from one to the next."""

from __future__ import annotations

from typing import Any

import pytest
from small_rooms import (
    IN_OR_OUT,
    block,
    brick,
    exchanger,
    fan,
    fan_layer,
    free,
    layout,
    one,
    room,
    row,
    stack,
    zone,
)

import geometry.scene
from catalog.enclosure import ObstacleState, OutsideSolid
from catalog.model import FrozenMap
from catalog.parts import Fitting, Part
from catalog.shapes import Box, Plug
from geometry.edits.free import move_free
from geometry.layout import Held, Layout, PortUse
from geometry.measures.solid import Role, Solid
from geometry.part_solids import Piece, part_pieces
from geometry.scene import Scene, build_scene

FAN, CORE, CUBE = fan(25), exchanger(2, 30), brick("cube", (20, 20, 20))
ROOF = zone("roof-zone", "roof", (50, 160, 200), "+x", "-y", row(2))


def simple(*obstacles: object, **more: object) -> Layout:
    return layout(
        room((400, 200, 200), [ROOF], obstacles),  # type: ignore[arg-type]
        [FAN, CORE, CUBE],
        [stack("S", "roof-zone", fan_layer("A", FAN, ["c1", "c2"]), one("E", CORE))],
        [free("P", CUBE, (350, 50, 0)), free("Q", CUBE, (350, 100, 0))],
        **more,
    )


def named(scene: Scene) -> dict[str, Solid]:
    return {s.id: s for s in scene.solids}


def test_movable_solids_come_first_then_obstacles_then_walls() -> None:
    scene = build_scene(simple(block("peg", (300, 90, 150), (310, 110, 200))))
    assert [s.id for s in scene.solids] == [
        "A.1/body",
        "A.2/body",
        "E/core",
        "E/port-end",
        "E/fitting:p1",
        "P/body",
        "Q/body",
        "peg",
        "floor",
        "roof",
        "rear",
        "front",
        "access",
        "far",
    ]
    assert scene.bounds.shape == (14, 6)
    assert named(scene)["E/fitting:p1"].bounds == (295, 90, 121, 315, 110, 145)
    assert (scene.name_of("E"), scene.name_of("roof"), scene.name_of("roof-zone")) == (
        CORE.name,
        "roof",
        "roof zone",
    )


def test_neighbours_of_one_joint_may_touch_and_what_hangs_on_one_wall_is_not_bolted() -> None:
    held = free("H", CUBE, (200, 100, 180), held=Held(by="holes", on="roof"))
    of = simple()
    solids = named(build_scene(of.but(free=(*of.free, held))))
    bolted = {
        (a, b): solids[a].bolted_to(solids[b])
        for a, b in (
            ("A.1/body", "E/core"),
            ("A.1/body", "roof"),
            ("roof", "E/core"),
            ("A.1/body", "front"),
            ("H/body", "roof"),
            ("H/body", "A.1/body"),
            ("P/body", "Q/body"),
            ("P/body", "floor"),
        )
    }
    assert bolted == {
        ("A.1/body", "E/core"): True,
        ("A.1/body", "roof"): True,
        ("roof", "E/core"): True,
        ("A.1/body", "front"): False,
        ("H/body", "roof"): True,
        ("H/body", "A.1/body"): False,
        ("P/body", "Q/body"): False,
        ("P/body", "floor"): True,
    }


def test_a_part_may_hold_another() -> None:
    of = simple()
    on_p = free("R", CUBE, (350, 50, 20), held=Held(by="adhesive", on="P"))
    solids = named(build_scene(of.but(free=(*of.free, on_p))))
    assert solids["R/body"].bolted_to(solids["P/body"])
    assert not solids["R/body"].bolted_to(solids["Q/body"])


def test_screw_heads_stand_on_the_holes_of_what_is_last_and_nowhere_else() -> None:
    of = simple()
    heads = [
        layer.but(items=tuple(item.but(head_mm=2.4) for item in layer.items))
        for layer in of.stacks[0].inner
    ]
    with_heads = of.but(stacks=(of.stacks[0].but(inner=tuple(heads)),))
    solids = named(build_scene(with_heads))
    # The fans lie under the core; on the core's face at z = 145 stand eight heads, four to a cell:
    # at x = 110 -+ 52.5 and 230 -+ 52.5, y = 100 -+ 52.5, 7.2 mm across, down to 142.6.
    assert [s for s in solids if s.endswith("/heads")] == ["E/heads"]
    assert len(solids["E/heads"].prisms) == 8
    assert [round(v, 6) for v in solids["E/heads"].bounds] == [53.9, 43.9, 142.6, 286.1, 156.1, 145]
    assert solids["E/heads"].role is Role.BODY


def test_obstacles_follow_their_states_and_those_of_what_carries_them() -> None:
    shelf = block(
        "shelf",
        (300, 50, 50),
        (360, 150, 52),
        states=(
            ObstacleState(id="low", name="low"),
            ObstacleState(id="high", name="high", shift_mm=(0.0, 0.0, 30.0)),
            ObstacleState(id="out", name="out", out=True),
        ),
    )
    plug = Plug(
        id="pl", name="plug", at_mm=(310, 60, 60), facing="+z", width_mm=5, height_mm=5, plug_mm=9
    )
    peg = block("peg", (305, 55, 52), (315, 65, 60), owner="shelf", plugs=(plug,))

    def levels(state: str) -> dict[str, float]:
        scene = build_scene(simple(shelf, peg, states=FrozenMap({"shelf": state})))
        return {s.id: s.bounds[2] for s in scene.fixed if s.owner in ("shelf", "peg")}

    assert levels("low") == {"shelf": 50, "peg": 52, "peg/plug:pl": 60}
    assert levels("high") == {"shelf": 80, "peg": 82, "peg/plug:pl": 90}
    assert levels("out") == {}


def test_roles_of_fixed_things() -> None:
    feet = OutsideSolid(
        id="feet", name="feet", shapes=(Box(at_mm=(0, 0, -22), size_mm=(9, 9, 20)),)
    )
    loom = block("loom", (300, 50, 50), (360, 60, 60), kind="cable")
    of = layout(room((400, 200, 200), [], [loom], outside=(feet,)), [])
    roles = {s.id: s.role for s in build_scene(of).fixed}
    assert roles["loom"] is Role.CABLE
    assert roles["feet"] is Role.BODY


def test_what_did_not_change_keeps_its_solids() -> None:
    of = simple(block("peg", (300, 90, 150), (310, 110, 200), states=IN_OR_OUT))
    first = build_scene(of)
    moved = of.but(free=(of.free[0].but(at_mm=(340.0, 50.0, 0.0)), of.free[1]))
    second = build_scene(moved, first)
    assert {k for k in second.solids_of if second.solids_of[k] is not first.solids_of[k]} == {"P"}
    assert second.fixed is first.fixed
    out = build_scene(of.but(states=FrozenMap({"peg": "out"})), second)
    assert "peg" not in {s.owner for s in out.fixed}
    assert out.solids_of["E"] is second.solids_of["E"]
    # A stack that is no longer over it takes the screw heads and the last place with it.
    bare = of.but(stacks=(of.stacks[0].but(inner=of.stacks[0].inner[:1]),))
    third = build_scene(bare, first)
    assert [s.id for s in third.movable] == ["A.1/body", "A.2/body", "P/body", "Q/body"]


LONG = Fitting(id="long", name="Long fitting", length_mm=40, diameter_mm=20, hand_mm=0)


def with_long_fitting(long: Fitting = LONG) -> Layout:
    """The simple room, whose exchanger has a fitting of the layout on its open port."""
    of = simple()
    fitted = one("E", CORE, ports=FrozenMap({"p1": PortUse(fitting="long")}))
    stacks = (stack("S", "roof-zone", fan_layer("A", FAN, ["c1", "c2"]), fitted),)
    return of.but(stacks=stacks, parts=FrozenMap({**of.parts, "long": long}))


def test_a_part_is_taken_apart_again_only_where_one_of_its_fittings_is_another(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    apart: list[str] = []

    def counted(part: Part, *more: Any) -> tuple[Piece, ...]:
        apart.append(part.id)
        return part_pieces(part, *more)

    monkeypatch.setattr(geometry.scene, "part_pieces", counted)
    of = with_long_fitting()
    first = build_scene(of)
    apart.clear()
    # One more part in the map, which nothing uses.
    beside = build_scene(
        of.but(parts=FrozenMap({**of.parts, "spare": CUBE.but(id="spare")})), first
    )
    assert beside.solids_of["E"] is first.solids_of["E"]
    build_scene(beside.layout)
    assert apart == []
    shorter = build_scene(
        of.but(parts=FrozenMap({**of.parts, "long": LONG.but(length_mm=30)})), first
    )
    assert apart == [CORE.id]
    ends = [s.bounds[5] - s.bounds[2] for s in (named(x)["E/fitting:p1"] for x in (first, shorter))]
    assert ends == [40.0, 30.0]
    # A move makes the ports of what it moves anew, and as they were.
    moved = build_scene(move_free(of, "P", (350, 60, 0)), first)
    assert moved.placed["P"].use.ports is not first.placed["P"].use.ports
    assert apart == [CORE.id]
