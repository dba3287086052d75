"""Which dimensions have a share in a depth or a gap, and how much, worked by hand.

General tolerances of ISO 2768-1 class m: +-0.1 up to 6 mm, 0.2 up to 30, 0.3 up to 120, 0.5 up to
400, 0.8 up to 1000.
"""

from __future__ import annotations

from math import sqrt

import pytest
from small_rooms import block, brick, exchanger, fan, fan_layer, free, layout, one, room, row, zone
from small_rooms import stack as stack_of

from catalog.model import Dimension, FrozenMap
from catalog.numbers import number_paths, with_number
from catalog.shapes import Box
from catalog.store import Library
from geometry.checks.finding_figures import depth_figure
from geometry.checks.runner import check_layout
from geometry.finding import Report
from geometry.layout import Layout
from geometry.stackup.stack_ups import Figure
from geometry.stackup.words import contributor_words, dimension_words

FLOOR = zone("floor-zone", "floor", (40, 40, 0), "+x", "+y", row(2))
FAN = fan()


def push_pull(height_mm: float = 180.0, core_mm: float = 60.0, fan_mm: float = 25.0) -> Layout:
    """Two fans, an exchanger for two, two fans on the floor of a room."""
    core = exchanger(2, core_mm, port_facing="-z").but(id="x", name="Exchanger", ports=())
    part = fan(fan_mm).but(id="fan", name="Fan")
    layers = (
        fan_layer("A", part, ["c1", "c2"]),
        one("E1", core),
        fan_layer("B", part, ["c1", "c2"]),
    )
    enclosure = room((400, 200, height_mm), [FLOOR])
    return layout(enclosure, [core, part], [stack_of("S", "floor-zone", *layers)])


def depth_of(report: Report, number: int = 0) -> Figure:
    figure = depth_figure(report, report.depths[number].least)
    assert figure is not None
    return figure


def shares(figure: Figure) -> list[tuple[str, str, float]]:
    return [(c.owner, c.path, round(c.loss_mm, 6)) for c in figure.worst.contributors]


def test_leftover_depth_of_a_push_pull_stack() -> None:
    # 180 - 25 - 60 - 25 = 70. Off may be: the cavity's height 0.5, the core 0.3, each row of fans
    # 0.2: 1.2 together, sqrt(0.25 + 0.09 + 0.04 + 0.04) = 0.648 by root sum square.
    figure = depth_of(check_layout(push_pull()).report)
    assert shares(figure) == [
        ("enclosure", "cavity[0].size_mm[2]", 0.5),
        ("E1", "core_thickness_mm", 0.3),
        ("A.1", "thickness_mm", 0.2),
        ("B.1", "thickness_mm", 0.2),
    ]
    assert figure.nominal is figure.worst
    assert figure.nominal.nominal_mm == pytest.approx(70.0)
    assert (figure.worst.worst_mm, figure.worst.most_mm) == pytest.approx((68.8, 71.2))
    spread = sqrt(0.42)
    assert figure.nominal.likely_least_mm == pytest.approx(70 - spread)
    assert figure.nominal.likely_most_mm == pytest.approx(70 + spread)


def test_a_textbook_stack_up_as_a_stack_in_a_room() -> None:
    # Three hollow parts on a shouldered screw (Shigley, Mechanical Engineering Design, example on
    # tolerance stack-up; from memory): a = 1.750 +-0.003 in, b = 0.750 +-0.001, c = 0.120 +-0.005,
    # d = 0.875 +-0.001; the gap w = a - b - c - d is 0.005 +-0.010 in. Here a is the room's height
    # and the others are fans, an exchanger and fans. By root sum square +-0.006 in.
    inch = 25.4
    given = {"a": 0.003, "b": 0.001, "c": 0.005, "d": 0.001}
    off = {
        k: Dimension(minus_mm=v * inch, plus_mm=v * inch, origin="drawing")
        for k, v in given.items()
    }
    below = fan(0.750 * inch).but(id="b", dimensions=FrozenMap({"thickness_mm": off["b"]}))
    above = fan(0.875 * inch).but(id="d", dimensions=FrozenMap({"thickness_mm": off["d"]}))
    core = exchanger(2, 0.120 * inch, port_facing="-z").but(
        id="c", ports=(), dimensions=FrozenMap({"core_thickness_mm": off["c"]})
    )
    height = FrozenMap({"cavity[0].size_mm[2]": off["a"]})
    enclosure = room((400, 200, 1.750 * inch), [FLOOR], dimensions=height)
    cells = ["c1", "c2"]
    layers = (fan_layer("B", below, cells), one("C", core), fan_layer("D", above, cells))
    of = layout(enclosure, [below, core, above], [stack_of("S", "floor-zone", *layers)])
    figure = depth_of(check_layout(of).report)
    told = [(c.owner, c.path) for c in figure.worst.contributors]
    assert told[:2] == [("C", "core_thickness_mm"), ("enclosure", "cavity[0].size_mm[2]")]
    assert sorted(told[2:]) == [("B.1", "thickness_mm"), ("D.1", "thickness_mm")]
    stack = figure.nominal
    assert stack.nominal_mm / inch == pytest.approx(0.005)
    assert (stack.worst_mm / inch, stack.most_mm / inch) == pytest.approx((-0.005, 0.015))
    assert stack.likely_least_mm / inch == pytest.approx(-0.001)
    assert stack.likely_most_mm / inch == pytest.approx(0.011)


