"""Random rooms with all that small boxes leave out, each told by the features that it has.

Concave and round obstacles, plugs, openings, things outside, slanted and stepped cavities, zones
on panels and brackets, through plates and of two rows; exchangers with thick, wide or side-ported
ends; fans with plugs and of two frames; round pumps that stand over their plate; parts placed
free, stacks that stay; margins of pairs and dimensions with tolerances of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Any

from search_oracle import Case
from small_rooms import (
    IN_OR_OUT,
    block,
    brick,
    exchanger,
    fan,
    free,
    layout,
    mount,
    room,
    row,
    zone,
)

from catalog.enclosure import (
    Enclosure,
    Obstacle,
    ObstacleState,
    Opening,
    OutsideSolid,
    Panel,
    Zone,
    ZoneSide,
)
from catalog.model import Dimension, FrozenMap
from catalog.parts import Exchanger, Fan, Fitting, Gasket, Part, Plate, Port, Pump
from catalog.shapes import Box, Cell, Cylinder, Extrusion, Plug, Shape, Stadium
from geometry.layout import (
    FreePart,
    Held,
    Item,
    Layer,
    Layout,
    PairMargin,
    PortUse,
    Settings,
    Stack,
)
from geometry.search.wishes import FAN_PLACES, Wishes

FRAME_MM = 80.0
ONE_CELL = Cell(id="1", u_mm=0, v_mm=0, accepts=(mount(FRAME_MM),))
BACK = ObstacleState(id="back", name="set back", shift_mm=(-12.0, 0.0, 0.0))
UP = ObstacleState(id="up", name="raised", shift_mm=(0.0, 0.0, 25.0))


@dataclass(frozen=True)
class OddCase:
    """A search of an odd room, and what is odd about it."""

    case: Case
    features: frozenset[str]


@dataclass
class Maker:
    """Builds one room from a seed, and notes what is in it."""

    random: Random
    features: set[str] = field(default_factory=set)

    def maybe(self, feature: str, share: float = 0.5) -> bool:
        """Say whether the room has a feature, and note it."""
        if self.random.random() >= share:
            return False
        self.features.add(feature)
        return True

    def one_of(self, prefix: str, *choices: str) -> str:
        """Pick one of some features, and note it."""
        picked = self.random.choice(choices)
        self.features.add(f"{prefix} {picked}")
        return picked

    # ---- the room ----

    def enclosure(self) -> Enclosure:
        pick = self.random.choice
        size = (pick([200.0, 230.5, 262.0]), pick([150.0, 190.0]), pick([190.0, 221.3]))
        walls, more = self._walls(size)
        obstacles = [self._obstacle(n, size) for n in range(self.random.randint(0, 3))]
        zones = self._zones(size, obstacles)
        more["openings"] = self._openings(size)
        more["outside"] = self._outside(size)
        if any(one.owner == "lid" for one in (*zones, *obstacles)):
            more["panels"] = (Panel(id="lid", name="lid", wall="roof"),)
        made = room(size, zones, obstacles, **walls, **more)
        if self.maybe("own tolerances"):
            paths = ["zones[0].origin_mm[0]", "zones[0].origin_mm[2]", "zones[0].cells[0].u_mm"]
            paths += [f"obstacles[{k}].shapes[0].from_mm" for k, o in enumerate(obstacles)
                      if isinstance(o.shapes[0], Extrusion)]  # fmt: skip
            off = Dimension(
                minus_mm=pick([0.0, 0.4, 2.0]), plus_mm=pick([0.1, 1.5]), origin="measured"
            )
            made = made.but(dimensions=FrozenMap(dict.fromkeys(paths, off)))
        return made

    def _walls(self, size: tuple[float, float, float]) -> tuple[dict[str, Any], dict[str, Any]]:
        x, y, z = size
        kind = self.one_of("cavity", "plain", "plain", "stepped", "slanted", "pillar")
        if kind == "stepped":
            low = (Box(at_mm=(0, 0, 0), size_mm=(x, y, z - 40)),
                   Box(at_mm=(0, 0, z - 40), size_mm=(x - 70, y, 40)))  # fmt: skip
            out = (Box(at_mm=(-2, -2, -2), size_mm=(x + 4, y + 4, z - 36)),
                   Box(at_mm=(-2, -2, z - 38), size_mm=(x - 66, y + 4, 40)))  # fmt: skip
            return {"cavity": low, "outer": out}, {}
        if kind == "slanted":
            ring = ((0, 0), (x, 0), (x, z - 60), (x - 50, z), (0, z))
            return {"cavity": (Extrusion(axis="y", outline_mm=ring, from_mm=0, to_mm=y),)}, {}
        if kind == "pillar":
            ring = ((0, 0), (x, 0), (x, z), (0, z))
            hole = ((90, 100), (110, 100), (100, 120))
            shape = Extrusion(axis="y", outline_mm=ring, holes_mm=(hole,), from_mm=0, to_mm=y)
            return {"cavity": (shape,)}, {}
        return {}, {}

    def _zones(self, size: tuple[float, float, float], obstacles: list[Obstacle]) -> list[Zone]:
        x, y, z = size
        pick = self.random.choice
        zones = []
        if self.maybe("zone floor", 0.8):
            if y >= 190 and self.maybe("zone of two rows", 0.3):
                cells = tuple(
                    Cell(id=f"c{v:g}{u:g}", u_mm=u, v_mm=v, accepts=(mount(FRAME_MM),))
                    for v in (40.0, 120.0)
                    for u in (40.0, 120.0)
                )
            else:
                cells = row(self.random.randint(1, 2), FRAME_MM, slot_u_mm=pick([0.0, 6.0]),
                            slot_v_mm=pick([0.0, 4.0]))  # fmt: skip
            at = (pick([8.0, 12.0, 25.3]), pick([12.0, 30.0]), 0.0)
            zones.append(zone("floor-zone", "floor", at, "+x", "+y", cells))
        where = self.one_of("zone", "front", "bracket", "none")
        if where != "none" or not zones:
            on_bracket = where == "bracket"
            at_x = x - (pick([10.0, 24.0]) if on_bracket else 0.0)
            if not on_bracket and "cavity slanted" in self.features:
                at_x = x
            cells = row(1, FRAME_MM, slot_u_mm=pick([0.0, 6.0]))
            zones.append(
                zone("front-zone", "bracket" if on_bracket else "front",
                     (at_x, pick([12.0, 40.0]), pick([30.0, 55.0])), "+z", "+y", cells,
                     **self._sides("front"))
            )  # fmt: skip
            if on_bracket:
                plate = block("bracket", (at_x, 5, 20), (at_x + 2, y - 5, 150),
                              states=pick([(*IN_OR_OUT, BACK), IN_OR_OUT[:1]]))  # fmt: skip
                obstacles.append(plate)
                if self.maybe("stud on bracket"):
                    stud = block("stud", (at_x - 10, 60, 135), (at_x, 80, 145), owner="bracket")
                    obstacles.append(stud)
        if self.maybe("zone roof", 0.4):
            owner = "lid" if self.maybe("zone on panel") else "roof"
            cells = row(1, FRAME_MM, slot_v_mm=pick([0.0, 5.0]))
            zones.append(zone("roof-zone", owner, (pick([20.0, 60.0]), 110.0, z), "+x", "-y", cells,
                              **self._sides("roof")))  # fmt: skip
        return zones

    def _sides(self, where: str) -> dict[str, Any]:
        kind = self.one_of("sides", "inner", "both", "outer")
        if kind == "inner":
            return {}
        outer = ZoneSide(plate_mm=2.0, depth_mm=self.random.choice([None, 20.0, 40.0]))
        inner = None if kind == "outer" else ZoneSide(
            plate_mm=self.random.choice([0.0, 1.5]), depth_mm=self.random.choice([None, 60.0])
        )  # fmt: skip
        self.features.add(f"outer side of {where}")
        return {"outer": outer, "inner": inner}

    def _obstacle(self, number: int, size: tuple[float, float, float]) -> Obstacle:
        states: Sequence[ObstacleState] = IN_OR_OUT[:1]
        if self.maybe("obstacle states", 0.4):
            states = self.random.choice([IN_OR_OUT, (IN_OR_OUT[0], UP)])
        more: dict[str, Any] = {}
        shape, at = self._shape(size)
        if self.maybe("obstacle with plug", 0.3):
            facing = self.random.choice(["+x", "-x", "+z", "-y"])
            more["plugs"] = (Plug(id=f"socket-{number}", name="plug", at_mm=at, facing=facing,
                                  width_mm=16, height_mm=10, plug_mm=15, bend_mm=20),)  # fmt: skip
        if self.maybe("obstacle on panel", 0.1):
            more["owner"] = "lid"
        name = f"thing-{number}"
        return Obstacle(id=name, name=name, shapes=(shape,), states=tuple(states), **more)

    def _shape(self, size: tuple[float, float, float]) -> tuple[Shape, tuple[float, float, float]]:
        uniform = self.random.uniform
        at = tuple(round(uniform(0.1, 0.85) * s, 1) for s in size)
        x, y, z = at
        axis = self.random.choice("xyz")
        a, b, along = {"x": (y, z, x), "y": (x, z, y), "z": (x, y, z)}[axis]
        long = round(uniform(10, 60), 1)
        kind = self.one_of("obstacle", "box", "bar", "angle", "ring", "stadium")
        if kind == "box":
            return Box(at_mm=at, size_mm=(20.0, 30.0, long)), at
        if kind == "bar":
            return Cylinder(axis=axis, at_mm=at, diameter_mm=round(uniform(6, 40), 1),
                            length_mm=long), at  # fmt: skip
        if kind == "stadium":
            side = {"x": "y", "y": "z", "z": "x"}[axis]
            return Stadium(axis=axis, along=side, at_mm=at, overall_mm=50.0, diameter_mm=14.0,
                           length_mm=long), at  # fmt: skip
        if kind == "angle":
            ring = (
                (a, b),
                (a + 60, b),
                (a + 60, b + 5),
                (a + 5, b + 5),
                (a + 5, b + 45),
                (a, b + 45),
            )
            holes: tuple[Any, ...] = ()
        else:
            ring = ((a, b), (a + 110, b), (a + 110, b + 110), (a, b + 110))
            holes = (((a + 10, b + 10), (a + 100, b + 10), (a + 100, b + 100), (a + 10, b + 100)),)
        shape = Extrusion(axis=axis, outline_mm=ring, holes_mm=holes, from_mm=along,
                          to_mm=along + long)  # fmt: skip
        return shape, at

    def _openings(self, size: tuple[float, float, float]) -> tuple[Opening, ...]:
        x, y, z = size
        made = []
        if self.maybe("opening in the roof", 0.4):
            shape = Box(at_mm=(30, 20, z), size_mm=(self.random.choice([15.0, 90.0]), 70, 2))
            made.append(Opening(id="grille", name="grille", wall="roof", shape=shape))
        if self.maybe("opening in the rear", 0.3):
            round_hole: Shape = Cylinder(
                axis="x", at_mm=(-2, y / 2, 80), diameter_mm=60, length_mm=2
            )
            made.append(Opening(id="bore", name="bore", wall="rear", shape=round_hole))
        if self.maybe("opening in the front", 0.3):
            shape = Box(at_mm=(x, 30, 10), size_mm=(2, 60, self.random.choice([25.0, 120.0])))
            made.append(Opening(id="slot", name="slot", wall="front", shape=shape))
        return tuple(made)

    def _outside(self, size: tuple[float, float, float]) -> tuple[OutsideSolid, ...]:
        x, y, z = size
        made = []
        if self.maybe("handle before the front", 0.4):
            off = self.random.choice([8.0, 31.0, 60.0])
            bar = Box(at_mm=(x + 2 + off, y / 2 - 10, self.random.choice([40.0, 75.0])),
                      size_mm=(8, 20, 20))  # fmt: skip
            made.append(OutsideSolid(id="handle", name="handle", shapes=(bar,)))
        if self.maybe("rail over the roof", 0.3):
            rail = Cylinder(axis="x", at_mm=(0, 70, z + 2 + self.random.choice([12.0, 40.0])),
                            diameter_mm=10, length_mm=x)  # fmt: skip
            made.append(OutsideSolid(id="rail", name="rail", shapes=(rail,)))
        return tuple(made)

    # ---- parts ----

    def exchangers(self) -> tuple[Exchanger, ...]:
        made = [self._exchanger(n) for n in range(self.random.randint(0, 2))]
        return tuple({one.id: one for one in made}.values())

    def _exchanger(self, number: int) -> Exchanger:
        cells = self.random.choice([1, 1, 2])
        thick = self.random.choice([15.0, 30.0])
        one = exchanger(cells, thick, FRAME_MM, ports=self.random.choice([1, 2]))
        kind = self.one_of("ends", "plain", "thick", "wide", "narrow", "side ports", "end ports")
        tank = one.port_tank
        if kind == "thick":
            tank = tank.but(thickness_mm=thick + 20, offset_z_mm=self.random.choice([0.0, 10.0]))
        elif kind == "wide":
            tank = tank.but(width_mm=100.0, offset_y_mm=8.0)
        elif kind == "narrow":
            tank = tank.but(width_mm=40.0, thickness_mm=10.0, offset_z_mm=-2.0)
        elif kind in ("side ports", "end ports"):
            half = cells * FRAME_MM / 2
            at, facing = ((half + 15, 40.0, thick / 2), "+y")
            if kind == "end ports":
                at, facing = ((half + 30, 0.0, thick / 2), "+x")
            port = Port(id="p1", at_mm=at, facing=facing, tank="port_end")  # type: ignore[arg-type]
            one = one.but(ports=(port,))
        return one.but(id=f"{one.id}-{number}", name=f"{one.name} {kind} {number}", port_tank=tank)

    def fans(self) -> tuple[Fan, ...]:
        made = [fan(self.random.choice([15.0, 25.0]), FRAME_MM)]
        if self.maybe("fan with plug"):
            lead = Plug(id="lead", name="lead", at_mm=(40, 20, 7), facing="+x", width_mm=12,
                        height_mm=6, plug_mm=8, bend_mm=10)  # fmt: skip
            made.append(fan(20.0, FRAME_MM, plugs=(lead,)))
        return tuple({one.id: one for one in made}.values())

    def pumps(self) -> tuple[Pump, ...]:
        shape: Shape = Box(at_mm=(-25, -25, 3), size_mm=(50, 50, 35))
        side = FRAME_MM
        if self.maybe("round pump over its plate"):
            # The plate leaves 3 mm of a fan bare all round; the drum covers all but the corners.
            shape = Cylinder(axis="z", at_mm=(0, 0, 3), diameter_mm=100, length_mm=30)
            side = FRAME_MM - 6
        plate = Plate(length_mm=side, width_mm=side, thickness_mm=3, cells=(ONE_CELL,))
        return (
            Pump(id="pump", name="Pump", plate=plate, bodies=(shape,),
                 ports=(Port(id="out", at_mm=(25, 0, 20), facing="+x"),)),
        )  # fmt: skip

    # ---- what stands already ----

    def standing(self, box: Enclosure) -> tuple[list[Stack], list[FreePart], list[Part]]:
        stacks: list[Stack] = []
        frees: list[FreePart] = []
        parts: list[Part] = []
        if self.maybe("free part", 0.4):
            lead = Plug(id="cord", name="cord", at_mm=(15, 0, 10), facing="+x", width_mm=10,
                        height_mm=10, plug_mm=10, bend_mm=15)  # fmt: skip
            cube = brick("cube", (30, 30, 30), (lead,))
            at = (self.random.choice([60.0, 140.0, 180.0]), 30.0, self.random.choice([0.0, 80.0]))
            held = Held(by="clamp", on="floor")
            movable = [o.id for o in box.obstacles if len(o.states) > 1]
            if movable and self.maybe("free part held by what may be out"):
                held = Held(by="clamp", on=movable[0])
            frees.append(free("B1", cube, at, held=held))
            parts.append(cube)
        if len(box.zones) > 1 and self.maybe("stack that stays", 0.4):
            stacks.append(self._stack(box.zones[-1], parts))
        return stacks, frees, parts

    def _stack(self, own: Zone, parts: list[Part]) -> Stack:
        blower, core = fan(15.0, FRAME_MM), exchanger(1, 15, FRAME_MM)
        long = Fitting(id="long", name="Long fitting", length_mm=40, diameter_mm=18, hand_mm=10)
        seal = Gasket(id="seal", name="Seal", length_mm=80, width_mm=80, free_mm=3,
                      compressed_mm=2, cells=(ONE_CELL,))  # fmt: skip
        parts += [blower, core, long, seal]
        cell = own.cells[0].id
        uses = FrozenMap({"p1": PortUse(fitting="long")})
        layers = [
            Layer(id="KL1", items=(Item(id="K1", part=blower.id, cell=cell),)),
            Layer(id="KL2", items=(Item(id="K2", part=seal.id, cell=cell),)),
            Layer(id="KL3", items=(Item(id="K3", part=core.id, cell=cell, ports=uses),)),
        ]
        heads = self.random.choice([0.0, 4.0])
        layers = layers[: self.random.randint(1, 3)]
        top = layers[-1].items[0].but(head_mm=heads)
        layers[-1] = layers[-1].but(items=(top,))
        side = "inner" if own.inner is not None else "outer"
        return Stack(id="K", zone=own.id, **{side: tuple(layers)})

    # ---- all of it ----

    def case(self, seed: int) -> Case:
        pick = self.random.choice
        box = self.enclosure()
        stacks, frees, parts = self.standing(box)
        margins = ()
        if self.maybe("margins of pairs", 0.3):
            margins = (PairMargin(roles=("body", "fitting"), margin_mm=pick([0.0, 6.0])),)
        settings = Settings(judge=pick(["worst case", "worst case", "nominal"]),
                            margin_mm=pick([1.0, 2.0]), margins=margins)  # fmt: skip
        base: Layout = layout(box, parts, stacks, frees, settings=settings)
        movable = [o for o in box.obstacles if len(o.states) > 1]
        if movable and self.maybe("state chosen already", 0.4):
            base = base.but(states=FrozenMap({movable[0].id: movable[0].states[-1].id}))
        kept = {s.zone for s in stacks}
        wishes = Wishes(
            exchangers=self.exchangers(),
            fans=self.fans(),
            pumps=self.pumps(),
            pump=self.one_of("pump", "none", "allowed"),  # type: ignore[arg-type]
            fan_places=tuple(self.random.sample(FAN_PLACES, 2)),
            slide_steps=pick([1, 2]),
            tight_allowed=self.maybe("tight allowed", 0.35),
            zones=tuple(z.id for z in box.zones if z.id not in kept) if kept else None,
            obstacle_states=self.maybe("choosing states", 0.4),
            mixed_fans=self.maybe("mixed fans"),
            free_pumps=self.maybe("pump on its feet", 0.3),
            side_by_side=self.maybe("several side by side", 0.15),
            part_rows=self.maybe("rows of fans with gaps", 0.4),
        )
        return Case(base, wishes, seed)


def odd_case(seed: int) -> OddCase:
    """The odd room of a seed, always the same."""
    maker = Maker(Random(seed))
    case = maker.case(seed)
    return OddCase(case, frozenset(maker.features))