def test_worst_case_is_what_an_enclosure_with_all_dimensions_off_measures() -> None:
    # The same room 0.5 lower, the core 0.3 and the fans 0.2 thicker, measured as any other.
    off = check_layout(push_pull(179.5, 60.3, 25.2)).report
    figure = depth_of(check_layout(push_pull()).report)
    assert off.depths[0].least.mm == pytest.approx(figure.worst.worst_mm)


def test_a_given_tolerance_stands_in_for_the_general_one() -> None:
    of = push_pull()
    given = {"core_thickness_mm": Dimension(minus_mm=0.1, plus_mm=2.0, origin="drawing")}
    part = of.part("x").but(dimensions=FrozenMap(given))
    of = of.but(parts=FrozenMap({**of.parts, "x": part}))  # type: ignore[attr-defined]
    figure = depth_of(check_layout(of).report)
    first = figure.worst.contributors[0]
    assert (first.path, first.at_plus_mm, first.at_minus_mm) == (
        "core_thickness_mm",
        pytest.approx(-2.0),
        pytest.approx(0.1),
    )
    assert first.dimension.origin == "drawing"
    assert contributor_words(first) == "Exchanger, core thickness 60 +2 \N{MINUS SIGN}0.1"
    # 70 - 2 - 0.5 - 0.2 - 0.2; the mean is moved by half of the difference, (0.1 - 2) / 2.
    assert figure.worst.worst_mm == pytest.approx(67.1)
    assert figure.worst.mean_mm == pytest.approx(70 - 0.95)


def test_what_carries_both_sides_of_a_gap_has_no_share_in_it() -> None:
    # The bracket is moved by its state, 50 mm up: what stands on it goes along, so the state's own
    # deviation is in the depth to the roof and not in that to the lid that hangs on the bracket.
    from catalog.enclosure import ObstacleState

    moved = (ObstacleState(id="up", name="up", shift_mm=(0.0, 0.0, 50.0)),)
    bracket = block("bracket", (40, 40, 18), (280, 160, 20), states=moved)
    lid = block("lid", (40, 40, 120), (280, 160, 122), owner="bracket")
    place = zone("shelf", "bracket", (40, 40, 20), "+x", "+y", row(2))
    layers = [fan_layer("A", FAN, ["c1", "c2"])]
    with_lid = layout(
        room((400, 200, 300), [place], [bracket, lid]), [FAN], [stack_of("S", "shelf", *layers)]
    )
    # 120 - 20 - 25 = 75: the lid's place 120 +-0.3, the zone's 20 +-0.2, the fans 25 +-0.2.
    assert shares(depth_of(check_layout(with_lid).report)) == [
        ("lid", "obstacles[1].shapes[0].at_mm[2]", 0.3),
        ("A.1", "thickness_mm", 0.2),
        ("shelf", "zones[0].origin_mm[2]", 0.2),
    ]
    bare = layout(
        room((400, 200, 300), [place], [bracket]), [FAN], [stack_of("S", "shelf", *layers)]
    )
    # 300 - 70 - 25 = 205 to the roof: now the state's 50 +-0.3 counts too.
    assert shares(depth_of(check_layout(bare).report)) == [
        ("enclosure", "cavity[0].size_mm[2]", 0.5),
        ("bracket", "obstacles[0].states[0].shift_mm[2]", 0.3),
        ("A.1", "thickness_mm", 0.2),
        ("shelf", "zones[0].origin_mm[2]", 0.2),
    ]


def test_another_thing_may_limit_in_the_worst_case() -> None:
    # Over the fans hang a bar at 100 +-0.3 and, 0.1 higher, one with a place known to +-2 only.
    enclosure = room(
        (400, 200, 300),
        [FLOOR],
        [
            block("exact", (50, 50, 100), (60, 150, 110)),
            block("rough", (80, 50, 100.1), (90, 150, 110)),
        ],
    )
    rough = {"obstacles[1].shapes[0].at_mm[2]": Dimension(minus_mm=2.0, plus_mm=2.0)}
    enclosure = enclosure.but(dimensions=FrozenMap(rough))
    of = layout(enclosure, [FAN], [stack_of("S", "floor-zone", fan_layer("A", FAN, ["c1"]))])
    figure = depth_of(check_layout(of).report)
    # As drawn 100 - 25 = 75 to the exact one; 75.1 - 2 - 0.2 = 72.9 to the rough one.
    assert figure.elsewhere
    assert figure.worst_name == "rough"
    assert figure.nominal.nominal_mm == pytest.approx(75.0)
    assert figure.nominal.worst_mm == pytest.approx(74.5)
    assert figure.worst.worst_mm == pytest.approx(72.9)


def test_the_gap_of_two_free_parts() -> None:
    # Bricks of 40 mm at x = 100 and 143: 3 mm apart. Half of each length +-0.15, the places
    # +-0.3 (100) and +-0.5 (143).
    cube = brick("cube", (40, 40, 40))
    of = layout(
        room((300, 200, 200)),
        [cube],
        frees=[free("A", cube, (100, 100, 0)), free("B", cube, (143, 100, 0))],
    )
    survey = check_layout(of).report.survey
    assert survey is not None
    assert survey.tolerances is not None
    a, b = (survey.scene.solids_of[one][0] for one in ("A", "B"))
    figure = survey.tolerances.between((a,), (b,))
    assert shares(figure) == [
        ("B", "at_mm[0]", 0.5),
        ("A", "at_mm[0]", 0.3),
        ("A", "length_mm", 0.15),
        ("B", "length_mm", 0.15),
    ]
    assert figure.worst.worst_mm == pytest.approx(1.9)
    turned = survey.tolerances.between((b,), (a,))
    assert turned.worst.worst_mm == pytest.approx(figure.worst.worst_mm)


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("core_thickness_mm", "core thickness"),
        ("port_tank.length_mm", "port tank length"),
        ("ports[0].at_mm[2]", "port 1 place along z"),
        ("zones[0].origin_mm[0]", "zone place along x"),
        ("obstacles[4].shapes[0].outline_mm[0][1]", "shape 1 outline"),
        ("ports[1].fitting.length_mm", "port 2 fitting length"),
        ("cavity[0].size_mm[2]", "cavity 1 size along z"),
        ("outer[1].size_mm[2]", "outer shape 2 size along z"),
        ("zones[0].outer.plate_mm", "zone outer side plate"),
        ("zones[2].inner.depth_mm", "zone inner side depth"),
        ("zones[0].cells[1].u_mm", "zone cell 2 u"),
    ],
)
def test_words_of_a_field_path(path: str, words: str) -> None:
    assert dimension_words(path) == words


def test_every_number_that_is_shipped_has_words() -> None:
    shipped = Library()
    for model in (*shipped.enclosures.values(), *shipped.parts.values()):
        for path in number_paths(model):
            words = dimension_words(path)
            assert words
            assert not set(words) & set("[]._"), f"{model.id}: {path} is {words!r}"


def test_a_number_replaced_by_its_path() -> None:
    box = Box(at_mm=(0.0, 1.0, 2.0), size_mm=(3.0, 4.0, 5.0))
    assert with_number(box, "size_mm[1]", 7.0) == Box(
        at_mm=(0.0, 1.0, 2.0), size_mm=(3.0, 7.0, 5.0)
    )


def test_a_frame_that_may_end_before_its_holes_has_its_figures() -> None:
    # Fan of 80 with its holes 71.5 apart, which may be 10 short, in front of a block 5 mm off:
    # of what is left only the thickness of the fan, 0.2, and the block's place, 0.2, take.
    short = fan(25.0, 80.0).but(dimensions=FrozenMap({"frame_mm": Dimension(minus_mm=10.0)}))
    floor = zone("z", "floor", (60, 60, 0), "+x", "+y", row(1, 80.0))
    enclosure = room((300, 200, 200), [floor], [block("X", (50, 50, 30), (70, 70, 40))])
    of = layout(enclosure, [short], [stack_of("S", "z", fan_layer("A", short, ["c1"]))])
    figure = depth_of(check_layout(of, remedies=False).report)
    assert figure.nominal.nominal_mm == pytest.approx(5.0)
    assert figure.worst.worst_mm == pytest.approx(4.6)
